package report

import (
	"fmt"
	"maps"
	"math"
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
	Low, High float64 // its interval of 95 %
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
	Name            string // such as "today" or "last week"
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
		Language: t.Language,
		Title:    t.say("compare.title", "line", c.Line, "this", c.This.Name, "that", c.That.Name),
		Kicker:   t.say("compare.kicker", "line", c.Line),
		Headline: c.headline(t),
		Lede: []string{t.say("compare.lede", "this", capital(c.This.Name), "thisspan", c.This.span(t), "that", capital(c.That.Name), "thatspan", c.That.span(t)),
			c.Reference.line(t)},
		Answers:  c.answers(t),
		Figures:  c.figures(t, a, ""),
		Sections: []section{{ID: "periods", Title: t.say("compare.periods"), Tables: []table{c.periodTable(t), c.shareTable(t)}}},
		Colophon: c.Reference.colophon(t),
	}
	if len(c.Findings) > 0 {
		v.Sections = append(v.Sections, section{ID: "findings", Title: t.say("findings.title"), List: t.findings(c.Findings)})
	}
	p, err := v.figures(a, "compare", c)
	if err != nil {
		return p, err
	}
	maps.Copy(p.Figures, c.tables())
	return p, nil
}

// tables are what the pictures draw.
func (c Compare) tables() map[string][]byte {
	return map[string][]byte{"distances.csv": spreadCSV(c.Distances), "score-plot.csv": scoresCSV(c.Scores), "spectrum.csv": spectrumCSV(c.Spectrum)}
}

func (p Period) span(t *teller) string {
	a, b := p.From.In(t.zone), p.To.In(t.zone)
	say := func(at time.Time) string {
		return t.say("date.time", "date", t.shortDay(at), "time", at.Format("15:04"))
	}
	if a.YearDay() == b.YearDay() && a.Year() == b.Year() {
		return say(a) + "–" + b.Format("15:04")
	}
	return say(a) + " – " + say(b)
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

func (c Compare) answers(t *teller) []answer {
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
	c.Scores.PeriodName, c.Scores.SecondName = c.This.Name, c.That.Name
	c.Distances.ThisName, c.Distances.ThatName = c.This.Name, c.That.Name
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

// section is the comparison as a part of a handover.
func (c Compare) section(t *teller, a *album) section {
	s := section{ID: "against", Title: c.headline(t), Figures: c.figures(t, a, "against-")}
	for _, an := range c.answers(t) {
		s.Text = append(s.Text, an.Text...)
	}
	s.Tables = []table{c.periodTable(t), c.shareTable(t)}
	return s
}
