package report

import (
	"cmp"
	"math"
	"slices"
	"strings"
	"time"
)

// A Site is how all lines stand at a moment, whatever histories they are kept in.
type Site struct {
	Name     string // "" for none
	Zone     *time.Location
	Language *Language
	At       time.Time // the moment
	Lines    []SiteLine
	Troubles []string // what could not be asked, in words
}

// A SiteLine is how one line stands.
type SiteLine struct {
	Name       string
	Verdict    Verdict       // what was said last; "" where nobody has said anything yet
	Since      time.Time     // from when on the verdict stands, or the process is estimated to have changed
	Newest     time.Time     // of the last spectrum; zero where none came yet
	Fresh      time.Duration // how old that may be and still say how the line stands; 0: as old as it likes
	Instrument string        // fit, ageing or unfit; anything else where that is not known
	Watch      string        // who watches it; "" for nobody
	Unasked    bool          // whether somebody watches it is not known
	Href       string        // the index of its reports, or ""
	Left       bool          // it is out of use, as after it got another name: it stands last, and does not count
}

// Views of the page.
type (
	siteView struct {
		frame
		Kicker   string
		Headline string
		Lede     string
		Troubles []string
		Caption  string
		Heads    []string
		Lines    []siteRow
		Empty    string
		Key      string
	}
	siteRow struct {
		Name, Href, Mark, Class, Verdict string
		Why                              string // why nothing can be said now, and what was said last
		Since, Newest, Ago               string
		Instrument, Watch                string
		Unfit, Alone, Stale              bool
	}
)

// Render writes the page: a row a line, those that have changed first, then those of which nothing can be said.
func (s Site) Render() (Page, error) {
	t := newTeller(s.Language, s.Zone, s.At.Add(-12*time.Hour), s.At)
	v := siteView{frame: frame{Language: t.Language, Title: t.say("site.title"), Foot: cautions(t.Language), Colophon: []string{t.say("site.figures")}}, Kicker: s.Name, Headline: s.headline(t), Troubles: s.Troubles,
		Lede: t.say("site.at", "day", t.longDay(s.At), "time", wall(s.At.In(t.zone))), Caption: t.say("site.caption"),
		Empty: t.say("site.empty"), Key: t.say("site.key")}
	if fresh := s.keyFresh(t); fresh != "" {
		v.Key += " " + fresh
	}
	if n := len(s.Lines) - len(s.counted()); n > 0 {
		v.Key += " " + t.count("site.key.left", n)
	}
	v.Heads = []string{t.say("site.line"), t.say("site.verdict"), t.say("site.since"), t.say("site.newest"), t.say("site.instrument"), t.say("site.watch")}
	lines := slices.Clone(s.Lines)
	order := func(l SiteLine) int {
		if l.Left {
			return math.MaxInt
		}
		return slices.Index([]Verdict{Changed, CannotSay, "", AsUsual}, s.stands(l))
	}
	slices.SortStableFunc(lines, func(a, b SiteLine) int {
		if d := cmp.Compare(order(a), order(b)); d != 0 {
			return d
		}
		return strings.Compare(a.Name, b.Name)
	})
	for _, l := range lines {
		v.Lines = append(v.Lines, s.row(l, t))
	}
	p := Page{HTML: v.document(v.main()), Figures: map[string][]byte{}}
	var err error
	p.Figures["figures.json"], err = figures("site", s.figures(lines), t.Language)
	return p, err
}

// keyFresh says how old the last spectrum of a line may be; "" where each may be as old as it likes.
func (s Site) keyFresh(t *teller) string {
	var all []time.Duration
	for _, l := range s.counted() {
		if !slices.Contains(all, l.Fresh) {
			all = append(all, l.Fresh)
		}
	}
	switch {
	case len(all) > 1:
		return t.say("site.key.each")
	case len(all) == 1 && all[0] > 0:
		return t.say("site.key.fresh", "lasts", t.duration(all[0]))
	}
	return ""
}

// A siteFigures is what the JSON of the page holds.
type siteFigures struct {
	Name                    string
	At                      time.Time
	All, Changed, CannotSay int // without those that are out of use
	OutOfUse                int
	Unwatched               int // lines of which it is known that nobody watches them
	Lines                   []siteLineFigures
	Troubles                []string
}

type siteLineFigures struct {
	Line         string
	Verdict      Verdict // how the line stands now; "" where nobody has said anything yet
	LastVerdict  Verdict // what its watch said last
	Since        time.Time
	LastSpectrum time.Time
	Ago          time.Duration // how old the last spectrum is
	Instrument   string
	WatchedBy    *string // "" for nobody; null where it is not known
	Reports      string
	OutOfUse     bool
}

