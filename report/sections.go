package report

import (
	"slices"
	"strings"

	"asusual/report/chart"
)

func (h Handover) episodeSection(t *teller) section {
	tb := table{Caption: t.say("episodes.title"), Empty: t.say("episodes.none"), Heads: []head{
		{t.say("col.seen"), false}, {t.say("col.since"), false}, {t.say("col.until"), false}, {t.say("col.lasted"), false},
		{t.say("col.spectra"), true}, {t.say("col.furthest"), true}, {t.say("col.group"), false},
	}}
	for _, e := range h.Episodes {
		until, end := t.clock(e.To), e.To
		if e.To.IsZero() {
			until, end = t.say("lasts.on"), h.To
		}
		tb.Rows = append(tb.Rows, row{Cells: []string{
			t.clock(e.From), t.say("about", "when", t.clock(e.ChangedSince)), until, t.duration(end.Sub(e.From)),
			t.whole(e.Spectra), t.number(e.Peak, 2), orNone(t.group(e.Group)),
		}})
	}
	s := section{ID: "episodes", Title: t.say("episodes.title"), Tables: []table{tb}}
	if acts, ok := h.actTable(t); ok {
		s.Tables = append(s.Tables, acts)
	}
	if h.Verdict != CannotSay {
		s.List = t.findings(h.Reasons)
	}
	return s
}

func orNone(s string) string {
	if s == "" {
		return none
	}
	return s
}

func (h Handover) conditionSection(t *teller, a *album) section {
	s := section{ID: "conditions", Title: t.say("conditions.title")}
	tb := table{Caption: t.say("conditions.caption"), Empty: t.say("conditions.none"), Heads: []head{
		{t.say("col.condition"), false}, {t.say("col.time"), true}, {t.say("col.times"), true}, {t.say("col.spectra"), true}, {t.say("col.note"), false},
	}}
	for _, c := range h.Conditions {
		tb.Rows = append(tb.Rows, row{Cells: []string{
			t.condition(c.Condition), t.duration(c.Time), t.whole(c.Times), t.whole(c.Spectra), c.note(t),
		}})
	}
	s.Tables = append(s.Tables, dropEmpty(tb), h.groupTable(t))
	if h.Map != nil {
		m := *h.Map
		m.Words, m.Whole, m.Size = &t.Pictures, true, chart.Half
		s.Figures = append(s.Figures, a.add("map", m, t.say("alt.map"), t.say("map.caption")))
	}
	if h.Means != nil {
		g := *h.Means
		g.Words, g.Size, g.Groups = &t.Pictures, chart.Half, slices.Clone(g.Groups)
		for i := range g.Groups {
			g.Groups[i].Name = t.group(g.Groups[i].Name)
		}
		s.Figures = append(s.Figures, a.add("groups", g, h.altGroups(t), t.say("groups.caption")))
	}
	return s
}

// note says what else to know of the time in a condition.
func (s Stay) note(t *teller) string {
	if s.Over == 0 {
		return s.Note
	}
	return strings.TrimLeft(s.Note+"; "+t.say("conditions.over", "time", t.duration(s.Over)), "; ")
}

// dropEmpty leaves out columns in which no row says anything.
func dropEmpty(tb table) table {
	for c := len(tb.Heads) - 1; c > 0; c-- {
		some := false
		for _, r := range tb.Rows {
			some = some || r.Cells[c] != "" && r.Cells[c] != none
		}
		if some || len(tb.Rows) == 0 {
			continue
		}
		tb.Heads = append(tb.Heads[:c:c], tb.Heads[c+1:]...)
		for i, r := range tb.Rows {
			tb.Rows[i].Cells = append(r.Cells[:c:c], r.Cells[c+1:]...)
		}
	}
	return tb
}

func (h Handover) groupTable(t *teller) table {
	tb := table{Caption: t.say("groups.title"), Empty: t.say("groups.none"), Heads: []head{
		{t.say("col.group"), false}, {t.say("col.first"), false}, {t.say("col.last"), false}, {t.say("col.spectra"), true}, {t.say("col.before"), false},
		{t.say("col.distance"), true}, {t.say("col.most"), false}, {t.say("col.now"), false},
	}}
	for _, g := range h.Groups {
		far := none
		if g.Distance > 0 {
			far = t.number(g.Distance, 2)
		}
		tb.Rows = append(tb.Rows, row{Cells: []string{
			t.group(g.Name), t.clock(g.First), t.clock(g.Last), t.whole(g.Spectra), t.seenShort(g.Seen), far, orNone(t.places(g.Most, g.Unit)), orNone(g.Now),
		}})
	}
	return dropEmpty(tb)
}

// places says where on the axis something is.
func (t *teller) places(at []float64, unit string) string {
	var all []string
	for _, v := range at {
		all = append(all, t.number(v, 4)+" "+unit)
	}
	return strings.Join(all, ", ")
}

// altGroups says what the picture of the groups shows.
func (h Handover) altGroups(t *teller) string {
	text := t.say("alt.groups")
	for _, g := range h.Groups {
		if len(g.Most) > 0 {
			text += " " + t.say("alt.group", "group", t.group(g.Name), "at", t.places(g.Most, g.Unit))
		}
	}
	return text
}

