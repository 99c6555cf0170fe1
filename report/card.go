package report

import (
	"slices"
	"time"

	"asusual/model/finding"
	"asusual/report/chart"
)

// A Card is what there is to know about a reference.
type Card struct {
	Line              string
	Name, Fingerprint string
	Version           int
	Learned           time.Time
	Zone              *time.Location
	Approved          []Approval // of this version
	Unapproved        bool       // nobody has approved it, and that is to be said
	Source            Source

	Axis         string // such as "512 channels, 900–1700 nm"
	Runs         []CardRun
	LeftOut      []LeftOut
	Unused       []LeftOut // what could not be used at all
	Pretreatment string
	Tried        []Try
	K            int
	KWhy         []finding.Finding
	Choice       chart.ChoicePlot
	Limits       []Limit
	Promise      string
	PromiseWhy   []finding.Finding // what stands behind the promise
	Hours        float64           // of known-good production
	Blocks       int               // the held-out runs or blocks of time that the limits rest on
	Extrapolated bool

	Conditions []CardCondition
	Confusion  Confusion
	Map        *chart.ScorePlot

	Reach     chart.ReachPlot
	Smallest  []Smallest
	ReachWhat string // what the reach holds for, such as "nine times in ten within 30 spectra"

	Findings []finding.Finding
	Language *Language
	Spectra  CardSums // filled in by Render, for the figures beside the page
}

// A CardSums is how many spectra were learned from, left out, and could not be used.
type CardSums struct{ Learned, LeftOut, Unused int }

// A CardRun is a run that the reference learned from.
type CardRun struct {
	Name     string
	From, To time.Time
	Spectra  int
	Files    int // 0 where that is not known
}

// A LeftOut is a run or spectrum of the known-good set that was not learned from.
type LeftOut struct {
	What    string
	Spectra int
	Reasons []finding.Finding
}

// A Try is a pretreatment that was tried.
type Try struct {
	Steps  string
	Reach  float64 // the smallest change that would be seen, relative to the chosen one's; less is better
	K      int
	Chosen bool
}

// A Limit is a limit as it was learned, beside those of the textbooks.
type Limit struct {
	Name     string // such as "T²"
	Learned  float64
	Textbook []Textbook
}

// A Textbook is a limit by a formula that takes spectra for independent.
type Textbook struct {
	Name   string // such as "F distribution"
	Value  float64
	Caught float64 // the share of held-out good spectra that it calls changed; NaN if that was not measured
}

// A CardCondition is a named condition of the reference.
type CardCondition struct {
	Name          string
	Spectra, Runs int
	Findings      []finding.Finding
}

// A Confusion tells for held-out spectra of each condition (rows) what they were taken for (columns).
type Confusion struct {
	Rows, Columns []string
	Counts        [][]int
}

// A Smallest is the smallest change of a kind that would be seen.
type Smallest struct {
	Kind  string
	Size  float64 // not finite: not seen at any size that was tried
	Unit  string
	After time.Duration
}

// Render writes the card and its pictures: reach.png, choice.png and map.png.
func (c Card) Render() (Page, error) {
	var from, to time.Time
	for _, r := range c.Runs {
		if from.IsZero() || r.From.Before(from) {
			from = r.From
		}
		if r.To.After(to) {
			to = r.To
		}
	}
	t := newTeller(c.Language, c.Zone, from, to)
	a := newAlbum(t.Language)
	v := view{
		frame:    frame{Language: t.Language, Title: t.say("card.title", "name", c.Name)},
		Kicker:   t.say("card.kicker", "line", c.Line),
		Headline: c.Name,
		Lede:     []string{t.say("card.lede", "fingerprint", c.Fingerprint, "day", t.longDay(c.Learned))},
		Answers:  c.answers(t),
	}
	if c.Version > 1 {
		v.Lede[0] += " " + t.say("card.version", "n", t.whole(c.Version))
	}
	if len(c.Findings) > 0 {
		v.Sections = append(v.Sections, section{ID: "findings", Title: t.say("findings.title"), List: t.findings(c.Findings)})
	}
	v.Sections = append(v.Sections, c.reachSection(t, a), c.limitSection(t), c.runSection(t), c.modelSection(t, a), c.conditionSection(t, a))
	v.Colophon = []string{t.say("reference.line", "name", c.Name, "fingerprint", c.Fingerprint)}
	c.Spectra = c.sums()
	p, err := v.figures(a, "card", c)
	if err == nil && c.Map != nil {
		p.Figures["map.csv"] = scoresCSV(*c.Map)
	}
	return p.lacks("card"), err
}

