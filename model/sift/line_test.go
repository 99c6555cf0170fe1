package sift

import (
	"flag"
	"fmt"
	"math"
	"slices"
	"testing"
	"time"

	"asusual/model/limits"
	"asusual/model/oatline"
)

// many tries many sets: go test ./model/sift -run Find -v -many 20 -timeout 60m
var many = flag.Int("many", 0, "try so many lines and shares of poison, for minutes")

// A line is one of many on which poison is tried.
type line struct {
	set        oatline.Settings
	runs, each int
}

// lines returns n lines: few runs and many, that differ little or much, of spectra that remember or not.
func lines(n int) []line {
	var out []line
	for i := range n {
		phi, lots := []float64{0.93, 0, 0.5, 0.95, 0.8}[i%5], []float64{1, 0.3, 2}[i%3]
		out = append(out, line{
			set:  oatline.Settings{Seed: uint64(i), Channels: 64, Lots: lots, Memory: oatline.MemoryFor(phi, every)},
			runs: []int{8, 12, 20, 10}[i%4], each: []int{80, 60, 120}[i/2%3],
		})
	}
	return out
}

// A tally counts over sets how a spoiler was met.
type tally struct {
	bad, found, good, lost, runsLost int
	t2, q, thresholds                []float64 // |log ratio| of limits to those without the poison
}

func (c *tally) add(t *testing.T, b blend, s *Sifted) {
	clean := make([]bool, len(b.bad))
	for i, k := range s.Keep {
		clean[i] = !b.bad[i]
		if !k && s.Why[i].Kind == "" {
			t.Fatalf("row %d is left out without a reason", i+1)
		}
		switch {
		case b.bad[i] && !k:
			c.bad, c.found = c.bad+1, c.found+1
		case b.bad[i]:
			c.bad++
		case !k:
			c.good, c.lost = c.good+1, c.lost+1
		default:
			c.good++
		}
	}
	for _, g := range s.Runs {
		if count(b.bad[b.runs[g].From:b.runs[g].To]) == 0 {
			c.runsLost++
		}
	}
	was, is := b.limitsOf(t, b.good, clean), b.limitsOf(t, b.x, s.Keep)
	off := func(x, y float64) float64 { return math.Abs(math.Log(x / y)) }
	c.t2, c.q = append(c.t2, off(is.T2, was.T2)), append(c.q, off(is.Q, was.Q))
	c.thresholds = append(c.thresholds, thresholdsOff(is, was))
}

// thresholdsOff returns how far the thresholds lie from each other on the mean of their logarithms.
func thresholdsOff(a, b *limits.Limits) float64 {
	var sum float64
	for i, q := range a.Questions {
		sum += math.Abs(math.Log(q.Threshold / b.Questions[i].Threshold))
	}
	return sum / float64(len(a.Questions))
}

// percent returns the median and the largest of x, which are |log ratios|, in per cent.
func percent(x []float64) (usual, most float64) {
	return 100 * (math.Exp(median(slices.Clone(x))) - 1), 100 * (math.Exp(slices.Max(x)) - 1)
}

// Poison of every kind is found, and the limits come out as if it had never been there. -many tries more sets.
func TestFindPoison(t *testing.T) {
	shares := []float64{0.25}
	if *many > 0 {
		shares = []float64{0.05, 0.10, 0.25}
	}
	t.Logf("%-32s %6s %7s %7s %5s  %15s %15s %15s", "poison", "share", "found", "lost", "runs", "T² off", "Q off", "thresholds off")
	for _, sp := range spoilers {
		t.Run(sp.name, func(t *testing.T) {
			sets := lines(max(1, *many))
			if sp.fading() {
				sets = lines(max(3, *many))
			}
			for _, share := range shares {
				var c tally
				for _, l := range sets {
					b := newBlend(t, l.set, l.runs, l.each, &sp, share)
					s, err := Find(b.x, b.runs, 1, nil)
					if err != nil {
						t.Fatal(err)
					}
					c.add(t, b, s)
				}
				found, lost := float64(c.found)/float64(c.bad), float64(c.lost)/float64(c.good)
				t2, t2Most := percent(c.t2)
				q, qMost := percent(c.q)
				th, thMost := percent(c.thresholds)
				t.Logf("%-32s %4.0f %% %5.1f %% %5.2f %% %5d  %5.1f %5.1f %% %5.1f %5.1f %% %5.1f %5.1f %%",
					sp.name, 100*share, 100*found, 100*lost, c.runsLost, t2, t2Most, q, qMost, th, thMost)
				least := 0.99
				if *many > 0 {
					least = 0.9 // two bad runs of eight can hide among good ones that differ a lot
				}
				if sp.fading() {
					least = 0.5 // the end of its tail is within what is usual, and may stay
				}
				if usual := max(t2, q, th); found < least || lost > 0.06 || c.runsLost > 0 || usual > 10 {
					t.Errorf("Find(%s, %g %%): found %.3f, lost %.3f, %d good runs, limits off by %.1f %% in the middle of %d sets; want at least %g, at most 0.06, none, at most 10",
						sp.name, 100*share, found, lost, c.runsLost, usual, len(sets), least)
				}
			}
		})
	}
}

