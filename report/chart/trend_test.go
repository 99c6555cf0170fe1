package chart

import (
	"errors"
	"math"
	"math/rand/v2"
	"strings"
	"testing"
	"time"
)

// sampleTrends is an invented month of an instrument: a lamp that falls, a line of 100 % that stays, a band that creeps.
func sampleTrends() TrendPlot {
	r := rand.New(rand.NewPCG(5, 8))
	from := at(6, 0).AddDate(0, 0, -30)
	c := TrendPlot{From: from, To: at(14, 0), Size: Full}
	lamp := Trend{Name: "light level, all channels", Unit: "%", Ageing: 20, Unfit: 50}
	line := Trend{Name: "noise of the 100 % line, 900–1000 nm", Ageing: 8e-4, Unfit: 2e-3}
	band := Trend{Name: "band at 1222.5 nm", Unit: "nm", Ageing: 0.5, Unfit: 1}
	for d := 0.0; d < 30; d += 0.5 {
		t := from.Add(time.Duration(d * 24 * float64(time.Hour)))
		lamp.Times, line.Times = append(lamp.Times, t), append(line.Times, t)
		lamp.Values = append(lamp.Values, 2+26*math.Pow(d/30, 2)+0.5*r.NormFloat64())
		line.Values = append(line.Values, 3e-4+3e-5*r.NormFloat64())
		if int(2*d)%14 == 0 {
			band.Times, band.Values = append(band.Times, t), append(band.Values, 0.1+0.01*d)
		}
	}
	c.Trends = []Trend{lamp, line, band}
	return c
}

// sampleRepeats are eight repeats of a standard, of which the newest has moved on its axis.
func sampleRepeats() RepeatsPlot {
	r := rand.New(rand.NewPCG(2, 8))
	c := RepeatsPlot{Axis: Axis{Unit: "nm"}, Quantity: "absorbance"}
	for i := range 128 {
		c.Axis.At = append(c.Axis.At, 900+800*float64(i)/127)
	}
	for k := range 8 {
		d := make([]float64, 128)
		for i, x := range c.Axis.At {
			d[i] = 2e-4 * r.NormFloat64()
			if k == 7 {
				d[i] += 1.5e-3 * (x - 1222) / 30 * math.Exp(-math.Pow((x-1222)/30, 2))
			}
		}
		c.Deviations = append(c.Deviations, d)
	}
	return c
}

func TestTrendsRefused(t *testing.T) {
	for want, c := range map[string]TrendPlot{
		"no measure":          {From: at(6, 0), To: at(7, 0)},
		"before they begin":   {From: at(8, 0), To: at(7, 0), Trends: sampleTrends().Trends},
		"lamp: 1 times for 2": {From: at(6, 0), To: at(7, 0), Trends: []Trend{{Name: "lamp", Times: []time.Time{at(6, 0)}, Values: []float64{1, 2}}}},
		"lamp":                {From: at(6, 0), To: at(7, 0), Trends: []Trend{{Name: "lamp", Times: []time.Time{at(6, 0)}, Values: []float64{math.NaN()}}}},
	} {
		if _, err := c.Draw(); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("Draw() = %v, want an error with %q", err, want)
		}
	}
	none := TrendPlot{From: at(6, 0), To: at(7, 0), Trends: []Trend{{Name: "lamp", Times: []time.Time{at(6, 30)}, Values: []float64{0}, Ageing: -1, Unfit: -1}}}
	if _, err := none.Draw(); err != nil {
		t.Errorf("one value of zero without limits: %v", err)
	}
	r := sampleRepeats()
	r.Deviations = r.Deviations[:1]
	if _, err := r.Draw(); !errors.Is(err, ErrNothing) {
		t.Errorf("one repeat: %v, want %v", err, ErrNothing)
	}
	r = sampleRepeats()
	r.Deviations[3] = r.Deviations[3][:5]
	if _, err := r.Draw(); err == nil || !strings.Contains(err.Error(), "repeat 4") {
		t.Errorf("a short repeat: %v", err)
	}
	for _, d := range r.Deviations {
		clear(d)
	}
	r.Deviations = r.Deviations[:2]
	if _, err := r.Draw(); err != nil {
		t.Errorf("repeats that do not differ: %v", err)
	}
}
