package oatline

import (
	"testing"
	"time"
)

// checkOrder fails where two stretches overlap, stand in the wrong order or share a name.
func checkOrder(t *testing.T, ss []Stretch) {
	t.Helper()
	names := map[string]bool{}
	for i, s := range ss {
		if i > 0 && s.From.Before(ss[i-1].To()) {
			t.Errorf("stretch %q begins at %v, before %q ends at %v", s.Run, s.From, ss[i-1].Run, ss[i-1].To())
		}
		if names[s.Run] {
			t.Errorf("two stretches are called %q", s.Run)
		}
		names[s.Run] = true
	}
}

func TestDemoPlan(t *testing.T) {
	p := Demo(PlanOptions{})
	checkOrder(t, append(append([]Stretch(nil), p.Learn...), p.Watch...))
	if n := Count(p.Learn); n < 5000 || n > 10000 {
		t.Errorf("the demo learns from %d spectra, want 5,000 to 10,000", n)
	}
	for _, c := range []struct {
		condition    string
		learn, watch int
	}{{InUse, 21, 3}, {Rinse, 28, 4}, {StartUp, 21, 3}, {Air, 7, 1}} {
		if got := len(Of(c.condition, p.Learn)); got != c.learn {
			t.Errorf("%s: %d stretches to learn from, want %d", c.condition, got, c.learn)
		}
		if got := len(Of(c.condition, p.Watch)); got != c.watch {
			t.Errorf("%s: %d stretches to watch, want %d", c.condition, got, c.watch)
		}
	}
	if first, last := p.Watch[0].From, p.Watch[len(p.Watch)-1].To(); first.Hour() != 5 || last.After(first.Truncate(24*time.Hour).Add(14*time.Hour)) {
		t.Errorf("the day to watch goes from %v to %v, want from before 06:00 to 14:00 at the latest", first, last)
	}
	upsets := map[Kind]int{}
	for _, s := range p.Watch {
		for _, u := range s.Upsets {
			upsets[u.Kind]++
			if begin, end := s.From.Add(u.After), s.From.Add(u.After+u.For); begin.Hour() < 6 || end.After(s.To().Add(-10*time.Minute)) {
				t.Errorf("%q: the upset lasts from %v to %v of a stretch that ends at %v; want it within the day shift, and usual production after it", s.Run, begin, end, s.To())
			}
		}
	}
	if upsets[Dilution] != 2 || upsets[OilPump] != 1 {
		t.Errorf("upsets of the day to watch: %v, want two dilutions and an oil pump", upsets)
	}
	for _, s := range p.Learn {
		if len(s.Upsets) > 0 {
			t.Errorf("a stretch to learn from, %q, has an upset", s.Run)
		}
	}
}

func TestSpectraOfAPlan(t *testing.T) {
	l, err := New(Settings{})
	if err != nil {
		t.Fatal(err)
	}
	p := Demo(PlanOptions{Days: 1, Every: 5 * time.Minute})
	n, last := 0, time.Time{}
	for s, err := range l.Spectra(p.Learn) {
		if err != nil {
			t.Fatal(err)
		}
		if !s.Time.After(last) {
			t.Errorf("spectrum %d is of %v, the one before it of %v", n, s.Time, last)
		}
		last = s.Time
		n++
	}
	if want := Count(p.Learn); n != want {
		t.Errorf("Spectra gave %d, want the %d of the plan", n, want)
	}
	n = 0
	for _, err := range l.Spectra([]Stretch{p.Learn[0], {Run: "none"}, p.Learn[1]}) {
		if n++; (err != nil) != (n == p.Learn[0].N+1) || n > p.Learn[0].N+1 {
			t.Fatalf("thing %d that Spectra gave: error %v; want one, after the %d spectra of the stretch before, and nothing more", n, err, p.Learn[0].N)
		}
	}
}

// A plan in a time zone keeps its hours there, also on the day on which clocks change.
func TestPlanInAZone(t *testing.T) {
	zone := time.FixedZone("site", 3600)
	p := Demo(PlanOptions{First: time.Date(2026, 3, 1, 0, 0, 0, 0, zone), Days: 2, Every: time.Minute})
	if got := p.Learn[0].From.Format(time.RFC3339); got != "2026-03-01T06:00:00+01:00" {
		t.Errorf("the first stretch begins at %s, want 06:00 at the site", got)
	}
	if got := p.Watch[0].From.Format(time.RFC3339); got != "2026-03-03T05:40:00+01:00" {
		t.Errorf("the day to watch begins at %s, want 05:40 at the site, two days later", got)
	}
}

func TestScenarios(t *testing.T) {
	for _, k := range Kinds() {
		u := Usual(k, time.Hour)
		p := Scenario(PlanOptions{Days: 1, Every: time.Minute}, u)
		if len(p.Watch) != 1 || p.Watch[0].N != 180 {
			t.Errorf("%v: watch %+v, want one run of 180 spectra", k, p.Watch)
			continue
		}
		with := series(t, still(), p.Watch[0])
		without := series(t, still(), Scenario(PlanOptions{Days: 1, Every: time.Minute}).Watch[0])
		if k == MoreNoise { // a still line has no noise to grow
			continue
		}
		differ := func(i int) bool {
			a, b := with.At(i).Values, without.At(i).Values
			for j := range a {
				if a[j] != b[j] {
					return true
				}
			}
			return false
		}
		if differ(59) || !differ(62) {
			t.Errorf("%v after an hour: differs at 59 min %v, at 62 min %v; want it only after", k, differ(59), differ(62))
		}
	}
}
