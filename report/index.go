package report

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"
)

// An Index lists all reports of one line or of several, newest first.
type Index struct {
	Site     string // "" for none
	Zone     *time.Location
	Lines    []IndexLine
	Language *Language
}

// An IndexLine is a line with its shifts, in any order.
type IndexLine struct {
	Name   string
	Shifts []IndexShift
	Unread []string // what the index needs of a report and could not read, by its place relative to the index
}

// An IndexShift is one report.
type IndexShift struct {
	Name     string
	From, To time.Time
	Verdict  Verdict
	Since    time.Time // from when on the verdict stands; zero where that is not known
	Episodes int       // how many the shift had
	Href     string    // where the report lies, relative to the index
	// Strip is the course of the shift as a small picture: the distance in equal parts of it, about 48; not finite where
	// there was nothing to judge.
	Strip []float64 `figures:"-"`
}

// Views of the index, in the order of the page.
type (
	indexView struct {
		frame
		Kicker   string
		Headline string
		Lines    []lineView
	}
	lineView struct {
		Name, ID, State string
		Unread          []string // sentences
		Months          []monthView
	}
	monthView struct {
		Name, Count string
		Open        bool
		Weekdays    []string
		Weeks       [][7]dayCell
		Shifts      []string
		Days        []dayView
	}
	dayCell struct {
		Day, ID, Mark, Class, Label string
	}
	dayView struct {
		ID, Name string
		Cells    []shiftView
	}
	shiftView struct {
		Href, Mark, Class, Words, Label string
		Strip                           *strip
	}
	strip struct {
		Usual, Changed, Limit string // paths
		Wide                  int
	}
)

// monthsOpen is how many months stand open on the index; older ones unfold.
const monthsOpen = 2

// marks are the shapes of the verdicts; the words stand beside them.
var marks = map[Verdict][2]string{AsUsual: {"○", "usual"}, Changed: {"▲", "changed"}, CannotSay: {"–", "cannot"}}

// Render writes the page. Its small pictures lie inside it.
func (x Index) Render() (Page, error) {
	l := orEnglish(x.Language)
	v := indexView{frame: frame{Language: l, Title: l.say("index.title"), Foot: cautions(l), Colophon: []string{l.say("figures.beside")}}, Kicker: x.Site, Headline: l.say("index.title")}
	for i, ln := range x.Lines {
		for _, s := range ln.Shifts {
			if _, ok := marks[s.Verdict]; !ok {
				return Page{}, fmt.Errorf("index: %s, shift %s of %s has the verdict %q", ln.Name, s.Name, s.From.Format(time.DateOnly), s.Verdict)
			}
		}
		v.Lines = append(v.Lines, ln.view(l, x.Zone, "line-"+strconv.Itoa(i+1)))
	}
	p := Page{HTML: v.document(v.main()), Figures: map[string][]byte{"shifts.csv": x.shiftsCSV()}}
	var err error
	p.Figures["figures.json"], err = figures("index", x.figures(), l)
	return p, err
}

func (ln IndexLine) view(l *Language, zone *time.Location, id string) lineView {
	shifts := slices.Clone(ln.Shifts)
	slices.SortStableFunc(shifts, func(a, b IndexShift) int { return b.From.Compare(a.From) })
	v := lineView{Name: ln.Name, ID: id, State: l.say("index.empty")}
	for _, file := range ln.Unread {
		v.Unread = append(v.Unread, l.say("index.unread", "file", file))
	}
	if len(shifts) == 0 {
		return v
	}
	t := newTeller(l, zone, shifts[0].From, shifts[0].To)
	v.State = t.say("index.state", "verdict", t.say("index."+marks[shifts[0].Verdict][1]), "shift", shifts[0].Name, "day", t.longDay(shifts[0].From))
	for len(shifts) > 0 {
		n := 1
		for n < len(shifts) && sameMonth(t, shifts[n].From, shifts[0].From) {
			n++
		}
		m := t.monthOf(shifts[:n], id)
		m.Open = len(v.Months) < monthsOpen
		v.Months = append(v.Months, m)
		shifts = shifts[n:]
	}
	return v
}

func sameMonth(t *teller, a, b time.Time) bool {
	a, b = a.In(t.zone), b.In(t.zone)
	return a.Month() == b.Month() && a.Year() == b.Year()
}

// monthOf is the view of the shifts of one month, newest first.
func (t *teller) monthOf(shifts []IndexShift, id string) monthView {
	at := shifts[0].From.In(t.zone)
	v := monthView{Name: t.month(at) + " " + strconv.Itoa(at.Year()), Weekdays: t.weekdays(), Shifts: shiftNames(t, shifts)}
	counts := map[Verdict]int{}
	for len(shifts) > 0 {
		n := 1
		for n < len(shifts) && shifts[n].From.In(t.zone).Day() == shifts[0].From.In(t.zone).Day() {
			n++
		}
		day := shifts[0].From.In(t.zone)
		d := dayView{ID: id + "-" + day.Format(time.DateOnly), Name: t.say("index.day", "weekday", t.Pictures.Weekdays[day.Weekday()], "day", strconv.Itoa(day.Day()))}
		for _, name := range v.Shifts {
			d.Cells = append(d.Cells, t.cell(shifts[:n], name, day))
		}
		for _, s := range shifts[:n] {
			counts[s.Verdict]++
		}
		v.Days = append(v.Days, d)
		v.mark(d.ID, day, worst(shifts[:n]), t)
		shifts = shifts[n:]
	}
	v.Count = t.count("index.count", counts[AsUsual]+counts[Changed]+counts[CannotSay],
		"changed", t.whole(counts[Changed]), "cannot", t.whole(counts[CannotSay]))
	return v
}

