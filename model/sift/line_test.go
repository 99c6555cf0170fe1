package sift

import (
	"flag"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"
	"time"

	"asusual/model/holdout"
	"asusual/model/limits"
	"asusual/model/oatline"
	"asusual/model/spectrum"

	"gonum.org/v1/gonum/mat"
)

// many tries many sets: go test ./model/sift -run Find -v -many -timeout 30m
var many = flag.Bool("many", false, "try many sets of spectra, for minutes")

var day = time.Date(2026, 3, 1, 6, 0, 0, 0, time.UTC)

// A blend is a set of known-good spectra of the invented line with some that are not good among them.
type blend struct {
	x    *mat.Dense
	runs []holdout.Range
	bad  []bool
}

// A spoiler says how a set is spoilt.
type spoiler struct {
	name  string
	whole bool // whole runs, else stretches at the start, in the middle or at the end of runs
	make  func(l *oatline.Line, s oatline.Stretch) (*oatline.Series, error)
	alone bool    // single spectra, anywhere
	clip  float64 // above zero: values stop there
}

func upset(kinds ...oatline.Upset) func(*oatline.Line, oatline.Stretch) (*oatline.Series, error) {
	return func(l *oatline.Line, s oatline.Stretch) (*oatline.Series, error) {
		s.Upsets = kinds
		return l.Series(s)
	}
}

func condition(c string) func(*oatline.Line, oatline.Stretch) (*oatline.Series, error) {
	return func(l *oatline.Line, s oatline.Stretch) (*oatline.Series, error) {
		s.Condition = c
		return l.Series(s)
	}
}

var spoilers = []spoiler{
	{name: "another product, whole runs", whole: true, make: upset(oatline.Upset{Kind: oatline.OilPump, Size: 0.6}, oatline.Upset{Kind: oatline.Dilution, Size: 0.1})},
	{name: "another product, parts of runs", make: upset(oatline.Upset{Kind: oatline.OilPump, Size: 0.6}, oatline.Upset{Kind: oatline.Dilution, Size: 0.1})},
	{name: "another product, single spectra", alone: true, make: upset(oatline.Upset{Kind: oatline.OilPump, Size: 0.6}, oatline.Upset{Kind: oatline.Dilution, Size: 0.1})},
	{name: "empty beam", make: condition(oatline.Air)},
	{name: "rinse", make: condition(oatline.Rinse)},
	{name: "start-up", make: condition(oatline.StartUp)},
	{name: "saturated", make: upset(), clip: 0.75},
	{name: "bad run: fouled window", whole: true, make: upset(oatline.Upset{Kind: oatline.Fouling, Size: 0.08})},
	{name: "bad run: axis off", whole: true, make: upset(oatline.Upset{Kind: oatline.AxisShift, Size: 0.6})},
	{name: "bad run: new band", whole: true, make: upset(oatline.Upset{Kind: oatline.NewBand, Size: 0.01})},
	{name: "bad run: noise", whole: true, make: upset(oatline.Upset{Kind: oatline.MoreNoise, Size: 4})},
}

// newBlend makes runs × each spectra; the share of them that the spoiler spoils is spread over runs, or takes whole ones.
func newBlend(tb testing.TB, set oatline.Settings, runs, each int, sp *spoiler, share float64) blend {
	tb.Helper()
	l, err := oatline.New(set)
	if err != nil {
		tb.Fatal(err)
	}
	p := l.Axis().Len()
	b := blend{x: mat.NewDense(runs*each, p, nil), bad: make([]bool, runs*each)}
	rng := rand.New(rand.NewPCG(set.Seed, 99))
	order := rng.Perm(runs)
	for r := range runs {
		name := fmt.Sprintf("run %d", r+1)
		st := oatline.Stretch{Run: name, From: day.AddDate(0, 0, r), N: each}
		good, err := l.Series(st)
		if err != nil {
			tb.Fatal(err)
		}
		var bad *oatline.Series
		from, to := 0, 0
		if sp != nil && share > 0 {
			if sp.alone {
				from, to = 0, each
			} else if sp.whole {
				if slices.Index(order, r) < int(share*float64(runs)+0.5) {
					from, to = 0, each
				}
			} else {
				// uneven: some runs lose up to twice the share, some nothing
				part := share * 2 * float64(slices.Index(order, r)) / float64(runs-1)
				w := int(part*float64(each) + 0.5)
				from = []int{0, (each - w) / 2, each - w}[r%3]
				if sp.name == "start-up" {
					from = 0
				}
				to = from + w
			}
			if to > from {
				st.N = to - from
				if bad, err = sp.make(l, st); err != nil {
					tb.Fatal(err)
				}
			}
		}
		for i := range each {
			row := b.x.RawRowView(r*each + i)
			if i >= from && i < to && (sp == nil || !sp.alone || rng.Float64() < share) {
				bad.Fill(row, i-from)
				b.bad[r*each+i] = true
				if sp.clip > 0 {
					for j := range row {
						row[j] = min(row[j], sp.clip)
					}
				}
			} else {
				good.Fill(row, i)
			}
		}
		b.runs = append(b.runs, holdout.Range{Name: name, From: r * each, To: (r + 1) * each})
	}
	return b
}

