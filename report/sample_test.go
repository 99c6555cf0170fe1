package report

import (
	"math"
	"math/rand/v2"
	"time"

	"asusual/model/finding"
	"asusual/model/spectrum"
	"asusual/report/chart"
)

// The reports of these tests are of an invented oat-drink line, "Filler 3", with invented numbers.

// shiftZone is an hour ahead of UTC and needs no table of time zones.
var shiftZone = time.FixedZone("CET", 3600)

func at(h, m int) time.Time { return time.Date(2026, 11, 25, h, m, 0, 0, shiftZone) }

const nasty = `oat<img onerror="alert(1)" src=x>.csv`

func bell(x, at, width, height float64) float64 {
	return height * math.Exp(-0.5*math.Pow((x-at)/width, 2))
}

// drift is how far the invented oil pump has faded.
func drift(t time.Time, changed bool) float64 {
	if !changed {
		return 0
	}
	return math.Max(0, t.Sub(at(11, 20)).Hours()/2.67)
}

func sampleHandover(changed bool) Handover {
	h := Handover{
		Line: "Filler 3", Shift: "day", From: at(6, 0), To: at(14, 0), Zone: shiftZone,
		Verdict: AsUsual, Last: 0.58, Peak: 0.97, PeakAt: at(8, 12), Typical: 0.56, Inside: 2508, Expected: 2511,
		Reference: Reference{Name: "line.reference", Fingerprint: "7c1e 09ab 44d2", Learned: time.Date(2026, 10, 30, 9, 0, 0, 0, shiftZone),
			Runs: 14, Hours: 103.5, Promise: "1 per 30 days"},
		Instrument: Instrument{State: "fit", Checks: []Check{
			{"dark level", 0.0021, 0.01, "", at(6, 2), true, false}, {"noise at 1100 nm", 31, 80, "µA", at(6, 2), true, false},
			{"wavelength standard", 0.3, 1, "nm", at(6, 2), true, false},
		}},
		Complete: Completeness{Received: 2690, Judged: 2686, Unfit: 1, Unreadable: 3, Files: []Unreadable{
			{nasty, "line 12: 498 values, the axis has 512", at(7, 3), 0},
			{"oat-20261125-090312.csv", "is empty", at(9, 3), 0}, {"oat-20261125-121904.csv", "is a picture", at(12, 19), 0},
		}, Gaps: []chart.Span{{From: at(9, 14), To: at(9, 47)}}},
		Conditions: []Stay{
			{Condition: "usual", Time: 6*time.Hour + 43*time.Minute, Spectra: 2511, Times: 2}, {Condition: "rinse", Time: 22 * time.Minute, Spectra: 132, Times: 1},
			{Condition: "start-up", Time: 19 * time.Minute, Spectra: 114, Times: 1}, {Condition: "air", Time: 4 * time.Minute, Spectra: 24, Times: 1},
		},
	}
	h.Distance, h.Scores = sampleCourse(changed)
	h.Spectrum = sampleMeans(changed)
	m := h.Scores
	m.XLabel, m.YLabel = chart.English.MapLabel(1), chart.English.MapLabel(2)
	h.Map = &m
	if !changed {
		return h
	}
	h.Verdict, h.Since, h.Last, h.Peak, h.PeakAt, h.Inside = Changed, at(11, 20), 2.4, 3.3, at(13, 52), 1730
	before := []Seen{{"group 2026-11-12 A", time.Date(2026, 11, 12, 14, 5, 0, 0, shiftZone), time.Date(2026, 11, 12, 14, 40, 0, 0, shiftZone)}}
	h.Episodes = []Episode{{From: at(11, 41), ChangedSince: at(11, 20), Spectra: 810, Peak: 3.3, Group: "group 2026-11-25 A", Seen: before}}
	h.Acts = []Act{{Time: at(11, 41), What: "raised", State: "unacknowledged"},
		{Time: at(11, 58), What: "acknowledged", Who: "Ada " + nasty, Why: "oil pump is looked at", State: "acknowledged"},
		{Time: at(12, 10), What: "shelved", Who: "Ada", Why: "trial", Until: at(12, 40), State: "acknowledged", Refused: "the alarm is not there"}}
	h.Groups = []Group{{Name: "group 2026-11-25 A", First: at(11, 44), Last: at(14, 0), Spectra: 771, Seen: before, Distance: 2.61, Most: []float64{1210, 926}, Unit: "nm"}}
	h.Means = &chart.GroupsPlot{Axis: h.Spectrum.Axis, Band: h.Spectrum.Band, Groups: []chart.GroupMean{{Name: "group 2026-11-25 A", Difference: h.Spectrum.Difference}}}
	h.Reasons = []finding.Finding{finding.Of(finding.AboveQ, "", 0.00041, 0.00013)}
	return h
}