// sums counts the spectra.
func (c Card) sums() (s CardSums) {
	for _, r := range c.Runs {
		s.Learned += r.Spectra
	}
	for _, l := range c.LeftOut {
		s.LeftOut += l.Spectra
	}
	for _, l := range c.Unused {
		s.Unused += l.Spectra
	}
	return s
}

func (c Card) answers(t *teller) []answer {
	sums := c.sums()
	learned := []string{t.say("card.learned", "runs", t.count("runs", len(c.Runs)), "spectra", t.whole(sums.Learned), "hours", t.number(c.Hours, 3), "axis", t.Said(c.Axis))}
	var out []string
	if len(c.LeftOut) > 0 {
		out = []string{t.count("card.leftout", len(c.LeftOut), "spectra", t.whole(sums.LeftOut))}
	}
	if len(c.Unused) > 0 {
		out = append(out, t.count("card.unused", sums.Unused))
	}
	if len(out) == 0 {
		out = []string{t.say("card.leftout.none")}
	}
	promise := []string{t.say("card.promise", "promise", t.promise(c.Promise))}
	if c.Extrapolated {
		promise = append(promise, t.say("card.extrapolated", "hours", t.number(c.Hours, 3)))
	}
	all := []answer{
		{t.say("card.q.learned"), learned},
		{t.say("card.q.leftout"), out},
		{t.say("card.q.promise"), append(promise, t.findings(c.PromiseWhy)...)},
		{t.say("card.q.sees"), c.sees(t)},
	}
	if said := t.approved(c.Approved, c.Unapproved); len(said) > 0 {
		all = append(all, answer{t.say("card.q.approved"), said})
	}
	if said := c.Source.sentences(t); len(said) > 0 {
		all = append(all, answer{t.say("card.q.source"), said})
	}
	return all
}

// sees names the smallest changes in a sentence.
func (c Card) sees(t *teller) []string {
	if len(c.Smallest) == 0 {
		return []string{t.say("card.sees.none")}
	}
	return []string{t.say("card.sees", "what", c.ReachWhat)}
}

func (c Card) reachSection(t *teller, a *album) section {
	s := section{ID: "reach", Title: t.say("reach.title"), Text: []string{t.say("reach.text", "what", c.ReachWhat)}}
	c.Reach.Words = &t.Pictures
	full, half := c.Reach, c.Reach
	full.Size, half.Size = chart.Full, chart.Half
	s.Figures = []figure{a.wide("reach", full, half, t.say("alt.reach"), t.say("reach.caption"))}
	tb := table{Caption: t.say("reach.table"), Empty: t.say("card.sees.none"), Heads: []head{
		{t.say("col.change"), false}, {t.say("col.smallest"), true}, {t.say("col.after"), true},
	}}
	for _, m := range c.Smallest {
		size, after := t.number(m.Size, 2), t.duration(m.After)
		if size == none {
			size, after = t.Pictures.NotSeen, none
		} else if m.Unit != "" {
			size += " " + m.Unit
		}
		tb.Rows = append(tb.Rows, row{Cells: []string{m.Kind, size, after}})
	}
	s.Tables = []table{tb}
	return s
}

func (c Card) limitSection(t *teller) section {
	tb := table{Caption: t.say("limits.title"), Heads: []head{
		{t.say("col.limit"), false}, {t.say("col.how"), false}, {t.say("col.value"), true}, {t.say("col.caught"), true},
	}}
	for _, l := range c.Limits {
		tb.Rows = append(tb.Rows, row{Strong: true, Cells: []string{l.Name, t.count("limits.learned", c.Blocks), t.short(l.Learned, 4), none}})
		for _, b := range l.Textbook {
			tb.Rows = append(tb.Rows, row{Cells: []string{l.Name, b.Name, t.short(b.Value, 4), t.percent(b.Caught)}})
		}
	}
	return section{ID: "limits", Title: t.say("limits.title"), Text: []string{t.say("limits.text")}, Tables: []table{dropEmpty(tb)}}
}

