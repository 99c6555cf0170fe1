package chart

import (
	"math"
	"math/rand/v2"
	"time"
)

// The pictures of these tests show an invented shift of an invented oat-drink line: 28,800 spectra, one a second, with a
// rinse at the start, a stop, an oil pump that fades from 11:20 on, and a start-up.

var shiftStart = time.Date(2026, 11, 25, 6, 0, 0, 0, time.FixedZone("CET", 3600))

func at(h, m int) time.Time {
	return shiftStart.Add(time.Duration(h-6)*time.Hour + time.Duration(m)*time.Minute)
}

// usualCloud are n scores of known-good spectra from runs that differ.
func usualCloud(n int, seed uint64) []Point {
	r := rand.New(rand.NewPCG(seed, 1))
	pts := make([]Point, 0, n)
	var cx, cy float64
	for i := range n {
		if i%(n/12+1) == 0 {
			cx, cy = 0.018*r.NormFloat64(), 0.007*r.NormFloat64()
		}
		pts = append(pts, Point{cx + 0.012*r.NormFloat64(), cy + 0.006*r.NormFloat64() + 0.15*cx})
	}
	return pts
}

// drifted is how far the oil pump has faded, 0 before 11:20 and 1 at 14:00.
func drifted(t time.Time) float64 {
	return math.Max(0, t.Sub(at(11, 20)).Hours()/at(14, 0).Sub(at(11, 20)).Hours())
}

func condition(t time.Time) string {
	switch {
	case t.Before(at(6, 22)):
		return "rinse"
	case t.Before(at(6, 41)):
		return "start-up"
	case !t.Before(at(9, 10)) && t.Before(at(9, 14)):
		return "air"
	}
	return ""
}

func stopped(t time.Time) bool { return !t.Before(at(9, 14)) && t.Before(at(9, 47)) }

// shift returns the readings and scores of the shift, a spectrum every pace.
func shift(pace time.Duration) (readings []Reading, marks []Mark) {
	r := rand.New(rand.NewPCG(3, 7))
	var wx, wy, wd float64
	for t := shiftStart; t.Before(at(14, 0)); t = t.Add(pace) {
		if stopped(t) {
			continue
		}
		wx, wy, wd = 0.995*wx+0.0011*r.NormFloat64(), 0.995*wy+0.0006*r.NormFloat64(), 0.995*wd+0.012*r.NormFloat64()
		d := drifted(t)
		m := Mark{X: 0.006 + wx + 0.006*r.NormFloat64() - 0.10*d, Y: wy + 0.003*r.NormFloat64() + 0.055*d*d}
		dist := 0.55 + wd + 0.09*math.Abs(r.NormFloat64()) + 1.9*d + 0.25*d*r.NormFloat64()
		switch condition(t) {
		case "rinse":
			m.X, m.Y, dist = -1.5+0.01*r.NormFloat64(), 0.4+0.01*r.NormFloat64(), 60+4*r.NormFloat64()
		case "start-up":
			f := t.Sub(at(6, 22)).Minutes() / 19
			m.X, m.Y, dist = -0.25*(1-f)+0.01*r.NormFloat64(), 0.05*(1-f)+0.005*r.NormFloat64(), 30*math.Exp(-4*f)+0.5+0.1*r.NormFloat64()
		case "air":
			m.X, m.Y, dist = 2.4, -0.9, 410+9*r.NormFloat64()
		}
		if condition(t) != "" {
			m.Kind = Elsewhere
		} else if dist > 1 {
			m.Kind = Outside
		}
		marks = append(marks, m)
		readings = append(readings, Reading{t, math.Abs(dist), m.Kind})
	}
	return readings, marks
}

func sampleScore(pace time.Duration) ScorePlot {
	_, marks := shift(pace)
	return ScorePlot{
		XLabel: "score t₁ (62 % of usual variation)", YLabel: "score t₂ (21 %)",
		Usual: usualCloud(4000, 5), Limit: &Ellipse{0, 0, 0.071, 0.027, 0.12},
		Clusters: []Cluster{
			{"start-up", Ellipse{-0.13, 0.03, 0.09, 0.02, -0.2}}, {"rinse", Ellipse{-1.5, 0.4, 0.05, 0.03, 0}},
			{"air", Ellipse{2.4, -0.9, 0.1, 0.1, 0}},
		},
		Period: marks, First: at(6, 0), Last: at(14, 0),
	}
}

func sampleDistance(pace time.Duration) DistancePlot {
	readings, _ := shift(pace)
	return DistancePlot{
		From: at(6, 0), To: at(14, 0), Readings: readings,
		Episodes:   []Span{{From: at(11, 41), Name: "changed, since about 11:20"}},
		Conditions: []Span{{From: at(6, 0), To: at(6, 22), Name: "rinse"}, {From: at(6, 22), To: at(6, 41), Name: "start-up"}, {From: at(9, 10), To: at(9, 14), Name: "air"}},
		Gaps:       []Span{{From: at(9, 14), To: at(9, 47)}},
	}
}

// sampleTooLong is a shift in which a rinse of 20 minutes goes on for an hour.
func sampleTooLong() DistancePlot {
	c := sampleDistance(time.Second)
	c.Size, c.Episodes = Full, []Span{{From: at(12, 22), To: at(13, 0), Name: "changed, since about 12:00"}}
	for i, r := range c.Readings {
		switch {
		case r.Time.Before(at(11, 20)):
		case r.Time.Before(at(12, 0)) || !r.Time.Before(at(13, 0)):
			c.Readings[i] = Reading{r.Time, 0.55 + 0.1*math.Sin(float64(i)), Inside}
		case r.Time.Before(at(12, 20)):
			c.Readings[i] = Reading{r.Time, 38 + math.Sin(float64(i)), Elsewhere}
		default:
			c.Readings[i] = Reading{r.Time, 38 + math.Sin(float64(i)), Outside}
		}
	}
	c.Conditions = append(c.Conditions, Span{From: at(12, 0), To: at(12, 20), Name: "rinse"}, Span{From: at(12, 20), To: at(13, 0), Name: "rinse", Over: true})
	return c
}

