package condition

import (
	"bytes"
	"encoding/json"
	"math"
	"math/rand/v2"
	"testing"
	"time"
)

var start = time.Date(2026, 11, 25, 14, 5, 0, 0, time.UTC)

const places = 30 // of a signature: 6 scores and 24 bands

// cloud yields signatures with a variance of 1 around a centre.
type cloud struct {
	rng    *rand.Rand
	centre []float64
}

func newCloud(seed uint64, centre ...float64) cloud {
	c := cloud{rand.New(rand.NewPCG(seed, 1)), make([]float64, places)}
	copy(c.centre, centre)
	return c
}

func (c cloud) next() []float64 {
	y := make([]float64, places)
	for i := range y {
		y[i] = c.centre[i] + c.rng.NormFloat64()
	}
	return y
}

func TestGroupsFindPlaces(t *testing.T) {
	oil, water := newCloud(1, 0, 12), newCloud(2, -9, 0, 0, 14)
	var g Groups
	for i := range 60 {
		g.Add(oil.next(), nil, start.Add(time.Duration(2*i)*time.Second))
		g.Add(water.next(), nil, start.Add(time.Duration(2*i+1)*time.Second))
	}
	if len(g.Open) != 2 {
		t.Fatalf("Add: %d groups, want 2", len(g.Open))
	}
	for i, want := range []string{"group 2026-11-25 A", "group 2026-11-25 B"} {
		one := g.Open[i]
		if one.Name != want || one.Spectra < 58 || one.Seen != "" {
			t.Errorf("group %d = %s with %d spectra, seen %q; want %s with about 60, never seen", i, one.Name, one.Spectra, one.Seen, want)
		}
	}
}

func TestGroupsForgetStrays(t *testing.T) {
	rng := rand.New(rand.NewPCG(4, 4))
	var g Groups
	for i := range 500 {
		y := make([]float64, places)
		for j := range y {
			y[j] = 20 * rng.NormFloat64() // each lies somewhere else
		}
		if group, _ := g.Add(y, nil, start.Add(time.Duration(i)*time.Second)); group != nil {
			t.Fatalf("Add(stray %d) = %s, want no group", i, group.Name)
		}
	}
	if len(g.Spots) > maxSpots {
		t.Errorf("%d spots remembered, want at most %d", len(g.Spots), maxSpots)
	}
}

// TestGroupsFollowADrift: what moves away step by step is one group, not one for every step.
func TestGroupsFollowADrift(t *testing.T) {
	c := newCloud(6)
	var g Groups
	for i := range 600 {
		c.centre[2] = 6 + float64(i)/10
		g.Add(c.next(), nil, start.Add(time.Duration(i)*time.Second))
	}
	if len(g.Open) != 1 {
		t.Errorf("a drift from 6 to 66: %d groups, want 1", len(g.Open))
	}
	if n := len(g.Open[0].Spots); n > perGroup {
		t.Errorf("a drift: %d spots, want at most %d", n, perGroup)
	}
}

func TestGroupsSeenBefore(t *testing.T) {
	oil, water := newCloud(1, 0, 12), newCloud(2, -9, 0, 0, 14)
	var g Groups
	for day, c := range []cloud{oil, water, oil, oil} {
		for i := range 40 {
			g.Add(c.next(), nil, start.AddDate(0, 0, day).Add(time.Duration(i)*time.Second))
		}
	}
	all := append(g.Closed, g.Open...)
	want := []struct{ name, seen string }{
		{"group 2026-11-25 A", ""},
		{"group 2026-11-26 A", ""},
		{"group 2026-11-27 A", "group 2026-11-25 A"},
		{"group 2026-11-28 A", "group 2026-11-27 A"},
	}
	if len(all) != len(want) {
		t.Fatalf("%d groups, want %d", len(all), len(want))
	}
	for i, w := range want {
		if all[i].Name != w.name || all[i].Seen != w.seen {
			t.Errorf("group %d = %q seen %q, want %q seen %q", i, all[i].Name, all[i].Seen, w.name, w.seen)
		}
	}
}

func TestGroupNames(t *testing.T) {
	var g Groups
	last := ""
	for range 28 {
		last = g.name(start)
	}
	if want := "group 2026-11-25 AB"; last != want {
		t.Errorf("the 28th name = %q, want %q", last, want)
	}
	if got, want := g.name(start.AddDate(0, 0, 1)), "group 2026-11-26 A"; got != want {
		t.Errorf("the next day's name = %q, want %q", got, want)
	}
	if got, want := g.name(start), "group 2026-11-26 B"; got != want {
		t.Errorf("the name of one that began the day before = %q, want %q, which was never given", got, want)
	}
}

// TestGroupsResume: the state written and read back at any moment goes on as if nothing had happened.
func TestGroupsResume(t *testing.T) {
	add := func(restart bool) Groups {
		oil, water := newCloud(1, 0, 12), newCloud(2, -9, 0, 0, 14)
		var g Groups
		for i := range 200 {
			c := oil
			if i%3 == 0 {
				c = water
			}
			g.Add(c.next(), nil, start.Add(time.Duration(i)*time.Minute))
			if restart {
				b, err := json.Marshal(g)
				if err != nil {
					t.Fatal(err)
				}
				g = Groups{}
				if err := json.Unmarshal(b, &g); err != nil {
					t.Fatal(err)
				}
			}
		}
		return g
	}
	plain, err := json.Marshal(add(false))
	if err != nil {
		t.Fatal(err)
	}
	restarted, err := json.Marshal(add(true))
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(plain, restarted) {
		t.Errorf("a restart after every spectrum gave\n%.300s…, want\n%.300s…", restarted, plain)
	}
}

// TestRadiusHoldsItsShare: of spectra around a centre near usual, the radius holds the share that it promises. The
// squared distance from a fixed centre is χ² with as many degrees of freedom as places.
func TestRadiusHoldsItsShare(t *testing.T) {
	c := newCloud(9)
	const n = 20000
	out := 0
	for range n {
		if y := c.next(); math.Sqrt(dot(y, y)) > radius(make([]float64, places)) {
			out++
		}
	}
	if share := float64(out) / n; !(math.Abs(share-(1-within)) <= 0.0008) {
		t.Errorf("radius: %.4f of the spectra outside, want %.4f", share, 1-within)
	}
}

func BenchmarkGroupsAdd(b *testing.B) {
	oil := newCloud(1, 0, 12)
	var g Groups
	ys := make([][]float64, 256)
	for i := range ys {
		ys[i] = oil.next()
	}
	b.ReportAllocs()
	i := 0
	for b.Loop() {
		g.Add(ys[i%256], nil, start)
		i++
	}
}