func (c Card) runSection(t *teller) section {
	runs := table{Caption: t.say("card.runs"), Heads: []head{
		{t.say("col.run"), false}, {t.say("col.first"), false}, {t.say("col.lasted"), true}, {t.say("col.spectra"), true},
	}}
	counted := slices.ContainsFunc(c.Runs, func(r CardRun) bool { return r.Files > 0 })
	if counted {
		runs.Heads = append(runs.Heads, head{t.say("col.files"), true})
	}
	for _, r := range c.Runs {
		lasted := none
		if !r.From.IsZero() {
			lasted = t.duration(r.To.Sub(r.From))
		}
		cells := []string{r.Name, t.clock(r.From), lasted, t.whole(r.Spectra)}
		if counted {
			cells = append(cells, t.whole(r.Files))
		}
		runs.Rows = append(runs.Rows, row{Cells: cells})
	}
	out := table{Caption: t.say("card.leftout.title"), Empty: t.say("card.leftout.empty"), Heads: []head{
		{t.say("col.what"), false}, {t.say("col.spectra"), true}, {t.say("col.reason"), false},
	}}
	for _, l := range slices.Concat(c.LeftOut, c.Unused) {
		reason := ""
		for _, f := range l.Reasons {
			reason += t.finding(f) + " "
		}
		out.Rows = append(out.Rows, row{Cells: []string{l.What, t.whole(l.Spectra), reason}})
	}
	return section{ID: "runs", Title: t.say("card.runs.title"), Tables: []table{out, dropEmpty(runs)}}
}

func (c Card) modelSection(t *teller, a *album) section {
	s := section{ID: "model", Title: t.say("card.model"), Text: []string{
		t.say("card.pretreatment", "steps", t.Said(c.Pretreatment)), t.say("card.k", "k", t.whole(c.K)),
	}, List: t.findings(c.KWhy)}
	c.Choice.Words, c.Choice.Size = &t.Pictures, chart.Half
	s.Figures = []figure{a.add("choice", c.Choice, t.say("alt.choice", "k", t.whole(c.K)), t.say("choice.caption"))}
	if len(c.Tried) == 0 {
		return s
	}
	tb := table{Caption: t.say("card.tried"), Heads: []head{{t.say("col.pretreatment"), false}, {"k", true}, {t.say("col.reach"), true}, {t.say("col.result"), false}}}
	for _, y := range c.Tried {
		chosen := ""
		if y.Chosen {
			chosen = t.say("chosen")
		}
		tb.Rows = append(tb.Rows, row{Strong: y.Chosen, Cells: []string{t.Said(y.Steps), t.whole(y.K), t.short(y.Reach, 3), chosen}})
	}
	s.Tables = []table{tb}
	return s
}

func (c Card) conditionSection(t *teller, a *album) section {
	s := section{ID: "conditions", Title: t.say("card.conditions")}
	tb := table{Caption: t.say("card.conditions"), Empty: t.say("card.conditions.none"), Heads: []head{
		{t.say("col.condition"), false}, {t.say("col.runs"), true}, {t.say("col.spectra"), true},
	}}
	for _, d := range c.Conditions {
		tb.Rows = append(tb.Rows, row{Cells: []string{t.condition(d.Name), t.whole(d.Runs), t.whole(d.Spectra)}})
		for _, f := range d.Findings {
			s.List = append(s.List, sentence(t.condition(d.Name)+": "+t.clause(f)))
		}
	}
	s.Tables = append(s.Tables, tb)
	if len(c.Confusion.Rows) > 0 {
		s.Tables = append(s.Tables, c.Confusion.table(t))
	}
	if c.Map != nil {
		m := *c.Map
		m.Words, m.Whole, m.Size = &t.Pictures, true, chart.Half
		s.Figures = []figure{a.add("map", m, t.say("alt.map"), t.say("map.caption"))}
	}
	return s
}

func (c Confusion) table(t *teller) table {
	tb := table{Caption: t.say("confusion.title"), Heads: []head{{t.say("confusion.is"), false}}}
	for _, n := range c.Columns {
		tb.Heads = append(tb.Heads, head{t.condition(n), true})
	}
	for i, n := range c.Rows {
		cells := []string{t.condition(n)}
		for j := range c.Columns {
			text := none
			if i < len(c.Counts) && j < len(c.Counts[i]) {
				text = t.whole(c.Counts[i][j])
			}
			cells = append(cells, text)
		}
		tb.Rows = append(tb.Rows, row{Cells: cells})
	}
	return tb
}