// sampleCourse is a spectrum every half minute.
func sampleCourse(changed bool) (chart.DistancePlot, chart.ScorePlot) {
	r := rand.New(rand.NewPCG(3, 7))
	d := chart.DistancePlot{
		Conditions: []chart.Span{{From: at(6, 0), To: at(6, 22), Name: "rinse"}, {From: at(6, 22), To: at(6, 41), Name: "start-up"}, {From: at(9, 10), To: at(9, 14), Name: "air"}}}
	s := chart.ScorePlot{XLabel: chart.English.ScoreLabel(1, 0.62), YLabel: chart.English.ScoreLabel(2, 0.21),
		Limit: &chart.Ellipse{A: 0.071, B: 0.027, Angle: 0.12}, First: at(6, 0), Last: at(14, 0),
		Clusters: []chart.Cluster{{Name: "start-up", Ellipse: chart.Ellipse{X: -0.13, Y: 0.03, A: 0.09, B: 0.02, Angle: -0.2}},
			{Name: "rinse", Ellipse: chart.Ellipse{X: -1.5, Y: 0.4, A: 0.05, B: 0.03}}, {Name: "air", Ellipse: chart.Ellipse{X: 2.4, Y: -0.9, A: 0.1, B: 0.1}}}}
	for range 600 {
		x := 0.02 * r.NormFloat64()
		s.Usual = append(s.Usual, chart.Point{X: x, Y: 0.009*r.NormFloat64() + 0.15*x})
	}
	var wx, wy, wd float64
	for t := at(6, 0); t.Before(at(14, 0)); t = t.Add(30 * time.Second) {
		if !t.Before(at(9, 14)) && t.Before(at(9, 47)) {
			continue
		}
		wx, wy, wd = 0.94*wx+0.005*r.NormFloat64(), 0.94*wy+0.0026*r.NormFloat64(), 0.92*wd+0.036*r.NormFloat64()
		f := drift(t, changed)
		m := chart.Mark{X: 0.006 + wx - 0.1*f, Y: wy + 0.055*f*f}
		dist := math.Abs(0.53 + wd + 0.07*math.Abs(r.NormFloat64()) + 1.9*f + 0.2*f*r.NormFloat64())
		switch {
		case t.Before(at(6, 22)):
			m, dist = chart.Mark{X: -1.5 + 0.01*r.NormFloat64(), Y: 0.4 + 0.01*r.NormFloat64(), Kind: chart.Elsewhere}, 60
		case t.Before(at(6, 41)):
			g := t.Sub(at(6, 22)).Minutes() / 19
			m, dist = chart.Mark{X: -0.25 * (1 - g), Y: 0.05*(1-g) + 0.004*r.NormFloat64(), Kind: chart.Elsewhere}, 30*math.Exp(-4*g)+0.5
		case !t.Before(at(9, 10)) && t.Before(at(9, 14)):
			m, dist = chart.Mark{X: 2.4, Y: -0.9, Kind: chart.Elsewhere}, 410
		case dist > 1:
			m.Kind = chart.Outside
		}
		s.Period = append(s.Period, m)
		d.Readings = append(d.Readings, chart.Reading{Time: t, Distance: dist, Kind: m.Kind})
	}
	return d, s
}

