package pages

import (
	"context"
	"slices"
	"time"

	"asusual/model"
	"asusual/model/finding"
	"asusual/model/fitness"
	"asusual/monitor/history"
	"asusual/report"
	"asusual/report/chart"
)

// A day is what the records of a period come to.
type day struct {
	zone        *time.Location
	same        []string // the references in whose plane it is drawn; nil: any
	judges      []judge  // the references that judged, as they first came
	judge       string   // that of the last spectrum
	first, last time.Time
	readings    []chart.Reading
	marks       []chart.Mark // in the plane of the first two scores
	places      []chart.Mark // on the map of conditions
	drawn       chart.Span   // from the first to the last of both
	instrument  string       // as it stood after the last spectrum
	since       time.Time    // since when it stood so; zero where it did from the first one
	conditions  []string     // of each reading
	over        []bool       // of each reading: its condition has lasted too long
	verdict     report.Verdict
	mute        time.Time // the first spectrum since which nothing can be said; zero where something can, or there was none
	inside      int
	expected    int                  // spectra that should have been usual
	groups      map[string]time.Time // the last spectrum of each uncharted group
	overtaken   int                  // of them, those that came late
	odd         []chart.Span         // stays in a condition outside its times
}

// read goes once through the records of the period.
func (s Source) read(ctx context.Context, q history.Query) (*day, error) {
	d := &day{zone: s.Zone, same: s.Reference.SameUsual(), verdict: report.CannotSay}
	for r, err := range s.History.Spectra(ctx, q) {
		if err != nil {
			return nil, err
		}
		d.add(r)
	}
	return d, nil
}

func (d *day) add(r history.Record) {
	at := r.Time.In(d.zone)
	if d.first.IsZero() {
		d.first = at
	}
	d.last = at
	d.judgedBy(r.Reference)
	kind := kindOf(r)
	d.over = append(d.over, overstays(r))
	if d.instrument != "" && r.Instrument != d.instrument {
		d.since = at
	}
	d.instrument = r.Instrument
	if r.Condition == model.Unfit {
		d.conditions = append(d.conditions, r.Condition)
		d.readings = append(d.readings, chart.Reading{Time: at, Kind: kind})
		// So many were unfit by then that nothing can be said. Else a single one after a long rinse would tell of the pause alone.
		if v := ofVerdict(r.Verdict); v == report.CannotSay && r.Instrument == string(fitness.Bad) && !r.Late {
			d.says(v, at)
		}
		return
	}
	if r.Group != "" {
		if d.groups == nil {
			d.groups = map[string]time.Time{}
		}
		d.groups[r.Group] = at
	}
	if name := about(r, finding.Untimely); name != "" {
		d.untimely(name, at)
	}
	d.readings = append(d.readings, chart.Reading{Time: at, Distance: r.Distance, Kind: kind})
	d.conditions = append(d.conditions, placeOf(r))
	if d.known(r.Reference) {
		if len(d.marks) == 0 {
			d.drawn.From = at
		}
		d.drawn.To = at
		p := plane(r.Scores)
		d.marks = append(d.marks, chart.Mark{X: p.X, Y: p.Y, Kind: kind})
		d.places = append(d.places, chart.Mark{X: float64(r.Map[0]), Y: float64(r.Map[1]), Kind: kind})
	}
	if !kind.Expected() {
		return
	}
	d.expected++
	if r.Inside {
		d.inside++
	}
	if r.Late {
		d.overtaken++
		return
	}
	d.says(ofVerdict(r.Verdict), at)
}

// says notes the verdict as it stands from a spectrum on.
func (d *day) says(v report.Verdict, at time.Time) {
	if v != report.CannotSay {
		d.mute = time.Time{}
	} else if d.mute.IsZero() {
		d.mute = at
	}
	d.verdict = v
}

