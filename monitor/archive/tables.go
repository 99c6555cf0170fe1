package archive

import (
	"time"

	"asusual/model/finding"
	"asusual/monitor/history"
)

// The columns of each table. Those of spectra begin as the rows of the command export do.

func spectraColumns() []column[history.Record] {
	return []column[history.Record]{
		moment("time", func(r *history.Record) *time.Time { return &r.Time }),
		text("file", func(r *history.Record) *string { return &r.File }),
		whole("row", func(r *history.Record) *int { return &r.Row }),
		text("line", func(r *history.Record) *string { return &r.Line }),
		text("condition", func(r *history.Record) *string { return &r.Condition }),
		number("t2", func(r *history.Record) *float64 { return &r.T2 }),
		number("q", func(r *history.Record) *float64 { return &r.Q }),
		number("distance", func(r *history.Record) *float64 { return &r.Distance }),
		flag("inside", func(r *history.Record) *bool { return &r.Inside }),
		text("verdict", func(r *history.Record) *string { return &r.Verdict }),
		text("run", func(r *history.Record) *string { return &r.Run }),
		flag("late", func(r *history.Record) *bool { return &r.Late }),
		text("reference", func(r *history.Record) *string { return &r.Reference }),
		reasons(func(r *history.Record) *[]finding.Finding { return &r.Reasons }),
		text("group", func(r *history.Record) *string { return &r.Group }),
		text("instrument", func(r *history.Record) *string { return &r.Instrument }),
		numbers("scores", 64, func(r *history.Record) *[]float64 { return &r.Scores }),
		single("map_x", func(r *history.Record) *float32 { return &r.Map[0] }),
		single("map_y", func(r *history.Record) *float32 { return &r.Map[1] }),
		single("rough_middle", func(r *history.Record) *float32 { return &r.Rough[0] }),
		single("rough_edges", func(r *history.Record) *float32 { return &r.Rough[1] }),
		moment("received", func(r *history.Record) *time.Time { return &r.Received }),
		whole("mark", func(r *history.Record) *int64 { return &r.Mark }),
		findings(func(r *history.Record) *[]finding.Finding { return &r.Reasons }),
	}
}

func episodeColumns() []column[history.Episode] {
	return []column[history.Episode]{
		text("line", func(e *history.Episode) *string { return &e.Line }),
		moment("from", func(e *history.Episode) *time.Time { return &e.From }),
		moment("to", func(e *history.Episode) *time.Time { return &e.To }),
		moment("changed_since", func(e *history.Episode) *time.Time { return &e.ChangedSince }),
		whole("spectra", func(e *history.Episode) *int { return &e.Spectra }),
		number("peak", func(e *history.Episode) *float64 { return &e.Peak }),
		text("group", func(e *history.Episode) *string { return &e.Group }),
		text("instrument", func(e *history.Episode) *string { return &e.Instrument }),
		text("reference", func(e *history.Episode) *string { return &e.Reference }),
		reasons(func(e *history.Episode) *[]finding.Finding { return &e.Reasons }),
		findings(func(e *history.Episode) *[]finding.Finding { return &e.Reasons }),
	}
}

func groupColumns() []column[history.Group] {
	return []column[history.Group]{
		text("line", func(g *history.Group) *string { return &g.Line }),
		text("name", func(g *history.Group) *string { return &g.Name }),
		moment("from", func(g *history.Group) *time.Time { return &g.From }),
		moment("to", func(g *history.Group) *time.Time { return &g.To }),
		whole("spectra", func(g *history.Group) *int { return &g.Spectra }),
		text("seen", func(g *history.Group) *string { return &g.Seen }),
		moment("episode", func(g *history.Group) *time.Time { return &g.Episode }),
	}
}

func ownColumns() []column[history.Own] {
	return []column[history.Own]{
		moment("time", func(o *history.Own) *time.Time { return &o.Time }),
		text("file", func(o *history.Own) *string { return &o.File }),
		whole("row", func(o *history.Own) *int { return &o.Row }),
		text("line", func(o *history.Own) *string { return &o.Line }),
		text("role", func(o *history.Own) *string { return &o.Role }),
		flag("late", func(o *history.Own) *bool { return &o.Late }),
		moment("received", func(o *history.Own) *time.Time { return &o.Received }),
		whole("mark", func(o *history.Own) *int64 { return &o.Mark }),
	}
}

