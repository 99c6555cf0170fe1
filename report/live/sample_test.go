package live

import (
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"asusual/model/finding"
	"asusual/report"
	"asusual/report/chart"
)

// The line of these tests is an invented oat-drink line, "Filler 3", with invented numbers.

var zone = time.FixedZone("CET", 3600) // needs no table of time zones

func at(h, m int) time.Time { return time.Date(2026, 11, 25, h, m, 0, 0, zone) }

const nasty = `<img src=x onerror="alert(1)">`

func bell(x, at, width, height float64) float64 {
	return height * math.Exp(-0.5*math.Pow((x-at)/width, 2))
}

// sampleUsual is what a reference of 256 channels knows.
func sampleUsual() Usual {
	r := rand.New(rand.NewPCG(3, 7))
	u := Usual{
		Reference: report.Reference{Name: "line.reference", Fingerprint: "7c1e09ab44d2", Learned: time.Date(2026, 10, 30, 9, 0, 0, 0, zone), Runs: 14, Hours: 103.5,
			Promise: "1 per 30 days"},
		Limit: &chart.Ellipse{A: 0.071, B: 0.027, Angle: 0.12}, Carried: [2]float64{0.62, 0.21}, Axis: chart.Axis{Unit: "nm"}, Typical: 0.56,
		Conditions: []chart.Cluster{{Name: "start-up", Ellipse: chart.Ellipse{X: -0.13, Y: 0.03, A: 0.09, B: 0.02, Angle: -0.2}},
			{Name: "rinse", Ellipse: chart.Ellipse{X: -1.5, Y: 0.4, A: 0.05, B: 0.03}}},
	}
	for range 600 {
		x := 0.02 * r.NormFloat64()
		u.Scores = append(u.Scores, chart.Point{X: x, Y: 0.009*r.NormFloat64() + 0.15*x})
	}
	for i := range 256 {
		x := 900 + 800*float64(i)/255
		v := 0.12 + bell(x, 970, 25, 0.12) + bell(x, 1190, 40, 0.3) + bell(x, 1450, 45, 1.25) + bell(x, 1680, 60, 0.18)
		u.Axis.At, u.Mean, u.SD = append(u.Axis.At, x), append(u.Mean, v), append(u.SD, 0.004+0.006*v)
	}
	return u
}

// sampleReading is the spectrum at a time; changed is how far the invented oil pump has faded, from 0.
func sampleReading(r *rand.Rand, u Usual, t time.Time, changed float64) Reading {
	d := math.Abs(0.53+0.09*r.NormFloat64()+1.9*changed) + 0.02
	out := Reading{Time: t, Distance: d, Inside: d <= 1, Condition: "usual",
		Score: chart.Point{X: 0.006 + 0.015*r.NormFloat64() - 0.06*changed, Y: 0.007*r.NormFloat64() + 0.03*changed*changed}}
	if !out.Inside {
		out.Condition = "uncharted"
	}
	for i, x := range u.Axis.At {
		out.Absorbance = append(out.Absorbance, u.Mean[i]+changed*(bell(x, 1450, 30, 0.024)-bell(x, 1210, 14, 0.03))+0.001*r.NormFloat64())
	}
	return out
}

// sampleSite is a site with an hour behind it, a spectrum every 10 seconds; its clock stands at the newest.
func sampleSite(t *testing.T, o Options, changed bool, now time.Time) *Site {
	t.Helper()
	if o.Lines == nil {
		o.Lines = []string{"Filler 3"}
	}
	if o.Now == nil {
		o.Now = func() time.Time { return now.Add(4 * time.Second) }
	}
	o.Site, o.Zone = "Oat works, invented", zone
	s, err := New(o)
	if err != nil {
		t.Fatal(err)
	}
	u, r := sampleUsual(), rand.New(rand.NewPCG(1, 2))
	for _, name := range o.Lines {
		l := s.Line(name)
		l.Know(u)
		for at := now.Add(-window); !at.After(now); at = at.Add(10 * time.Second) {
			age := now.Sub(at).Minutes()
			if age > 38 && age < 44 {
				continue // nobody measured
			}
			f := 0.0
			if changed {
				f = max(0, (24-age)/24)
			}
			one := sampleReading(r, u, at, f)
			if age > 56 {
				one.Inside, one.Condition, one.Distance, one.Score = false, "start-up", 3*(age-55), chart.Point{X: -0.12 + 0.02*r.NormFloat64(), Y: 0.03}
			}
			l.Add(one)
		}
		st := Standing{Verdict: report.AsUsual, Since: at(6, 41), Instrument: report.Instrument{State: "fit"}}
		if changed {
			st.Verdict, st.Since, st.ChangedSince, st.Group = report.Changed, now.Add(-17*time.Minute), now.Add(-24*time.Minute), "group 2026-11-25 A"
			st.Alarm = report.Alarm{State: "unacknowledged", Since: now.Add(-17 * time.Minute)}
			st.Reasons = []finding.Finding{finding.Of(finding.AboveQ, "", 0.00041, 0.00013)}
			st.Groups = []report.Group{{Name: "group 2026-11-24 " + nasty, First: at(2, 10), Last: at(2, 40), Spectra: 31},
				{Name: "group 2026-11-25 A", First: now.Add(-16 * time.Minute), Last: now, Spectra: 97, Seen: []report.Seen{{Where: "group 2026-11-12 A",
					From: time.Date(2026, 11, 12, 14, 5, 0, 0, zone), To: time.Date(2026, 11, 12, 14, 40, 0, 0, zone)}}}}
		}
		l.Set(st)
	}
	return s
}