// limitsOf returns the limits of T² and Q that the rows kept teach, with whole runs held out.
func limitsOf(tb testing.TB, axis *spectrum.Axis, b blend, keep []bool) (t2, q float64) {
	tb.Helper()
	set := holdout.Set{Axis: axis}
	var data []float64
	_, p := b.x.Dims()
	for r, run := range b.runs {
		from := len(data) / p
		for i := run.From; i < run.To; i++ {
			if keep[i] {
				data = append(data, b.x.RawRowView(i)...)
				set.Times = append(set.Times, day.AddDate(0, 0, r).Add(time.Duration(i-run.From)*20*time.Second))
			}
		}
		if len(data)/p > from {
			set.Runs = append(set.Runs, holdout.Range{Name: run.Name, From: from, To: len(data) / p})
		}
	}
	set.X = mat.NewDense(len(data)/p, p, data)
	placed, err := holdout.Tracks(set, holdout.Options{K: 5})
	if err != nil {
		tb.Fatal(err)
	}
	l, err := limits.Learn(placed.Tracks, placed.Whole.Eigenvalues, limits.Options{})
	if err != nil {
		tb.Fatal(err)
	}
	return l.T2, l.Q
}

// A tally counts over sets how a spoiler was met.
type tally struct {
	bad, found, good, lost, runsLost int
	t2, q                            []float64 // |log ratio| of limits to those without the poison
}

func (c *tally) add(t *testing.T, axis *spectrum.Axis, b blend, s *Sifted) {
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
	t0, q0 := limitsOf(t, axis, b, clean)
	t1, q1 := limitsOf(t, axis, b, s.Keep)
	c.t2, c.q = append(c.t2, math.Abs(math.Log(t1/t0))), append(c.q, math.Abs(math.Log(q1/q0)))
}

// Poison of every kind is found, and the limits come out as if it had never been there. -many tries more sets.
func TestFindPoison(t *testing.T) {
	seeds, shares, sizes := uint64(1), []float64{0.25}, []int{8}
	if *many {
		seeds, shares, sizes = 5, []float64{0.05, 0.125, 0.25}, []int{8, 16}
	}
	for _, sp := range spoilers {
		for _, runs := range sizes {
			for _, share := range shares {
				if sp.whole && share*float64(runs) < 0.5 {
					continue
				}
				var c tally
				for seed := range seeds {
					set := oatline.Settings{Seed: seed, Channels: 64}
					b := newBlend(t, set, runs, 80, &sp, share)
					s, err := Find(b.x, b.runs, 1)
					if err != nil {
						t.Fatal(err)
					}
					l, err := oatline.New(set)
					if err != nil {
						t.Fatal(err)
					}
					c.add(t, l.Axis(), b, s)
				}
				found, lost := float64(c.found)/float64(c.bad), float64(c.lost)/float64(c.good)
				off := math.Exp(max(slices.Max(c.t2), slices.Max(c.q))) - 1
				usual := math.Exp(max(quantile(c.t2, 0.5), quantile(c.q, 0.5))) - 1
				t.Logf("%-32s %2d runs, %4.1f %% poison: %5.1f %% found, %4.2f %% of the good lost, %d good runs lost, limits off by %4.1f %%, at most %4.1f %%",
					sp.name, runs, 100*share, 100*found, 100*lost, c.runsLost, 100*usual, 100*off)
				least, most := 0.99, 0.1
				if sp.name == "start-up" {
					// Its end is nearly product: what stays in of it moves the limits, by a few per cent in the middle of many
					// sets, by up to half in the worst.
					least, most = 0.7, 0.5
				}
				if found < least || lost > 0.06 || c.runsLost > 0 || usual > most {
					t.Errorf("Find(%s, %d runs, %g %%): found %.3f, lost %.3f, %d good runs, limits off by %.2f; want more than %g, less than 0.06, none, at most %g",
						sp.name, runs, 100*share, found, lost, c.runsLost, usual, least, most)
				}
			}
		}
	}
}

// Good production is left alone, whether its runs differ little or much, and whether its spectra remember or not.
func TestFindNothing(t *testing.T) {
	seeds := uint64(2)
	if *many {
		seeds = 40
	}
	for _, c := range []struct {
		runs     int
		lots     float64
		memory   time.Duration
		restless float64 // how much more the spectra of every fourth run wander
	}{
		{6, 1, 0, 1}, {8, 0.2, 0, 1}, {8, 3, -1, 1}, {8, 1, 30 * time.Minute, 1}, {20, 1, 0, 1}, {20, 3, 30 * time.Minute, 1},
		{8, 1, 0, 2}, {20, 1, 30 * time.Minute, 2},
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
			s, err := Find(b.x, b.runs, 1)
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

func BenchmarkFind(b *testing.B) {
	for _, c := range []struct{ runs, each, p int }{{10, 200, 256}, {10, 2000, 512}} {
		b.Run(fmt.Sprintf("n=%d/p=%d", c.runs*c.each, c.p), func(b *testing.B) {
			s := newBlend(b, oatline.Settings{Seed: 1, Channels: c.p}, c.runs, c.each, &spoilers[1], 0.1)
			b.ReportAllocs()
			for b.Loop() {
				if _, err := Find(s.x, s.runs, 1); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
