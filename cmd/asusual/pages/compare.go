package pages

import (
	"context"
	"errors"
	"math"
	"slices"
	"sync"
	"time"

	"asusual/cmd/asusual/shift"
	"asusual/model"
	"asusual/model/compare"
	"asusual/model/finding"
	"asusual/monitor/history"
	"asusual/report"
	"asusual/report/chart"
)

// A side is one of two periods while it is gathered. It may be weeks at a spectrum a second, so it keeps of each only what is drawn.
type side struct {
	name            string
	period          shift.Period
	set             compare.Side
	marks           []chart.Mark // in the plane of the first two scores
	distances       []float64    // of the spectra that should have been usual
	every, skipped  int          // of how many one is drawn, so that weeks of many spectra a second need no more memory than a shift
	produced        int          // spectra that should have been usual
	stays           stays
	spectra, inside int // judged, and of those that should have been usual, inside
	other           int // judged by another reference
	doubtful        int // that should have been usual, taken while the instrument was unfit: they take no part
}

// Compare returns the comparison of two periods, each with the name that a person gave it.
func (s Source) Compare(ctx context.Context, names [2]string, periods [2]shift.Period) (report.Compare, error) {
	c := report.Compare{Line: s.Line, Zone: s.Zone, Language: s.Language, Reference: s.reference()}
	for i, p := range periods {
		names[i] = s.periodName(names[i], p)
	}
	sides, err := s.sides(ctx, names, periods)
	if err != nil {
		return c, err
	}
	for _, one := range sides {
		if one.spectra == 0 && one.other == 0 {
			return c, ErrNothing
		}
		if one.other > 0 {
			c.Findings = append(c.Findings, finding.Of(finding.OtherReference, one.name, float64(one.other)))
		}
	}
	this, that := sides[0], sides[1]
	usual := s.Reference.BetweenRuns()
	r := compare.Compare(&this.set, &that.set, usual)
	c.Verdict, c.Effect, c.Low, c.High, c.Witnesses = report.Verdict(r.Verdict.String()), r.Effect, r.Low, r.High, r.Runs[0]+r.Runs[1]
	for _, one := range sides {
		if one.doubtful > 0 {
			c.Findings = append(c.Findings, finding.Of(finding.UnfitThen, one.name, float64(one.doubtful)))
		}
	}
	if c.Verdict == report.Changed && 10*this.doubtful >= this.produced { // where it began is not known to the spectrum
		c.Verdict, c.Reasons = report.CannotSay, []finding.Finding{finding.Of(finding.UnfitThen, this.name, float64(this.doubtful))}
	}
	if usual.Runs == 0 {
		c.Reasons = append(c.Reasons, finding.Of(finding.RunsNotCompared, "", float64(len(s.Reference.Learning.Runs)), compare.FalseAlarmsFrom))
	}
	c.This, c.That = this.page(s.Zone), that.page(s.Zone)
	if a, b := this.period, that.period; sameDay(s.Zone, a.From, a.To, b.From, b.To) {
		c.This.Short, c.That.Short = times(s.Zone, a), times(s.Zone, b)
	}
	c.Conditions = shares(this.stays.done(), that.stays.done())
	c.Distances = chart.SpreadPlot{This: this.distances, That: that.distances}
	c.Scores = scorePlot(s.Reference, s.Language)
	c.Scores.Period = this.marks
	for _, m := range that.marks {
		if m.Kind.Expected() {
			c.Scores.Second = append(c.Scores.Second, chart.Point{X: m.X, Y: m.Y})
		}
	}
	if usual.Runs >= compare.FalseAlarmsFrom {
		c.FalseAlarms = compare.FalseAlarms
	}
	c.Spectrum, err = s.compareSpectra(ctx, this, that, r.Chance)
	return c, err
}

// periodName says a period in the words of the page; name is what a person called it.
func (s Source) periodName(name string, p shift.Period) string {
	switch name {
	case "today":
		return s.Language.Say("period.today")
	case "yesterday":
		return s.Language.Say("period.yesterday")
	case "last-week":
		return s.Language.Say("period.week")
	case "":
		return s.Language.PeriodName(p.From, p.To, s.Zone)
	}
	return name
}

// sameDay reports whether all times are of one day.
func sameDay(zone *time.Location, all ...time.Time) bool {
	for _, t := range all {
		if t.In(zone).Format(time.DateOnly) != all[0].In(zone).Format(time.DateOnly) {
			return false
		}
	}
	return true
}

func times(zone *time.Location, p shift.Period) string {
	return p.From.In(zone).Format("15:04") + "–" + p.To.In(zone).Format("15:04")
}

// sides reads both periods at the same time.
func (s Source) sides(ctx context.Context, names [2]string, periods [2]shift.Period) (sides [2]*side, err error) {
	var errs [2]error
	var running sync.WaitGroup
	for i := range sides {
		running.Go(func() { sides[i], errs[i] = s.side(ctx, names[i], periods[i]) })
	}
	running.Wait()
	return sides, errors.Join(errs[:]...)
}

