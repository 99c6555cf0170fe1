package report

import (
	"fmt"
	"maps"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"

	"asusual/model/finding"
	"asusual/report/chart"
)

// A Compare says whether one period looks like another. The numbers come computed; the uncertainty must come from whole
// runs or blocks of time, for neighbouring spectra are no independent witnesses.
type Compare struct {
	Line       string
	Zone       *time.Location
	This, That Period

	Verdict   Verdict
	Reasons   []finding.Finding
	Effect    float64 // the difference of the two, in spreads of usual between runs
	Low, High float64 // its interval of 99 %
	Witnesses int     // the runs or blocks of time that it rests on, of both periods
	// FalseAlarms is the share of comparisons of two usual periods that are called changed, measured on simulated lines;
	// 0 if it is not known.
	FalseAlarms float64

	Reference  Reference
	Conditions []Share
	Findings   []finding.Finding

	Scores    chart.ScorePlot
	Spectrum  chart.SpectrumPlot
	Distances chart.SpreadPlot

	Language *Language
}

// A Period is one of two stretches of time that are compared.
type Period struct {
	Name            string // such as "today" or "the last seven days"
	Short           string // on pictures; "" for Name
	From, To        time.Time
	Spectra, Inside int // that should have been usual
	Runs            int
	Median          float64 // of the distances
}

// A Share is the time spent in a condition in both periods.
type Share struct {
	Condition  string
	This, That time.Duration
}

// Render writes the page of the comparison and its pictures: score-plot.png, spectrum.png and distances.png.
func (c Compare) Render() (Page, error) {
	for _, p := range []Period{c.This, c.That} {
		if !p.To.After(p.From) {
			return Page{}, fmt.Errorf("comparison for %s: %s ends at %s, before it begins", c.Line, p.Name, p.To.Format(time.RFC3339))
		}
	}
	t := newTeller(c.Language, c.Zone, c.This.From, c.This.To)
	a := newAlbum(t.Language)
	v := view{
		frame:    frame{Language: t.Language, Title: t.say("compare.title", "line", c.Line, "this", c.This.Name, "that", c.That.Name), Colophon: c.Reference.colophon(t)},
		Kicker:   t.say("compare.kicker", "line", c.Line),
		Headline: c.headline(t),
		Lede:     append(c.spans(t), c.Reference.line(t)),
		Answers:  c.answers(t),
	}
	pictures := c.figures(t, a, "")
	v.Figures = pictures[:2]
	v.Sections = []section{{ID: "periods", Title: t.say("compare.periods"), Figures: pictures[2:], Tables: []table{c.periodTable(t), c.shareTable(t)}}}
	if len(c.Findings) > 0 {
		v.Sections = append(v.Sections, section{ID: "findings", Title: t.say("findings.title"), List: t.findings(c.Findings)})
	}
	p, err := v.figures(a, "compare", c)
	if err != nil {
		return p, err
	}
	maps.Copy(p.Figures, c.tables())
	return p.lacks("compare"), nil
}

// tables are what the pictures draw.
func (c Compare) tables() map[string][]byte {
	return map[string][]byte{"distances.csv": spreadCSV(c.Distances), "score-plot.csv": scoresCSV(c.Scores), "spectrum.csv": spectrumCSV(c.Spectrum)}
}

// spans say when the periods were, unless their names do.
func (c Compare) spans(t *teller) []string {
	var all []string
	for _, p := range []Period{c.This, c.That} {
		if span := t.stretch(p.From, p.To); span != p.Name {
			all = append(all, t.say("compare.lede", "name", capital(p.Name), "span", span))
		}
	}
	if len(all) == 0 {
		return nil
	}
	return []string{strings.Join(all, " ")}
}

// stretch says a stretch of time by its days, and by its times where it is not of whole days.
func (t *teller) stretch(from, to time.Time) string {
	a, b := from.In(t.zone), to.In(t.zone)
	day := func(at time.Time) string {
		return t.say("date.day", "day", strconv.Itoa(at.Day()), "month", t.month(at))
	}
	whole := a.Format("15:04:05") == "00:00:00" && b.Format("15:04:05") == "00:00:00"
	last := b
	if whole {
		last = b.Add(-time.Nanosecond)
	}
	same := a.YearDay() == last.YearDay() && a.Year() == last.Year()
	if a.Year() != last.Year() {
		day = func(at time.Time) string {
			return t.say("date.dayyear", "day", strconv.Itoa(at.Day()), "month", t.month(at), "year", strconv.Itoa(at.Year()))
		}
	}
	switch {
	case whole && same:
		return day(a)
	case whole:
		return t.say("period.to", "from", day(a), "to", day(last))
	case same:
		return t.say("period.times", "day", day(a), "times", a.Format("15:04")+"–"+b.Format("15:04"))
	}
	at := func(m time.Time) string {
		return t.say("period.times", "day", day(m), "times", m.Format("15:04"))
	}
	return t.say("period.to", "from", at(a), "to", at(b))
}

// PeriodName says a stretch of time by its days and times.
func (l *Language) PeriodName(from, to time.Time, zone *time.Location) string {
	return newTeller(l, zone, from, to).stretch(from, to)
}

// short is the name on pictures.
func (p Period) short() string {
	if p.Short != "" {
		return p.Short
	}
	return p.Name
}