// Good production is left alone, whether its runs differ little or much, and whether its spectra remember or not.
func TestFindNothing(t *testing.T) {
	seeds := uint64(2)
	if *many > 0 {
		seeds = uint64(2 * *many)
	}
	for _, c := range []struct {
		runs     int
		lots     float64
		memory   time.Duration
		restless float64 // how much more the spectra of every fourth run wander
	}{
		{6, 1, 0, 1}, {8, 0.2, 0, 1}, {8, 3, -1, 1}, {8, 1, 30 * time.Minute, 1}, {20, 1, 0, 1}, {20, 3, 30 * time.Minute, 1},
		{8, 1, 0, 2}, {20, 1, 30 * time.Minute, 2}, {40, 1, oatline.MemoryFor(0.95, every), 1}, {40, 2, -1, 1},
	} {
		var n, lost, sets int
		for seed := range seeds {
			b := newBlend(t, oatline.Settings{Seed: 100 + seed, Channels: 64, Lots: c.lots, Memory: c.memory}, c.runs, 80, nil, 0)
			if c.restless > 1 {
				wild := newBlend(t, oatline.Settings{Seed: 100 + seed, Channels: 64, Lots: c.lots, Memory: c.memory, Wander: c.restless}, c.runs, 80, nil, 0)
				for r := 1; r < c.runs; r += 4 {
					for i := b.runs[r].From; i < b.runs[r].To; i++ {
						b.x.SetRow(i, wild.x.RawRowView(i))
					}
				}
			}
			s, err := Find(b.x, b.runs, 1, nil)
			if err != nil {
				t.Fatal(err)
			}
			n += len(b.bad)
			lost += len(b.bad) - s.Kept()
			if len(s.Runs) > 0 {
				sets++
				for _, g := range s.Runs {
					lost -= b.runs[g].Len()
				}
			}
		}
		t.Logf("%2d runs, lots ×%g, memory %v, every 4th wanders ×%g: %.3f %% of spectra lost, a run in %d of %d sets", c.runs, c.lots, c.memory, c.restless, 100*float64(lost)/float64(n), sets, seeds)
		if float64(lost) > 0.005*float64(n) || float64(sets) > max(1, 0.05*float64(seeds)) {
			t.Errorf("Find of good production (%d runs, lots ×%g) = %d of %d spectra left out, and runs in %d of %d sets; want less than 0.5 %% and 5 %%", c.runs, c.lots, lost, n, sets, seeds)
		}
	}
}

// Sets whose spectra and lots are skewed by nature are left alone, too: on average less than two of a hundred spectra are
// left out.
func TestFindNothingOfSkewed(t *testing.T) {
	seeds := uint64(3)
	if *many > 0 {
		seeds = uint64(*many)
	}
	for _, c := range []struct {
		runs, each int
		phi        float64
	}{{6, 80, 0}, {8, 80, 0.9}, {20, 60, 0.95}, {40, 40, 0.5}} {
		var n, lost, runs int
		for seed := range seeds {
			b := newSkewed(t, seed, c.runs, c.each, c.phi)
			s, err := Find(b.x, b.runs, 1, nil)
			if err != nil {
				t.Fatal(err)
			}
			n, lost, runs = n+len(b.bad), lost+len(b.bad)-s.Kept(), runs+len(s.Runs)
		}
		t.Logf("%2d runs of %d, φ %g: %.2f %% of spectra left out, %d whole runs in %d sets", c.runs, c.each, c.phi, 100*float64(lost)/float64(n), runs, seeds)
		if float64(lost) > 0.02*float64(n) {
			t.Errorf("Find of %d skewed good runs leaves out %d of %d spectra, want at most 2 %%", c.runs, lost, n)
		}
	}
}

func BenchmarkFind(b *testing.B) {
	for _, c := range []struct{ runs, each, p int }{{10, 200, 256}, {10, 2000, 512}} {
		b.Run(fmt.Sprintf("n=%d/p=%d", c.runs*c.each, c.p), func(b *testing.B) {
			s := newBlend(b, oatline.Settings{Seed: 1, Channels: c.p}, c.runs, c.each, &spoilers[1], 0.1)
			b.ReportAllocs()
			for b.Loop() {
				if _, err := Find(s.x, s.runs, 1, atOnce); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