// side reads the records of one period.
func (s Source) side(ctx context.Context, name string, p shift.Period) (*side, error) {
	one := &side{name: name, period: p, set: compare.Side{Gap: s.Reference.Limits.Gap}, stays: stays{pause: s.Reference.Limits.Gap}}
	same := s.Reference.SameUsual()
	features := make([]float64, s.Reference.Limits.Placed())
	unfit, err := s.unfit(ctx, p)
	if err != nil {
		return nil, err
	}
	for r, err := range s.History.Glances(ctx, history.Query{Line: s.Line, From: p.From, To: p.To}) {
		if err != nil {
			return nil, err
		}
		if !slices.Contains(same, r.Reference) {
			one.other++
			continue
		}
		one.add(r)
		if place := placeOf(r); place == model.Usual || place == model.Uncharted || overstays(r) {
			if within(&unfit, r.Time) {
				one.doubtful++
				continue
			}
			s.Reference.Limits.Features(features, r.Scores, r.Q, nil)
			one.set.Add(r.Time, features)
		}
	}
	return one, nil
}

// add takes in what is drawn of a record.
func (s *side) add(r history.Record) {
	s.spectra++
	s.stays.add(placeOf(r), r.Time, false)
	if r.Condition == model.Unfit {
		return
	}
	kind, p := kindOf(r), plane(r.Scores)
	if kind.Expected() {
		s.produced++
		if r.Inside {
			s.inside++
		}
	}
	if s.skipped++; s.skipped < s.every {
		return
	}
	s.skipped = 0
	s.marks = append(s.marks, chart.Mark{X: p.X, Y: p.Y, Kind: kind})
	if kind.Expected() {
		s.distances = append(s.distances, r.Distance)
	}
	if len(s.marks) == 2*drawn { // from here on half as many
		s.marks, s.distances, s.every = half(s.marks), half(s.distances), max(s.every, 1)*2
	}
}

// drawn is how many spectra of a period are drawn at least, where it has more: a density looks no different from more.
const drawn = 50_000

// half returns every second of the values.
func half[T any](all []T) []T {
	out := all[:0]
	for i := 1; i < len(all); i += 2 {
		out = append(out, all[i])
	}
	return out
}

// page says the period in the words of the page.
func (s *side) page(zone *time.Location) report.Period {
	return report.Period{
		Name: s.name, From: s.period.From.In(zone), To: s.period.To.In(zone), Spectra: s.produced, Inside: s.inside,
		Runs: s.set.Runs(), Median: median(slices.Clone(s.distances)),
	}
}

// shares lays the time spent in each condition side by side.
func shares(this, that []report.Stay) []report.Share {
	var all []report.Share
	find := func(name string) *report.Share {
		i := slices.IndexFunc(all, func(s report.Share) bool { return s.Condition == name })
		if i < 0 {
			i = len(all)
			all = append(all, report.Share{Condition: name})
		}
		return &all[i]
	}
	for _, s := range this {
		find(s.Condition).This = s.Time
	}
	for _, s := range that {
		find(s.Condition).That = s.Time
	}
	return all
}

// compareSpectra lays the mean absorbance of the first period over that of the second. chance is how far apart usual runs would lie,
// in their standard deviations.
func (s Source) compareSpectra(ctx context.Context, this, that *side, chance float64) (chart.SpectrumPlot, error) {
	var means [2][]float64
	for i, one := range []*side{this, that} {
		var err error
		if means[i], err = s.mean(ctx, history.Query{Line: s.Line, From: one.period.From, To: one.period.To}, nil); err != nil {
			return chart.SpectrumPlot{}, err
		}
	}
	name := func(one, other *side) string {
		if sameDay(s.Zone, one.period.From, one.period.To, other.period.From, other.period.To) {
			return times(s.Zone, one.period)
		}
		return one.name
	}
	if means[0] == nil || means[1] == nil { // one of them against usual would be another picture than its caption says
		return chart.SpectrumPlot{}, nil
	}
	p, err := spectrumPlot(s.Reference, s.Language, name(this, that), means[0])
	if err != nil {
		return p, err
	}
	other, err := spectrumPlot(s.Reference, s.Language, that.name, means[1])
	if err != nil {
		return p, err
	}
	p.Usual, p.Sigma, p.UsualName = means[1], nil, name(that, this) // how far usual spectra spread is not how far those of the period do
	for i, v := range other.Difference {
		p.Difference[i] -= v
	}
	p.Band, p.BandName = nil, s.Language.Say("compare.band")
	if chance > 0 {
		p.Band = between(s.Reference, chance)
	}
	return p, nil
}

// between returns how far the difference of two means may lie from nothing at each pretreated channel where only usual runs differ:
//
//	chance · √(Σ (sᵢ cᵢ)² pᵢⱼ² + θ₁/p)
//
// with sᵢ the standard deviation of score i between usual runs in units of the scale cᵢ of its feature. What the components leave over
// is taken to differ between runs as much as between spectra, which is rather too much.
func between(ref *model.Reference, chance float64) []float64 {
	band := make([]float64, ref.PCA.P)
	for j := range band {
		variance := ref.PCA.Theta[0] / float64(ref.PCA.P)
		for i := range ref.PCA.K {
			v := ref.Spread.SD[i] * ref.Limits.Scale[i] * ref.PCA.Loading(i)[j]
			variance += v * v
		}
		band[j] = chance * math.Sqrt(variance)
	}
	return band
}