func checkColumns() []column[history.Check] {
	return []column[history.Check]{
		moment("time", func(c *history.Check) *time.Time { return &c.Time }),
		text("line", func(c *history.Check) *string { return &c.Line }),
		text("measure", func(c *history.Check) *string { return &c.Measure }),
		text("about", func(c *history.Check) *string { return &c.About }),
		number("value", func(c *history.Check) *float64 { return &c.Value }),
		text("unit", func(c *history.Check) *string { return &c.Unit }),
		number("ageing", func(c *history.Check) *float64 { return &c.Ageing }),
		number("unfit", func(c *history.Check) *float64 { return &c.Unfit }),
		text("state", func(c *history.Check) *string { return &c.State }),
		reasons(func(c *history.Check) *[]finding.Finding { return &c.Reasons }),
		findings(func(c *history.Check) *[]finding.Finding { return &c.Reasons }),
	}
}

func unreadableColumns() []column[history.Unreadable] {
	return []column[history.Unreadable]{
		moment("time", func(u *history.Unreadable) *time.Time { return &u.Time }),
		text("file", func(u *history.Unreadable) *string { return &u.File }),
		whole("row", func(u *history.Unreadable) *int { return &u.Row }),
		text("line", func(u *history.Unreadable) *string { return &u.Line }),
		whole("text_line", func(u *history.Unreadable) *int { return &u.TextLine }),
		text("reason", func(u *history.Unreadable) *string { return &u.Reason }),
		whole("count", func(u *history.Unreadable) *int { return &u.Count }),
		flag("mended", func(u *history.Unreadable) *bool { return &u.Mended }),
		moment("received", func(u *history.Unreadable) *time.Time { return &u.Received }),
	}
}

func copyColumns() []column[history.Copy] {
	return []column[history.Copy]{
		moment("time", func(c *history.Copy) *time.Time { return &c.Time }),
		text("file", func(c *history.Copy) *string { return &c.File }),
		text("line", func(c *history.Copy) *string { return &c.Line }),
		text("of", func(c *history.Copy) *string { return &c.Of }),
		whole("rows", func(c *history.Copy) *int { return &c.Rows }),
		moment("received", func(c *history.Copy) *time.Time { return &c.Received }),
	}
}

func actColumns() []column[history.Act] {
	return []column[history.Act]{
		moment("time", func(a *history.Act) *time.Time { return &a.Time }),
		text("line", func(a *history.Act) *string { return &a.Line }),
		text("act", func(a *history.Act) *string { return &a.Act }),
		text("who", func(a *history.Act) *string { return &a.Who }),
		text("why", func(a *history.Act) *string { return &a.Why }),
		moment("until", func(a *history.Act) *time.Time { return &a.Until }),
		text("state", func(a *history.Act) *string { return &a.State }),
		moment("episode", func(a *history.Act) *time.Time { return &a.Episode }),
		text("refused", func(a *history.Act) *string { return &a.Refused }),
		text("request", func(a *history.Act) *string { return &a.Request }),
	}
}

func referenceColumns() []column[history.Reference] {
	return []column[history.Reference]{
		text("line", func(r *history.Reference) *string { return &r.Line }),
		moment("since", func(r *history.Reference) *time.Time { return &r.Since }),
		text("fingerprint", func(r *history.Reference) *string { return &r.Fingerprint }),
		text("name", func(r *history.Reference) *string { return &r.Name }),
	}
}

// A meanRow is a mean spectrum as it stands in its table: its axis is one of another.
type meanRow struct {
	history.Mean
	axis int
}

func meanColumns() []column[meanRow] {
	return []column[meanRow]{
		text("line", func(m *meanRow) *string { return &m.Line }),
		moment("from", func(m *meanRow) *time.Time { return &m.From }),
		text("condition", func(m *meanRow) *string { return &m.Condition }),
		whole("spectra", func(m *meanRow) *int { return &m.Count }),
		whole("axis", func(m *meanRow) *int { return &m.axis }),
		length("seconds", func(m *meanRow) *time.Duration { return &m.Length }),
		numbers("absorbance", 32, func(m *meanRow) *[]float64 { return &m.Values }),
	}
}

// An axisRow is an axis, as JSON.
type axisRow struct {
	number int
	json   string
}

func axisColumns() []column[axisRow] {
	return []column[axisRow]{
		whole("axis", func(a *axisRow) *int { return &a.number }),
		text("json", func(a *axisRow) *string { return &a.json }),
	}
}