func (c Compare) headline(t *teller) string {
	switch c.Verdict {
	case AsUsual:
		return t.say("compare.usual", "this", capital(c.This.Name), "that", c.That.Name)
	case Changed:
		return t.say("compare.changed", "this", capital(c.This.Name), "that", c.That.Name)
	}
	return t.say("compare.cannot", "this", c.This.Name, "that", c.That.Name)
}

func capital(s string) string {
	if s = sentence(s); s != "" && s[len(s)-1] == '.' {
		return s[:len(s)-1]
	}
	return s
}

func leavesOut(f finding.Finding) bool {
	return f.Kind == finding.OtherReference || f.Kind == finding.UnfitThen
}

// IsLeftOut reports whether spectra of a period take no part in the comparison.
func (c Compare) IsLeftOut() bool { return slices.ContainsFunc(c.Findings, leavesOut) }

func (c Compare) answers(t *teller) []answer {
	if c.Verdict == CannotSay && c.Low == c.High { // nothing was worked out
		if len(c.Reasons) > 0 {
			return []answer{{t.say("q.why"), t.findings(c.Reasons)}}
		}
		key := "compare.little"
		if c.IsLeftOut() {
			key = "compare.left"
		}
		why := []string{t.say(key)}
		for _, f := range c.Findings { // which is why there is so little
			if leavesOut(f) {
				why = append(why, t.finding(f))
			}
		}
		return []answer{{t.say("q.why"), why}}
	}
	if c.Effect < 0 { // which way is not a thing to read
		c.Effect, c.Low, c.High = -c.Effect, -c.High, -c.Low
	}
	far := []string{t.say("compare.far", "effect", t.number(c.Effect, 2), "low", t.number(c.Low, 2), "high", t.number(c.High, 2))}
	far = append(far, t.count("compare.witnesses", c.Witnesses))
	if c.FalseAlarms > 0 {
		far = append(far, t.say("compare.falsealarms", "share", t.percent(c.FalseAlarms)))
	}
	all := []answer{{t.say("q.far"), far}}
	if len(c.Reasons) > 0 {
		all = append(all, answer{t.say("q.why"), t.findings(c.Reasons)})
	}
	return all
}

// figures draws the pictures; before goes before their names, so that two comparisons can stand on one page.
func (c Compare) figures(t *teller, a *album, before string) []figure {
	c.Scores.Words, c.Spectrum.Words, c.Distances.Words = &t.Pictures, &t.Pictures, &t.Pictures
	c.Scores.PeriodName, c.Scores.SecondName = c.This.short(), c.That.short()
	c.Distances.ThisName, c.Distances.ThatName = c.This.short(), c.That.short()
	c.Scores.First, c.Scores.Last = time.Time{}, time.Time{}
	c.Spectrum.Quantity = t.quantity(c.Spectrum.Quantity)
	names := []string{"this", c.This.Name, "that", c.That.Name, "This", capital(c.This.Name), "That", capital(c.That.Name)}
	return []figure{
		a.add(before+"score-plot", c.Scores, t.say("alt.compare.scores", names...), t.say("compare.scores.caption", names...)),
		a.add(before+"spectrum", c.Spectrum, t.say("alt.compare.spectrum", names...), t.say("compare.spectrum.caption", names...)),
		a.add(before+"distances", c.Distances, t.say("alt.compare.spread", append(names, "a", t.number(c.This.Median, 2), "b", t.number(c.That.Median, 2))...),
			t.say("compare.spread.caption", names...)),
	}
}

func (c Compare) periodTable(t *teller) table {
	tb := table{Caption: t.say("compare.periods.caption"), Heads: []head{
		{t.say("col.period"), false}, {t.say("col.spectra"), true}, {t.say("col.runs"), true}, {t.say("col.inside"), true}, {t.say("col.median"), true},
	}}
	for _, p := range []Period{c.This, c.That} {
		tb.Rows = append(tb.Rows, row{Cells: []string{
			p.Name, t.whole(p.Spectra), t.whole(p.Runs), t.percent(ratio(p.Inside, p.Spectra)), t.number(p.Median, 2),
		}})
	}
	return tb
}

// ratio is a part of a whole; of nothing it is not a number, which is said as a dash.
func ratio(part, whole int) float64 {
	if whole == 0 {
		return math.NaN()
	}
	return float64(part) / float64(whole)
}

func (c Compare) shareTable(t *teller) table {
	tb := table{Caption: t.say("compare.conditions", "this", c.This.Name, "that", c.That.Name), Empty: t.say("conditions.none"), Heads: []head{
		{t.say("col.condition"), false}, {c.This.Name, true}, {c.That.Name, true},
	}}
	for _, s := range c.Conditions {
		tb.Rows = append(tb.Rows, row{Cells: []string{t.condition(s.Condition), t.duration(s.This), t.duration(s.That)}})
	}
	return tb
}

// sections are the comparison as parts of a handover.
func (c Compare) sections(t *teller, a *album) []section {
	pictures := c.figures(t, a, "against-")
	s := section{ID: "against", Title: c.headline(t), Text: c.spans(t), Figures: pictures[:2]}
	for _, an := range c.answers(t) {
		s.Text = append(s.Text, an.Text...)
	}
	for _, f := range c.Findings {
		if text := t.finding(f); f.Kind == finding.UnfitThen && !slices.Contains(s.Text, text) {
			s.Text = append(s.Text, text)
		}
	}
	return []section{s, {ID: "periods", Title: t.say("compare.periods"), Figures: pictures[2:], Tables: []table{c.periodTable(t), c.shareTable(t)}}}
}
