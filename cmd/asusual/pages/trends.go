package pages

import (
	"cmp"
	"context"
	"math"
	"slices"
	"time"

	"asusual/model/check"
	"asusual/monitor"
	"asusual/monitor/history"
	"asusual/report"
	"asusual/report/chart"
)

// mostTrends is how many measures are drawn: those that came closest to their limits. More are no picture any more.
const mostTrends = 6

// trends gathers what each measure of the instrument was over time.
type trends struct {
	all  []chart.Trend
	from time.Time
}

func (g *trends) add(c history.Check, zone *time.Location) {
	if c.State == "" || math.IsNaN(c.Value) {
		return // among the first, or it could not be told
	}
	name := c.Measure
	if c.About != "" {
		name += ", " + c.About
	}
	i := slices.IndexFunc(g.all, func(t chart.Trend) bool { return t.Name == name })
	if i < 0 {
		i = len(g.all)
		g.all = append(g.all, chart.Trend{Name: name, Unit: c.Unit})
	}
	t := &g.all[i]
	at := c.Time.In(zone)
	t.Times, t.Values = append(t.Times, at), append(t.Values, c.Value)
	t.Ageing, t.Unfit = c.Ageing, c.Unfit
	if g.from.IsZero() || at.Before(g.from) {
		g.from = at
	}
}

// plot returns the picture until the end of a period, nil where no measure was taken twice.
func (g *trends) plot(to time.Time) *chart.TrendPlot {
	var some []chart.Trend
	for _, t := range g.all {
		if len(t.Times) > 1 {
			some = append(some, t)
		}
	}
	if len(some) == 0 || !to.After(g.from) {
		return nil
	}
	if len(some) > mostTrends {
		near := slices.Clone(some)
		slices.SortStableFunc(near, func(x, y chart.Trend) int { return cmp.Compare(nearness(y), nearness(x)) })
		least := nearness(near[mostTrends-1])
		kept := 0
		some = slices.DeleteFunc(some, func(t chart.Trend) bool {
			if kept == mostTrends || nearness(t) < least {
				return true
			}
			kept++
			return false
		})
	}
	return &chart.TrendPlot{From: g.from, To: to, Trends: some}
}

// nearness is how far a measure went, as a share of its last limit.
func nearness(t chart.Trend) float64 {
	return slices.Max(t.Values) / math.Max(math.Max(t.Ageing, t.Unfit), 1e-12)
}

// repeats draws the latest repeats of the standard, where they were measured until the end of the period.
func (s Source) repeats(ctx context.Context, q history.Query, in *report.Instrument) error {
	book, ok, err := monitor.Checks(ctx, s.History, s.Line)
	if err != nil || !ok || book.Axis == nil || book.Repeated.IsZero() || !book.Repeated.Before(q.To) {
		return err
	}
	r, err := check.RepeatsOf(book.Repeats)
	if err != nil {
		return nil // too few, which no picture has to say
	}
	in.Repeats = &chart.RepeatsPlot{Axis: axis(book.Axis), Deviations: r.Deviations, Quantity: "absorbance"}
	return nil
}