// worst is the verdict of a day: changed before cannot say before as usual.
func worst(shifts []IndexShift) Verdict {
	v := AsUsual
	for _, s := range shifts {
		if s.Verdict == Changed || s.Verdict == CannotSay && v == AsUsual {
			v = s.Verdict
		}
	}
	return v
}

// weekdays are the heads of a calendar, which begins on Monday (ISO 8601).
func (t *teller) weekdays() (all []string) {
	for i := range 7 {
		all = append(all, t.item("weekdays", (i+1)%7))
	}
	return all
}

// mark enters a day into the calendar of the month.
func (v *monthView) mark(id string, day time.Time, verdict Verdict, t *teller) {
	if v.Weeks == nil {
		first := time.Date(day.Year(), day.Month(), 1, 12, 0, 0, 0, t.zone)
		column := (int(first.Weekday()) + 6) % 7
		for d := first; d.Month() == first.Month(); d = d.AddDate(0, 0, 1) {
			if column == 0 || len(v.Weeks) == 0 {
				v.Weeks = append(v.Weeks, [7]dayCell{})
			}
			v.Weeks[len(v.Weeks)-1][column].Day = strconv.Itoa(d.Day())
			column = (column + 1) % 7
		}
	}
	name := strconv.Itoa(day.Day())
	for i := range v.Weeks {
		for j := range v.Weeks[i] {
			if c := &v.Weeks[i][j]; c.Day == name {
				c.ID, c.Mark, c.Class = id, marks[verdict][0], marks[verdict][1]
				c.Label = t.longDay(day) + ": " + t.say("index."+c.Class)
			}
		}
	}
}

// shiftNames are the names of shifts in the order of the clock.
func shiftNames(t *teller, shifts []IndexShift) (names []string) {
	begins := map[string]int{}
	for _, s := range shifts {
		if _, ok := begins[s.Name]; !ok {
			at := s.From.In(t.zone)
			begins[s.Name] = at.Hour()*60 + at.Minute()
			names = append(names, s.Name)
		}
	}
	slices.SortFunc(names, func(a, b string) int {
		if d := begins[a] - begins[b]; d != 0 {
			return d
		}
		return strings.Compare(a, b)
	})
	return names
}

func (t *teller) cell(shifts []IndexShift, name string, day time.Time) shiftView {
	for _, s := range shifts {
		if s.Name != name {
			continue
		}
		m := marks[s.Verdict]
		words := s.words(t)
		return shiftView{Href: s.Href, Mark: m[0], Class: m[1], Words: words, Strip: drawStrip(s.Strip),
			Label: t.longDay(day) + ", " + s.Name + ": " + words}
	}
	return shiftView{}
}

// words say the verdict; that of a shift which had episodes before its end says so, as the headline of its report does.
func (s IndexShift) words(t *teller) string {
	if s.Verdict == AsUsual && s.Episodes > 0 && s.Since.After(s.From) {
		return t.count("index.again", s.Episodes)
	}
	return t.say("index." + marks[s.Verdict][1])
}

// The size of a strip, in its own units.
const (
	stripHigh  = 24
	stripWide  = 3  // of a part
	stripParts = 32 // more are taken together, so that an index of thousands stays light
)

// thinned takes parts together, each to its greatest, until there are no more than most.
func thinned(d []float64, most int) []float64 {
	if len(d) <= most {
		return d
	}
	out := make([]float64, most)
	for i := range out {
		out[i] = math.NaN()
		for _, v := range d[i*len(d)/most : (i+1)*len(d)/most] {
			if !(v <= out[i]) && !math.IsInf(v, 0) && v >= 0 {
				out[i] = v
			}
		}
	}
	return out
}

// drawStrip draws the course of a shift as two paths of upright strokes: parts within the limit, and parts outside, which
// also stand higher. The scale is that of the distance over time.
func drawStrip(d []float64) *strip {
	if len(d) == 0 {
		return nil
	}
	d = thinned(d, stripParts)
	y := func(v float64) int { // the limit lies at half the height, 5 at the top
		if v > 1 {
			v = 1 + math.Log(v)/math.Log(5)
		}
		return stripHigh - int(math.Round(math.Min(1, v/2)*stripHigh))
	}
	var in, out strings.Builder
	for i, v := range d {
		if math.IsNaN(v) || math.IsInf(v, 0) || v < 0 {
			continue
		}
		b := &in
		if v > 1 {
			b = &out
		}
		fmt.Fprintf(b, "M%d %dV%d", i*stripWide+stripWide/2, stripHigh, y(v))
	}
	w := len(d) * stripWide
	return &strip{Usual: in.String(), Changed: out.String(), Limit: fmt.Sprintf("M0 %dH%d", y(1), w), Wide: w}
}