func sampleMeans(changed bool) chart.SpectrumPlot {
	c := chart.SpectrumPlot{Axis: chart.Axis{Unit: "nm"}, Quantity: "absorbance", DiffQuantity: "difference after SNV",
		Regions: Bonds(spectrum.Nanometre)}
	f := 0.12
	if changed {
		f = 1
	}
	for i := range 256 {
		x := 900 + 800*float64(i)/255
		u := 0.12 + bell(x, 970, 25, 0.12) + bell(x, 1190, 40, 0.3) + bell(x, 1450, 45, 1.25) + bell(x, 1210, 14, 0.05) + bell(x, 1680, 60, 0.18)
		d := f * (-bell(x, 1210, 12, 0.019) - bell(x, 926, 10, 0.007) + bell(x, 1450, 30, 0.011) - bell(x, 1395, 14, 0.004))
		c.Axis.At = append(c.Axis.At, x)
		c.Usual = append(c.Usual, u)
		c.Sigma = append(c.Sigma, 0.02+0.01*u)
		c.Period = append(c.Period, u+2*d+0.012)
		c.Difference = append(c.Difference, d+0.0006*math.Sin(float64(i)*0.4))
		c.Band = append(c.Band, 0.004+0.003*math.Pow((x-1300)/400, 4)+bell(x, 1450, 40, 0.005))
	}
	return c
}

func samplePeriodCompare() Compare {
	h := sampleHandover(true)
	c := Compare{
		Line: "Filler 3", Zone: shiftZone,
		This:    Period{"today", "", at(6, 0), at(14, 0), 2511, 1730, 2, 0.61},
		That:    Period{"last week", "", at(6, 0).AddDate(0, 0, -9), at(14, 0).AddDate(0, 0, -5), 12840, 12790, 11, 0.55},
		Verdict: Changed, Effect: 2.8, Low: 1.9, High: 3.6, Witnesses: 13, FalseAlarms: 0.013, Reference: h.Reference,
		Conditions: []Share{{"usual", 6*time.Hour + 43*time.Minute, 34 * time.Hour}, {"rinse", 22 * time.Minute, 110 * time.Minute}},
		Scores:     h.Scores, Spectrum: h.Spectrum,
	}
	c.Spectrum.Sigma = nil
	c.Spectrum.UsualName, c.Spectrum.PeriodName, c.Spectrum.DiffQuantity, c.Spectrum.BandName = "last week", "today", "difference", "95 % of chance"
	r := rand.New(rand.NewPCG(1, 2))
	for range 3000 {
		x := 0.014 * r.NormFloat64()
		c.Scores.Second = append(c.Scores.Second, chart.Point{X: 0.01 + x, Y: 0.007*r.NormFloat64() - 0.003})
		c.Distances.That = append(c.Distances.That, math.Abs(0.55+0.12*r.NormFloat64()))
	}
	for _, d := range h.Distance.Readings {
		if d.Kind != chart.Elsewhere {
			c.Distances.This = append(c.Distances.This, d.Distance)
		}
	}
	return c
}

