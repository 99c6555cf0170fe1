package pages

import (
	"context"
	"slices"
	"time"

	"asusual/model/check"
	"asusual/model/finding"
	"asusual/model/fitness"
	"asusual/monitor/history"
	"asusual/report"
)

// checksBack is how long before a shift a check may have been made to stand in its report: a standard is measured once a week
// on many lines, and once a month on few. Common practice, no source.
const checksBack = 31 * 24 * time.Hour

// checks fills in what the instrument's own spectra told of it: of each measure the last value until the end of the period.
func (s Source) checks(ctx context.Context, q history.Query, in *report.Instrument) error {
	q.From = q.From.Add(-checksBack)
	var latest []history.Check
	var over trends
	var when standing
	for c, err := range s.History.Checks(ctx, q) {
		if err != nil {
			return err
		}
		when.add(c)
		over.add(c, s.Zone)
		if c.Measure != string(check.NotMeasured) { // what hindered a check before does so no longer
			latest = slices.DeleteFunc(latest, func(o history.Check) bool {
				return o.Measure == string(check.NotMeasured) && o.Time.Before(c.Time)
			})
		}
		same := func(o history.Check) bool { return o.Measure == c.Measure && o.About == c.About }
		if i := slices.IndexFunc(latest, same); i >= 0 {
			latest[i] = c
		} else {
			latest = append(latest, c)
		}
	}
	states := []fitness.State{fitness.State(in.State)}
	for _, c := range latest {
		states = append(states, fitness.State(c.State))
		produced := c.Measure == string(check.Production) // which the verdict's reasons may say, too, at a later size
		for _, f := range c.Reasons {
			if !slices.ContainsFunc(in.Findings, func(o finding.Finding) bool { return o.String() == f.String() || produced && o.Kind == f.Kind }) {
				in.Findings = append(in.Findings, f)
			}
		}
		if c.State == "" || c.Measure == string(check.Production) {
			continue // no figure, or among the first, or it could not be told, which the findings say
		}
		name := c.Measure
		if c.About != "" {
			name += ", " + c.About
		}
		limit := check.Pair{Ageing: c.Ageing, Unfit: c.Unfit}.Next(c.Value)
		in.Checks = append(in.Checks, report.Check{Name: name, Value: c.Value, Limit: limit, Unit: c.Unit, At: c.Time,
			Fit: c.State == string(fitness.Fit), Ageing: c.State == string(fitness.Ageing)})
	}
	in.State = string(check.Worst(states...))
	if state, since := when.now(); string(state) == in.State {
		in.Since = since
	}
	in.Trends = over.plot(q.To.In(s.Zone))
	return s.repeats(ctx, q, in)
}
