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

// mostTrends is how many trends are drawn. More are no picture any more.
const mostTrends = 6

// trends gathers what each measure of the instrument was over time.
type trends struct {
	all     []chart.Trend
	measure []string // of each
	from    time.Time
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
		g.all, g.measure = append(g.all, chart.Trend{Name: name, Unit: c.Unit}), append(g.measure, c.Measure)
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
	var all []int
	for i, t := range g.all {
		if len(t.Times) > 1 {
			all = append(all, i)
		}
	}
	if len(all) == 0 || !to.After(g.from) {
		return nil
	}
	if len(all) > mostTrends {
		all = g.tell(all)
	}
	slices.Sort(all)
	p := &chart.TrendPlot{From: g.from, To: to}
	for _, i := range all {
		p.Trends = append(p.Trends, g.all[i])
	}
	return p
}

// tell returns the trends that tell most: of each measure the place that came nearest to its limit, and then whatever came near.
func (g *trends) tell(all []int) []int {
	slices.SortStableFunc(all, func(x, y int) int { return cmp.Compare(nearness(g.all[y]), nearness(g.all[x])) })
	var first, rest []int
	for _, i := range all {
		if slices.ContainsFunc(first, func(o int) bool { return g.measure[o] == g.measure[i] }) {
			rest = append(rest, i)
		} else {
			first = append(first, i)
		}
	}
	return append(first, rest...)[:mostTrends]
}

// nearness is how far a measure went, as a share of its last limit, in steps of a hundredth: among those that went as far the first is
// taken, which is the one over all channels.
func nearness(t chart.Trend) float64 {
	return math.Round(100*slices.Max(t.Values)/math.Max(math.Max(t.Ageing, t.Unfit), 1e-12)) / 100
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