// kindOf says how a spectrum is drawn: one in a transition or in a named condition says nothing of production, unless the condition
// has lasted too long; one that is unfit lies nowhere.
func kindOf(r history.Record) chart.Kind {
	switch {
	case r.Condition == model.Unfit:
		return chart.Unplaced
	case r.Inside:
		return chart.Inside
	case overstays(r):
		return chart.Outside
	case about(r, finding.InTransition) != "":
		return chart.Elsewhere
	case r.Condition != model.Uncharted && r.Condition != model.Usual:
		return chart.Elsewhere
	}
	return chart.Outside
}

// overstays reports whether the condition of a spectrum had lasted too long by then.
func overstays(r history.Record) bool { return about(r, finding.Overstays) != "" }

// placeOf says what the time of a spectrum counts for: its condition, or the transition that it is in.
func placeOf(r history.Record) string {
	if about(r, finding.InTransition) != "" {
		return model.InTransition
	}
	return r.Condition
}

// production returns the readings of spectra that should have been usual.
func (d *day) production() []chart.Reading {
	var all []chart.Reading
	for _, r := range d.readings {
		if r.Kind.Expected() {
			all = append(all, r)
		}
	}
	return all
}

// about returns what the reason of that kind is about, "" where the record has none.
func about(r history.Record, kind finding.Kind) string {
	for _, f := range r.Reasons {
		if f.Kind == kind {
			return f.About
		}
	}
	return ""
}

// untimely notes a spectrum in a condition outside its times: the next of the stay before, or the first of another.
func (d *day) untimely(name string, at time.Time) {
	n := len(d.odd)
	if n > 0 && d.odd[n-1].Name == name && len(d.conditions) > 0 && d.conditions[len(d.conditions)-1] == name {
		d.odd[n-1].To = at
		return
	}
	d.odd = append(d.odd, chart.Span{From: at, To: at, Name: name})
}

// oddities are the findings about stays outside their times.
func (d *day) oddities() []finding.Finding {
	var all []finding.Finding
	for _, s := range d.odd {
		all = append(all, finding.Of(finding.Untimely, s.Name+", "+s.From.Format("15:04")+"–"+s.To.Format("15:04")+","))
	}
	return all
}

// gaps are the stretches without spectra: those between spectra, and before the first and after the last of them.
func (d *day) gaps(from, to time.Time, between []history.Gap, pause time.Duration) (all []chart.Span) {
	if d.first.IsZero() {
		return []chart.Span{{From: from, To: to}}
	}
	add := func(a, b time.Time) {
		if pause > 0 && b.Sub(a) > pause {
			all = append(all, chart.Span{From: a.In(d.zone), To: b.In(d.zone)})
		}
	}
	add(from, d.first)
	for _, g := range between {
		add(g.From, g.To)
	}
	add(d.last, to)
	return all
}

// tell fills in the verdict at the end of the shift and how far its spectra lay.
func (d *day) tell(h *report.Handover) {
	h.Verdict, h.Inside, h.Expected, h.Overtaken = d.verdict, d.inside, d.expected, d.overtaken
	switch n := len(h.Episodes); {
	case h.Verdict == report.Changed && n > 0:
		h.Since = h.Episodes[n-1].ChangedSince
	case h.Verdict == report.AsUsual && n > 0:
		h.Since = h.Episodes[n-1].To
	case h.Verdict == report.AsUsual:
		h.Since = h.From
	case h.Verdict == report.CannotSay:
		h.Since = d.mute
	}
	all := d.production()
	d.tellLast(h, all)
	// The median of three neighbours leaves a stray out.
	for i := range all {
		three := all[max(i-1, 0):min(i+2, len(all))]
		if m := medianDistance(three); m > h.Peak {
			h.Peak, h.PeakAt = m, all[i].Time
		}
	}
}