func bell(x, at, width, height float64) float64 {
	return height * math.Exp(-0.5*math.Pow((x-at)/width, 2))
}

// sampleAxis are 512 channels from 900 to 1700 nm.
func sampleAxis() Axis {
	a := Axis{Unit: "nm"}
	for i := range 512 {
		a.At = append(a.At, 900+800*float64(i)/511)
	}
	return a
}

func sampleSpectrum() SpectrumPlot {
	c := SpectrumPlot{Axis: sampleAxis(), Quantity: "absorbance", PeriodName: "this shift", DiffQuantity: "difference after SNV"}
	for i, x := range c.Axis.At {
		u := 0.12 + bell(x, 970, 25, 0.12) + bell(x, 1190, 40, 0.3) + bell(x, 1450, 45, 1.25) + bell(x, 1210, 14, 0.05) + bell(x, 1680, 60, 0.18)
		d := -bell(x, 1210, 12, 0.019) - bell(x, 926, 10, 0.006) + bell(x, 1450, 30, 0.011) - bell(x, 1395, 14, 0.004)
		b := 0.004 + 0.003*math.Pow((x-1300)/400, 4) + bell(x, 1450, 40, 0.005)
		c.Usual = append(c.Usual, u)
		c.Sigma = append(c.Sigma, 0.02+0.01*u)
		c.Period = append(c.Period, u+d*2+0.012)
		c.Difference = append(c.Difference, d+0.0006*math.Sin(float64(i)*1.7))
		c.Band = append(c.Band, b)
	}
	c.Regions = append(c.Regions, []Region{
		{960, 980, "O–H"}, {1180, 1200, "O–H"}, {1440, 1460, "O–H"}, {1930, 1940, "O–H"}, {1400, 1600, "O–H"},
		{900, 930, "C–H"}, {1150, 1215, "C–H"}, {1690, 1780, "C–H"}, {1020, 1050, "N–H"}, {1480, 1570, "N–H"},
	}...)
	return c
}

func sampleGroups() GroupsPlot {
	sp := sampleSpectrum()
	c := GroupsPlot{Axis: sp.Axis, Band: sp.Band, Groups: []GroupMean{{Name: "group 2026-11-25 A", Difference: sp.Difference}, {Name: "group 2026-11-25 B"}}}
	for i, x := range sp.Axis.At {
		c.Groups[1].Difference = append(c.Groups[1].Difference, 0.4*sp.Band[i]-bell(x, 1450, 60, 0.12))
	}
	return c
}

func sampleReach() ReachPlot {
	sp := sampleSpectrum()
	c := ReachPlot{Axis: sp.Axis, Usual: sp.Usual, Quantity: "absorbance", Places: Axis{Unit: "nm"}, Height: "smallest band seen, mAU"}
	for x := 910.0; x < 1700; x += 20 {
		c.Places.At = append(c.Places.At, x)
		h := 1.2 + 5*math.Pow((x-1300)/400, 4) + bell(x, 1450, 40, 4)
		if x > 1655 {
			h = math.Inf(1)
		}
		c.Smallest = append(c.Smallest, h)
	}
	return c
}

func sampleChoice() ChoicePlot {
	return ChoicePlot{Carried: []float64{62, 21, 8.1, 3.9, 1.2, 0.7, 0.45, 0.31, 0.2, 0.16},
		LeftOver: []float64{41, 19.5, 9.2, 4.9, 4.6, 4.55, 4.6, 4.8, 5.1, 5.3}, K: 4}
}

func sampleSpread() SpreadPlot {
	c := SpreadPlot{ThisName: "this week", ThatName: "last week"}
	r := rand.New(rand.NewPCG(9, 9))
	for range 5000 {
		c.This = append(c.This, math.Abs(0.72+0.2*r.NormFloat64()))
		c.That = append(c.That, math.Abs(0.55+0.13*r.NormFloat64()))
	}
	return c
}

func sampleTwoPeriods() ScorePlot {
	c := sampleScore(20 * time.Second)
	c.First, c.Last = time.Time{}, time.Time{}
	c.PeriodName, c.SecondName = "today", "last week"
	for _, q := range usualCloud(2500, 21) {
		c.Second = append(c.Second, Point{q.X*0.7 + 0.012, q.Y*0.7 - 0.004})
	}
	return c
}

// sampleWeek is a week of a spectrum every minute.
func sampleWeek() DistancePlot {
	c := DistancePlot{From: shiftStart.Add(-6 * time.Hour), Size: Full}
	c.To = c.From.AddDate(0, 0, 7)
	r := rand.New(rand.NewPCG(4, 4))
	w := 0.0
	for t := c.From; t.Before(c.To); t = t.Add(time.Minute) {
		w = 0.999*w + 0.008*r.NormFloat64()
		c.Readings = append(c.Readings, Reading{t, math.Abs(0.6 + w + 0.08*r.NormFloat64()), Inside})
	}
	from := c.From.Add(60 * time.Hour)
	for i := range c.Readings {
		if t := c.Readings[i].Time; t.After(from) && t.Before(from.Add(5*time.Hour)) {
			c.Readings[i].Distance += 14
			c.Readings[i].Kind = Outside
		}
	}
	c.Episodes = []Span{{From: from, To: from.Add(5 * time.Hour), Name: "changed"}}
	return c
}
