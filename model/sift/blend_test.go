package sift

import (
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
	"gonum.org/v1/gonum/stat/distuv"
)

var day = time.Date(2026, 3, 1, 6, 0, 0, 0, time.UTC)

// every is the time between the spectra of a blend.
const every = 20 * time.Second

// A blend is a set of known-good spectra of the invented line with some that are not good among them.
type blend struct {
	axis *spectrum.Axis
	x    *mat.Dense
	good *mat.Dense // the same without the poison
	runs []holdout.Range
	bad  []bool
}

// A spoiler says how a set is spoilt: by spectra made in place of good ones, or by a change laid over good ones.
type spoiler struct {
	name  string
	whole bool // whole runs, else stretches at the start, in the middle or at the end of runs
	make  func(l *oatline.Line, s oatline.Stretch) (*oatline.Series, error)
	alone bool    // single spectra, anywhere
	clip  float64 // above zero: values stop there

	// The change that a start-up dies away from, and how much of it is there at a time of which 1 is the end of the bad part.
	fades oatline.Stretch
	much  func(u float64) float64
}

// fading reports whether the spoiler dies away, so that its end cannot be told from what is good.
func (sp spoiler) fading() bool { return sp.much != nil || sp.name == "start-up: front, uneven" }

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

// front is what a smooth front of product leaves of the rinse water; dying falls to e⁻⁵ of its height by the end.
func front(height float64) func(float64) float64 {
	return func(u float64) float64 { u = min(u, 1); return height * (1 - u*u*(3-2*u)) }
}

func dying(height float64) func(float64) float64 {
	return func(u float64) float64 { return height * math.Exp(-5*u) }
}

var (
	otherProduct = upset(oatline.Upset{Kind: oatline.OilPump, Size: 0.6}, oatline.Upset{Kind: oatline.Dilution, Size: 0.1})
	water        = oatline.Stretch{Run: "fades", N: 1, Upsets: []oatline.Upset{{Kind: oatline.Dilution, Size: 1}}}
	film         = oatline.Stretch{Run: "fades", N: 1, Upsets: []oatline.Upset{{Kind: oatline.Fouling, Size: 1}}}
	shifted      = oatline.Stretch{Run: "fades", N: 1, Upsets: []oatline.Upset{{Kind: oatline.AxisShift, Size: 1}}}
)

var spoilers = []spoiler{
	{name: "another product, whole runs", whole: true, make: otherProduct},
	{name: "another product, parts of runs", make: otherProduct},
	{name: "another product, single spectra", alone: true, make: otherProduct},
	{name: "empty beam", make: condition(oatline.Air)},
	{name: "rinse", make: condition(oatline.Rinse)},
	{name: "saturated", make: upset(), clip: 0.75},
	{name: "bad run: fouled window", whole: true, make: upset(oatline.Upset{Kind: oatline.Fouling, Size: 0.08})},
	{name: "bad run: axis off", whole: true, make: upset(oatline.Upset{Kind: oatline.AxisShift, Size: 0.6})},
	{name: "bad run: new band", whole: true, make: upset(oatline.Upset{Kind: oatline.NewBand, Size: 0.01})},
	{name: "bad run: noise", whole: true, make: upset(oatline.Upset{Kind: oatline.MoreNoise, Size: 4})},
	{name: "start-up: front, uneven", make: condition(oatline.StartUp)},
	{name: "start-up: front, every run", fades: water, much: front(1)},
	{name: "start-up: water dying away", fades: water, much: dying(0.3)},
	{name: "start-up: window drying", fades: film, much: dying(0.08)},
	{name: "start-up: lamp warming", fades: shifted, much: dying(0.6)},
}

// fading returns what the stretch changes on a line on which nothing else differs.
func fading(tb testing.TB, set oatline.Settings, s oatline.Stretch) []float64 {
	tb.Helper()
	set.Lots, set.Wander, set.Noise = -1, -1, -1
	changed, was := spectraOf(tb, set, s), spectraOf(tb, set, oatline.Stretch{Run: s.Run, N: 1})
	d := changed.At(0).Values
	axpy(d, -1, was.At(0).Values)
	return d
}

func spectraOf(tb testing.TB, set oatline.Settings, s oatline.Stretch) *oatline.Series {
	tb.Helper()
	l, err := oatline.New(set)
	if err != nil {
		tb.Fatal(err)
	}
	r, err := l.Series(s)
	if err != nil {
		tb.Fatal(err)
	}
	return r
}