func (t *teller) seenShort(all []Seen) string {
	if len(all) == 0 {
		return t.say("seen.short.never")
	}
	var said []string
	for _, s := range all {
		if s.From.IsZero() {
			said = append(said, t.group(s.Where))
			continue
		}
		said = append(said, t.group(s.Where)+", "+t.span(s.From, s.To))
	}
	return strings.Join(said, "; ")
}

// trends draws the instrument's checks over time, and how repeats of its standard differ.
func (in Instrument) trends(t *teller, a *album) (all []figure) {
	if c := in.Trends; c != nil {
		full, half := *c, *c
		full.Trends = slices.Clone(c.Trends)
		for i := range full.Trends {
			full.Trends[i].Name, full.Trends[i].Unit = t.Said(full.Trends[i].Name), t.Said(full.Trends[i].Unit)
		}
		half.Trends = full.Trends
		full.Words, half.Words = &t.Pictures, &t.Pictures
		full.Size, half.Size = chart.Full, chart.Half
		all = append(all, a.wide("instrument-trends", full, half, t.say("alt.trends"), t.say("trends.caption", "from", t.shortDay(c.From))))
	}
	if in.Repeats != nil {
		c := *in.Repeats
		c.Words, c.Quantity, c.Size = &t.Pictures, t.quantity(c.Quantity), chart.Half
		all = append(all, a.add("instrument-repeats", c, t.say("alt.repeats"), t.say("repeats.caption")))
	}
	return all
}

func (h Handover) instrumentSection(t *teller, a *album) section {
	s := section{ID: "instrument", Title: t.say("instrument.title")}
	switch h.Instrument.State {
	case "":
		s.Text = []string{t.say("instrument.unchecked")}
	default:
		s.Text = []string{h.Instrument.stands(t)}
	}
	s.List = append(t.findings(h.Instrument.Findings), t.findings(h.Instrument.Looks)...)
	s.Figures = h.Instrument.trends(t, a)
	if len(h.Instrument.Checks) == 0 {
		return s
	}
	tb := table{Caption: t.say("checks.title"), Heads: []head{
		{t.say("col.check"), false}, {t.say("col.value"), true}, {t.say("col.limit"), true}, {t.say("col.at"), false}, {t.say("col.result"), false},
	}}
	for _, c := range h.Instrument.Checks {
		result := t.say("check.fit")
		switch {
		case c.Ageing:
			result = t.say("check.ageing")
		case !c.Fit:
			result = t.say("check.unfit")
		}
		unit := ""
		if c.Unit != "" {
			unit = " " + t.Said(c.Unit)
		}
		tb.Rows = append(tb.Rows, row{Strong: !c.Fit, Cells: []string{
			t.Said(c.Name), t.short(c.Value, 3) + unit, t.short(c.Limit, 3) + unit, t.clock(c.At), result,
		}})
	}
	s.Tables = append(s.Tables, dropEmpty(tb))
	return s
}

// stands says the state of the instrument, and since when.
func (in Instrument) stands(t *teller) string {
	if in.Since.IsZero() {
		return t.say("instrument.state." + in.State)
	}
	return t.say("live.instrument."+in.State, "when", t.clock(in.Since))
}

func (h Handover) completeSection(t *teller) section {
	c := h.Complete
	s := section{ID: "complete", Title: t.say("complete.title"), Text: []string{t.say("complete.line",
		"received", t.whole(c.Received), "judged", t.whole(c.Judged), "unfit", t.whole(c.Unfit), "unreadable", t.whole(c.Unreadable))}}
	if c.Items != nil {
		s.Text = append(s.Text, t.say("complete.items", "spectra", t.whole(c.Items.Spectra), "empty", t.whole(c.Items.Empty)))
		if n := c.Items.Late; n > 0 {
			s.Text = append(s.Text, t.count("complete.items.late", n))
		}
	}
	if len(c.Gaps) > 0 {
		tb := table{Caption: t.say("gaps.title"), Heads: []head{{t.say("col.gap"), false}, {t.say("col.lasted"), true}}}
		for _, g := range c.Gaps {
			tb.Rows = append(tb.Rows, row{Cells: []string{t.span(g.From, g.To), t.duration(g.To.Sub(g.From))}})
		}
		s.Tables = append(s.Tables, tb)
	}
	if c.Unreadable == 0 {
		return s
	}
	tb := table{Caption: t.say("unreadable.title"), Heads: []head{{t.say("col.file"), false}, {t.say("col.at"), false}, {t.say("col.reason"), false}}}
	more := c.Unreadable
	for _, u := range c.Files {
		more -= max(u.Count, 1)
		tb.Rows = append(tb.Rows, row{Cells: []string{u.File, t.clock(u.Time), t.Said(u.Reason)}})
	}
	if more > 0 {
		tb.Rows = append(tb.Rows, row{Cells: []string{t.count("more", more), "", ""}})
	}
	s.Tables = append(s.Tables, dropEmpty(tb))
	return s
}