// tellLast fills in how far the last hour of production lay, or what came of it since the change began.
func (d *day) tellLast(h *report.Handover, all []chart.Reading) {
	if len(all) == 0 {
		return
	}
	from := all[len(all)-1].Time.Add(-time.Hour)
	if h.Verdict == report.Changed && h.Since.After(from) && !h.Since.After(all[len(all)-1].Time) {
		from, h.LastFrom = h.Since.Add(-1), h.Since.In(d.zone)
	}
	h.Last = medianDistance(slices.DeleteFunc(slices.Clone(all), func(r chart.Reading) bool { return !r.Time.After(from) }))
}

func medianDistance(all []chart.Reading) float64 {
	x := make([]float64, len(all))
	for i, r := range all {
		x[i] = r.Distance
	}
	return median(x)
}

// median returns the median of x, which it sorts; 0 of nothing.
func median(x []float64) float64 {
	if len(x) == 0 {
		return 0
	}
	slices.Sort(x)
	return x[len(x)/2]
}

// farthest returns the largest distance of an episode between two times, as the median of three neighbours. Where most of it lies
// in a named condition, in which the line stayed too long, that is what has changed, and counts.
func (d *day) farthest(from, to time.Time) float64 {
	var in, all []chart.Reading
	for i, r := range d.readings {
		if r.Time.Before(from) || !to.IsZero() && r.Time.After(to) || d.conditions[i] == model.Unfit {
			continue
		}
		all = append(all, r)
		if r.Kind.Expected() {
			in = append(in, r)
		}
	}
	if 2*len(in) < len(all) {
		in = all
	}
	peak := 0.0
	for i := range in {
		peak = max(peak, medianDistance(in[max(i-1, 0):min(i+2, len(in))]))
	}
	return peak
}

// stays returns the time spent in each condition; see stays.done.
func (d *day) stays(pause time.Duration) []report.Stay {
	s := stays{pause: pause}
	for i, r := range d.readings {
		s.add(d.conditions[i], r.Time, d.over[i])
	}
	return s.done()
}

// Stays count the time spent in each condition. The time from one spectrum to the next counts for the first one's condition,
// unless it is a pause.
type stays struct {
	pause time.Duration // a longer time is one; 0: none is
	all   []report.Stay
	at    int // of the spectrum before, in all
	last  time.Time
	over  bool // the spectrum before was in a condition that had lasted too long
}

// add takes in the next spectrum.
func (s *stays) add(name string, t time.Time, over bool) {
	if s.all == nil {
		s.all, s.at = []report.Stay{{Condition: model.Usual}}, -1
	}
	if s.at >= 0 {
		if gap := t.Sub(s.last); s.pause == 0 || gap <= s.pause {
			s.all[s.at].Time += gap
			if s.over {
				s.all[s.at].Over += gap
			}
		}
	}
	at := slices.IndexFunc(s.all, func(one report.Stay) bool { return one.Condition == name })
	if at < 0 {
		at = len(s.all)
		s.all = append(s.all, report.Stay{Condition: name})
	}
	s.all[at].Spectra++
	if at != s.at {
		s.all[at].Times++
	}
	s.at, s.last, s.over = at, t, over
}

// done returns the stays, usual first, then as they first came.
func (s *stays) done() []report.Stay {
	if len(s.all) > 0 && s.all[0].Spectra == 0 {
		return s.all[1:]
	}
	return s.all
}

// spans returns the stretches in named conditions and without a fit instrument, for the band below a picture. What lasts too long is a
// stretch of its own.
func (d *day) spans(pause time.Duration) []chart.Span {
	var all []chart.Span
	open := false
	for i, r := range d.readings {
		name := d.conditions[i]
		named := name != model.Usual && name != model.Uncharted && name != model.InTransition
		last := len(all) - 1
		if open && named && all[last].Name == name && all[last].Over == d.over[i] && (pause == 0 || r.Time.Sub(all[last].To) <= pause) {
			all[last].To = r.Time
			continue
		}
		open = named
		if named {
			all = append(all, chart.Span{From: r.Time, To: r.Time, Name: name, Over: d.over[i]})
		}
	}
	return slices.DeleteFunc(all, func(s chart.Span) bool { return !s.To.After(s.From) })
}