// figures are all that the page says, in its order.
func (s Site) figures(lines []SiteLine) siteFigures {
	zone := cmp.Or(s.Zone, time.UTC)
	f := siteFigures{Name: s.Name, At: s.At.In(zone), All: len(s.counted()), OutOfUse: len(lines) - len(s.counted()), Lines: []siteLineFigures{}, Troubles: append([]string{}, s.Troubles...)}
	for _, l := range lines {
		one := siteLineFigures{Line: l.Name, Verdict: s.stands(l), LastVerdict: l.Verdict, Instrument: l.Instrument, Reports: l.Href, OutOfUse: l.Left}
		if !l.Since.IsZero() {
			one.Since = l.Since.In(zone)
		}
		if !l.Newest.IsZero() {
			one.LastSpectrum, one.Ago = l.Newest.In(zone), max(s.At.Sub(l.Newest), 0)
		}
		if !l.Unasked {
			one.WatchedBy = &l.Watch
		}
		switch {
		case l.Left:
		case one.Verdict == Changed:
			f.Changed++
		case one.Verdict != AsUsual:
			f.CannotSay++
		}
		if l.alone() && !l.Left {
			f.Unwatched++
		}
		f.Lines = append(f.Lines, one)
	}
	return f
}

// headline counts the lines by how they stand.
func (s Site) headline(t *teller) string {
	n := map[Verdict]int{}
	for _, l := range s.counted() {
		n[s.stands(l)]++
	}
	all, cannot := len(s.counted()), n[CannotSay]+n[""]
	switch {
	case len(s.Lines) == 0 && len(s.Troubles) == 0:
		return t.say("site.none")
	case n[Changed] > 0:
		return t.count("site.changed", n[Changed], "of", t.whole(all))
	case cannot == all:
		return t.say("site.cannot.all")
	case cannot > 0:
		return t.count("site.cannot", cannot, "of", t.whole(all))
	case len(s.Troubles) > 0: // what lines it has nobody knows
		return t.count("site.silent", len(s.Troubles))
	}
	return t.say("site.usual")
}

// counted are the lines that are in use.
func (s Site) counted() (all []SiteLine) {
	for _, l := range s.Lines {
		if !l.Left {
			all = append(all, l)
		}
	}
	return all
}

// stands says how a line stands now. What its watch said last holds while somebody watches and spectra come.
func (s Site) stands(l SiteLine) Verdict {
	if l.Verdict != "" && (l.Left || l.alone() || s.stale(l)) {
		return CannotSay
	}
	return l.Verdict
}

// stale reports whether the last spectrum of a line is too old to say how it stands. Of one that lies as far ahead nobody knows how old it is.
func (s Site) stale(l SiteLine) bool {
	return l.Fresh > 0 && l.Verdict != "" && s.At.Sub(l.Newest).Abs() > l.Fresh
}

// ahead reports whether it is stale since it bears a time to come.
func (s Site) ahead(l SiteLine) bool { return s.stale(l) && l.Newest.After(s.At) }

// Stands says how each line stands now, in the order of Lines.
func (s Site) Stands() (all []Verdict) {
	for _, l := range s.Lines {
		all = append(all, s.stands(l))
	}
	return all
}

// Verdict is the one over all lines: what has changed before what cannot be said. A history that did not answer cannot say.
func (s Site) Verdict() Verdict {
	all := Site{At: s.At, Lines: s.counted()}.Stands()
	switch {
	case slices.Contains(all, Changed):
		return Changed
	case len(all) == 0 || len(s.Troubles) > 0 || slices.ContainsFunc(all, func(v Verdict) bool { return v != AsUsual }):
		return CannotSay
	}
	return AsUsual
}

// alone reports whether it is known that nobody watches the line.
func (l SiteLine) alone() bool { return l.Watch == "" && !l.Unasked }

// why says why nothing can be said now of a line whose watch said something last; "" where that holds.
func (s Site) why(l SiteLine, t *teller) string {
	switch {
	case s.stands(l) == l.Verdict:
		return ""
	case l.Left:
		return t.say("site.last.left", "verdict", t.say("index."+marks[l.Verdict][1]))
	case l.alone():
		return t.say("site.last.alone", "verdict", t.say("index."+marks[l.Verdict][1]))
	case s.ahead(l):
		return t.say("site.last.ahead", "verdict", t.say("index."+marks[l.Verdict][1]))
	}
	return t.say("site.last.stale", "verdict", t.say("index."+marks[l.Verdict][1]))
}

func (s Site) row(l SiteLine, t *teller) siteRow {
	now := s.stands(l)
	m, ok := marks[now]
	if !ok {
		m = marks[CannotSay]
	}
	r := siteRow{Name: l.Name, Href: l.Href, Mark: m[0], Class: m[1], Verdict: t.say("index." + m[1]), Since: t.clock(l.Since), Newest: t.clock(l.Newest),
		Why: s.why(l, t), Unfit: l.Instrument == "unfit", Watch: l.Watch, Stale: s.stale(l)}
	if l.Verdict == Changed && !l.Since.IsZero() {
		r.Since = t.say("site.about", "when", t.clock(l.Since))
	}
	if !l.Newest.IsZero() && !s.ahead(l) {
		r.Ago = t.say("live.ago", "lasts", t.duration(max(t.to.Sub(l.Newest), 0)))
	}
	switch l.Instrument {
	case "fit":
		r.Instrument = t.say("site.fit")
	case "ageing":
		r.Instrument = t.say("site.ageing")
	case "unfit":
		r.Instrument = t.say("site.unfit")
	default:
		r.Instrument = none
	}
	switch {
	case l.Unasked:
		r.Watch = none
	case l.alone():
		r.Watch, r.Alone = t.say("site.nobody"), true
	}
	return r
}
