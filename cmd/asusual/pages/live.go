package pages

import (
	"slices"

	"asusual/model"
	"asusual/monitor"
	"asusual/monitor/history"
	"asusual/report"
	"asusual/report/chart"
	"asusual/report/live"
)

// Usual returns what the live page draws of a reference.
func Usual(ref *model.Reference) live.Usual {
	u := live.Usual{
		Reference: Source{Reference: ref}.reference(), Same: ref.SameUsual(), Axis: axis(ref.Axis()), Mean: ref.Picture.Mean, SD: ref.Picture.SD, Typical: ref.Picture.Typical,
	}
	p := scorePlot(ref, nil)
	u.Scores, u.Limit, u.OneScore, u.Conditions = p.Usual, p.Limit, p.OneScore, p.Clusters
	for i, share := range carried(ref) {
		if i < len(u.Carried) {
			u.Carried[i] = share / 100
		}
	}
	return u
}

// Reading returns a record as the live page takes it; absorbance is that of its spectrum, nil where it is not at hand.
func Reading(r history.Record, absorbance []float64) live.Reading {
	p := plane(r.Scores)
	return live.Reading{Time: r.Time, Distance: r.Distance, Inside: r.Inside, Condition: placeOf(r), Over: overstays(r), Late: r.Late,
		Received: r.Received, Score: chart.Point{X: p.X, Y: p.Y},
		Absorbance: absorbance}
}

// Standing returns how a line stands as the live page takes it, with its groups, the newest last.
func Standing(s monitor.Status, groups []history.Group) live.Standing {
	out := live.Standing{
		Verdict: ofVerdict(s.Verdict), Since: s.Since, ChangedSince: s.ChangedSince, Reasons: slices.Clone(s.Why), Group: s.Group,
		Instrument: report.Instrument{State: s.Instrument, Since: s.InstrumentSince, Findings: slices.Clone(s.InstrumentWhy)},
		Alarm:      report.Alarm{State: s.Alarm.State.String(), Since: s.Alarm.Since, Until: s.Alarm.Until, Who: s.Alarm.Who, Why: s.Alarm.Why},
		Unreadable: s.Unreadable, Behind: s.Behind, Trouble: s.Trouble,
	}
	if s.LastVerdict != "" {
		out.LastVerdict = ofVerdict(s.LastVerdict)
	}
	if out.Verdict == report.Changed && !s.Alarm.Episode.IsZero() {
		out.Since = s.Alarm.Episode // when it was seen
	}
	for _, g := range groups {
		one := report.Group{Name: g.Name, First: g.From, Last: g.To, Spectra: g.Spectra}
		if g.Seen != "" {
			one.Seen = []report.Seen{{Where: g.Seen}}
		}
		out.Groups = append(out.Groups, one)
	}
	return out
}