func sampleCard() Card {
	h := sampleHandover(false)
	c := Card{
		Line: "Filler 3", Name: "line.reference", Fingerprint: "7c1e 09ab 44d2", Version: 2, Zone: shiftZone,
		Learned: time.Date(2026, 10, 30, 9, 0, 0, 0, shiftZone), Axis: "256 channels, 900–1700 nm",
		Pretreatment: "SNV, then 1st derivative (15 nm, degree 2)", K: 4, Promise: "1 per 30 days", Hours: 103.5, Blocks: 14, Extrapolated: true,
		Tried: []Try{{"no pretreatment", 3.1, 5, false}, {"SNV", 1.4, 4, false}, {"SNV, then 1st derivative (15 nm, degree 2)", 1, 4, true}},
		Limits: []Limit{
			{"T²", 19.4, []Textbook{{"F distribution", 13.41, 0.062}, {"χ² distribution", 13.28, 0.064}}},
			{"Q residual", 0.000131, []Textbook{{"Jackson and Mudholkar", 0.0000604, 0.31}, {"Box", 0.0000611, 0.3}}},
		},
		LeftOut:    []LeftOut{{"run 2026-10-17-night", 480, []finding.Finding{finding.Of(finding.AboveQ, "", 0.0031, 0.000131)}}, {nasty, 1, nil}},
		Conditions: []CardCondition{{"usual", 5200, 14, nil}, {"rinse", 620, 9, nil}, {"start-up", 410, 9, nil}, {"air", 88, 6, nil}},
		Confusion: Confusion{[]string{"usual", "rinse", "start-up", "air"}, []string{"usual", "rinse", "start-up", "air", "uncharted"},
			[][]int{{5143, 0, 22, 0, 35}, {0, 611, 0, 0, 9}, {31, 0, 370, 0, 9}, {0, 0, 0, 88, 0}}},
		Map: h.Map, ReachWhat: "nine times in ten within 30 spectra",
		Smallest: []Smallest{{"band at its best place", 1.2, "mAU", 50 * time.Second}, {"offset", 14, "mAU", 80 * time.Second},
			{"slope", math.Inf(1), "mAU", 0}, {"axis shift", 0.11, "nm", 70 * time.Second}, {"noise", 2.1, "times as much", 100 * time.Second}},
		Choice: chart.ChoicePlot{Carried: []float64{62, 21, 8.1, 3.9, 1.2, 0.7, 0.45, 0.31}, LeftOver: []float64{41, 19.5, 9.2, 4.9, 4.6, 4.55, 4.6, 4.8}, K: 4},
	}
	for i := range 14 {
		from := time.Date(2026, 10, 10+i, 6, 0, 0, 0, shiftZone)
		c.Runs = append(c.Runs, CardRun{"run " + from.Format("2006-01-02") + "-day", from, from.Add(7*time.Hour + 24*time.Minute), 371, 0})
	}
	c.Reach = chart.ReachPlot{Axis: h.Spectrum.Axis, Usual: h.Spectrum.Usual, Quantity: "absorbance", Places: chart.Axis{Unit: "nm"}, Height: "smallest band seen, mAU"}
	for x := 910.0; x < 1700; x += 20 {
		c.Reach.Places.At = append(c.Reach.Places.At, x)
		v := 1.2 + 5*math.Pow((x-1300)/400, 4) + bell(x, 1450, 40, 4)
		if x > 1655 {
			v = math.Inf(1)
		}
		c.Reach.Smallest = append(c.Reach.Smallest, v)
	}
	return c
}

// sampleIndex has three shifts a day on two lines, the last of them on 25 November.
func sampleIndex(days int) Index {
	r := rand.New(rand.NewPCG(6, 6))
	x := Index{Site: "Oat works, invented", Zone: shiftZone}
	for _, name := range []string{"Filler 3", "Filler 4 " + nasty} {
		ln := IndexLine{Name: name}
		for d := range days {
			for s, shift := range []string{"night", "day", "evening"} {
				from := time.Date(2026, 11, 25-d, 8*s-2, 0, 0, 0, shiftZone)
				e := IndexShift{Name: shift, From: from, To: from.Add(8 * time.Hour), Verdict: AsUsual,
					Href: from.Format("2006-01-02") + "/" + shift + "/handover.html"}
				switch r.IntN(23) {
				case 0:
					e.Verdict = Changed
				case 1:
					e.Verdict = CannotSay
				}
				for i := range 48 {
					v := 0.55 + 0.15*r.NormFloat64()
					if e.Verdict == Changed && i > 20 {
						v += float64(i-20) * 0.08
					}
					if e.Verdict == CannotSay && i > 9 {
						v = math.NaN()
					}
					e.Strip = append(e.Strip, math.Abs(v))
				}
				ln.Shifts = append(ln.Shifts, e)
			}
		}
		x.Lines = append(x.Lines, ln)
	}
	return x
}