// newBlend makes runs × each spectra; the share of them that the spoiler spoils is spread over runs, or takes whole ones.
func newBlend(tb testing.TB, set oatline.Settings, runs, each int, sp *spoiler, share float64) blend {
	tb.Helper()
	l, err := oatline.New(set)
	if err != nil {
		tb.Fatal(err)
	}
	p := l.Axis().Len()
	b := blend{axis: l.Axis(), x: mat.NewDense(runs*each, p, nil), good: mat.NewDense(runs*each, p, nil), bad: make([]bool, runs*each)}
	rng := rand.New(rand.NewPCG(set.Seed, 99))
	order := rng.Perm(runs)
	for r := range runs {
		st := oatline.Stretch{Run: fmt.Sprintf("run %d", r+1), From: day.AddDate(0, 0, r), N: each}
		good, err := l.Series(st)
		if err != nil {
			tb.Fatal(err)
		}
		for i := range each {
			good.Fill(b.good.RawRowView(r*each+i), i)
		}
		b.runs = append(b.runs, holdout.Range{Name: st.Run, From: r * each, To: (r + 1) * each})
	}
	b.x.Copy(b.good)
	switch {
	case sp == nil || share == 0:
	case sp.much != nil:
		b.lay(fading(tb, set, sp.fades), sp, share)
	default:
		for r := range runs {
			b.spoil(tb, l, sp, share, r, slices.Index(order, r), rng)
		}
	}
	return b
}

// lay lays a change over the start of every run.
func (b *blend) lay(d []float64, sp *spoiler, share float64) {
	for _, r := range b.runs {
		w := share * float64(r.Len())
		for i := r.From; i < r.To; i++ {
			u := (float64(i-r.From) + 0.5) / w
			axpy(b.x.RawRowView(i), sp.much(u), d)
			b.bad[i] = u < 1
		}
	}
}

// spoil puts bad spectra in the place of good ones of run r, which is the place-th to be spoilt.
func (b *blend) spoil(tb testing.TB, l *oatline.Line, sp *spoiler, share float64, r, place int, rng *rand.Rand) {
	tb.Helper()
	run := b.runs[r]
	each := run.Len()
	from, to := 0, 0
	switch {
	case sp.alone:
		to = each
	case sp.whole:
		if place < max(1, int(share*float64(len(b.runs)))) {
			to = each
		}
	default:
		// uneven: some runs lose up to twice the share, some nothing
		w := int(share*2*float64(place)/float64(len(b.runs)-1)*float64(each) + 0.5)
		from = []int{0, (each - w) / 2, each - w}[r%3]
		if sp.fading() {
			from = 0
		}
		to = from + w
	}
	if to == from {
		return
	}
	bad, err := sp.make(l, oatline.Stretch{Run: run.Name, From: day.AddDate(0, 0, r), N: to - from})
	if err != nil {
		tb.Fatal(err)
	}
	for i := from; i < to; i++ {
		if sp.alone && rng.Float64() >= share {
			continue
		}
		row := b.x.RawRowView(run.From + i)
		bad.Fill(row, i-from)
		b.bad[run.From+i] = true
		for j := range row {
			if sp.clip > 0 {
				row[j] = min(row[j], sp.clip)
			}
		}
	}
}

// newSkewed makes good runs whose spectra and lots are skewed: each moves in four ways, in each exponentially distributed, so
// that there is a least of it and no most. phi is the memory of the normal series behind them.
func newSkewed(tb testing.TB, seed uint64, runs, each int, phi float64) blend {
	tb.Helper()
	set := oatline.Settings{Seed: seed, Channels: 64, Lots: -1, Wander: -1}
	b := newBlend(tb, set, runs, each, nil, 0)
	rng := rand.New(rand.NewPCG(seed, 7))
	for _, way := range []struct {
		oatline.Upset
		size float64
	}{
		{oatline.Upset{Kind: oatline.Dilution, Size: 1}, 0.004},
		{oatline.Upset{Kind: oatline.OilPump, Size: 1}, 0.01},
		{oatline.Upset{Kind: oatline.Fouling, Size: 1}, 0.001},
		{oatline.Upset{Kind: oatline.AxisShift, Size: 1}, 0.01},
	} {
		d := fading(tb, set, oatline.Stretch{Run: "way", N: 1, Upsets: []oatline.Upset{way.Upset}})
		for _, r := range b.runs {
			lot, z := rng.ExpFloat64(), rng.NormFloat64()
			for i := r.From; i < r.To; i++ {
				exponential := -math.Log(distuv.UnitNormal.Survival(z))
				axpy(b.x.RawRowView(i), way.size*(2*lot+exponential), d)
				z = phi*z + math.Sqrt(1-phi*phi)*rng.NormFloat64()
			}
		}
	}
	return b
}

// times returns when the spectra were measured.
func (b *blend) times() []time.Time {
	var out []time.Time
	for r, run := range b.runs {
		for i := range run.Len() {
			out = append(out, day.AddDate(0, 0, r).Add(time.Duration(i)*every))
		}
	}
	return out
}

// limitsOf returns the limits that the rows of x kept teach, with whole runs held out.
func (b *blend) limitsOf(tb testing.TB, x *mat.Dense, keep []bool) *limits.Limits {
	tb.Helper()
	set := holdout.Set{Axis: b.axis}
	var data []float64
	_, p := x.Dims()
	times := b.times()
	for _, run := range b.runs {
		from := len(data) / p
		for i := run.From; i < run.To; i++ {
			if keep[i] {
				data = append(data, x.RawRowView(i)...)
				set.Times = append(set.Times, times[i])
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
	return l
}
