package pages

import (
	"context"
	"errors"
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
	stays           stays
	spectra, inside int // judged, and of those that should have been usual, inside
	other           int // judged by another reference
}

// Compare returns the comparison of two periods, each with the name that a person gave it.
func (s Source) Compare(ctx context.Context, names [2]string, periods [2]shift.Period) (report.Compare, error) {
	c := report.Compare{Line: s.Line, Zone: s.Zone, Language: s.Language, Reference: s.reference()}
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
	r := compare.Compare(&this.set, &that.set, s.Reference.Spread)
	c.Verdict, c.Effect, c.Low, c.High, c.Witnesses = report.Verdict(r.Verdict.String()), r.Effect, r.Low, r.High, r.Runs[0]+r.Runs[1]
	c.This, c.That = this.page(s.Zone), that.page(s.Zone)
	c.Conditions = shares(this.stays.done(), that.stays.done())
	c.Distances = chart.SpreadPlot{This: this.distances, That: that.distances}
	c.Scores = scorePlot(s.Reference, s.Language)
	c.Scores.Period = this.marks
	for _, m := range that.marks {
		if m.Kind != chart.Elsewhere {
			c.Scores.Second = append(c.Scores.Second, chart.Point{X: m.X, Y: m.Y})
		}
	}
	c.Spectrum, err = s.compareSpectra(ctx, this, that)
	return c, err
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
	features := make([]float64, s.Reference.Limits.Len())
	for r, err := range s.History.Spectra(ctx, history.Query{Line: s.Line, From: p.From, To: p.To}) {
		if err != nil {
			return nil, err
		}
		if !slices.Contains(same, r.Reference) {
			one.other++
			continue
		}
		one.add(r)
		if r.Condition == model.Usual || r.Condition == model.Uncharted {
			s.Reference.Limits.Features(features, r.Scores, r.Q)
			one.set.Add(r.Time, features)
		}
	}
	return one, nil
}

// add takes in what is drawn of a record.
func (s *side) add(r history.Record) {
	s.spectra++
	s.stays.add(r.Condition, r.Time)
	if r.Condition == model.Unfit {
		return
	}
	kind, p := kindOf(r), plane(r.Scores)
	s.marks = append(s.marks, chart.Mark{X: p.X, Y: p.Y, Kind: kind})
	if kind == chart.Elsewhere {
		return
	}
	s.distances = append(s.distances, r.Distance)
	if r.Inside {
		s.inside++
	}
}

// page says the period in the words of the page.
func (s *side) page(zone *time.Location) report.Period {
	return report.Period{
		Name: s.name, From: s.period.From.In(zone), To: s.period.To.In(zone), Spectra: len(s.distances), Inside: s.inside,
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

// compareSpectra lays the mean absorbance of the first period over that of the second.
func (s Source) compareSpectra(ctx context.Context, this, that *side) (chart.SpectrumPlot, error) {
	var means [2][]float64
	for i, one := range []*side{this, that} {
		var err error
		if means[i], err = s.mean(ctx, history.Query{Line: s.Line, From: one.period.From, To: one.period.To}, nil); err != nil {
			return chart.SpectrumPlot{}, err
		}
	}
	p, err := spectrumPlot(s.Reference, s.Language, this.name, means[0])
	if err != nil || means[0] == nil || means[1] == nil {
		return p, err
	}
	other, err := spectrumPlot(s.Reference, s.Language, that.name, means[1])
	if err != nil {
		return p, err
	}
	p.Usual, p.UsualName = means[1], that.name
	for i, v := range other.Difference {
		p.Difference[i] -= v
	}
	return p, nil
}
