package reach

import (
	"math"
	"math/rand/v2"

	"asusual/model/limits"
	"asusual/model/spectrum"
)

// A change is one way in which spectra may change, per unit of its size.
type change struct {
	raw  [][]float64 // what is added to the raw absorbance, per unit; several where each spectrum gets another
	size Size        // the smallest that is seen
	into *Size       // where that goes in the Reach; the larger of those that go to one place counts

	moves []move      // of each fold
	along [][]float64 // of each start: e·d of its spectra
}

// A move is what a change does in the model of one fold, for each of its raw patterns.
type move struct {
	d     [][]float64  // in the pretreated spectrum
	t     [][]float64  // of the scores, in the components of the whole
	r2    []float64    // ‖r‖²
	parts [][]float64  // of what the stretches have left over
	pull  *limits.Pull // of the features; nil where spectra are changed by different patterns
}

// noisePatterns is how many spectra of noise stand for all: their residuals' lengths vary by a part in thousands.
const noisePatterns = 24

// places returns the middles of n equal parts of the axis.
func places(a *spectrum.Axis, n int) []float64 {
	lo, hi := a.Range()
	at := make([]float64, n)
	for i := range at {
		at[i] = lo + (hi-lo)*(float64(i)+0.5)/float64(n)
	}
	return at
}

// changes makes room in r and returns all changes that are sought.
func (r *Reach) changes(a *spectrum.Axis, mean []float64, opt Options) []*change {
	var all []*change
	add := func(into *Size, raw ...[]float64) { all = append(all, &change{raw: raw, into: into}) }
	r.Bands = make([]Curve, len(opt.Widths))
	for i, w := range opt.Widths {
		r.Bands[i] = Curve{Width: w, Size: make([]Size, len(r.At))}
		for j, at := range r.At {
			add(&r.Bands[i].Size[j], each(a, func(x float64) float64 { return math.Exp2(-4 * (x - at) * (x - at) / (w * w)) }))
		}
	}
	lo, hi := a.Range()
	both := func(into *Size, f func(x float64) float64) {
		add(into, each(a, f))
		add(into, each(a, func(x float64) float64 { return -f(x) }))
	}
	both(&r.Offset, func(float64) float64 { return 1 })
	both(&r.Slope, func(x float64) float64 { return (2*x - lo - hi) / (hi - lo) })
	add(&r.Scale, mean)
	add(&r.Scale, minus(mean))
	add(&r.Shift, derivative(a, mean))
	add(&r.Shift, minus(derivative(a, mean)))
	rng := rand.New(rand.NewPCG(opt.Seed, 0x6e6f697365))
	noise := make([][]float64, noisePatterns)
	for i := range noise {
		noise[i] = each(a, func(float64) float64 { return rng.NormFloat64() })
	}
	add(&r.Noise, noise...)
	return all
}

// grouped cuts the changes into groups of neighbours, which are sought one after another.
func grouped(changes []*change) [][]*change {
	const size = 8
	var groups [][]*change
	for len(changes) > size {
		groups, changes = append(groups, changes[:size]), changes[size:]
	}
	return append(groups, changes)
}

// collect writes the sizes found to r.
func (r *Reach) collect(changes []*change) {
	for _, c := range changes {
		*c.into = max(*c.into, c.size)
	}
}

func each(a *spectrum.Axis, f func(x float64) float64) []float64 {
	v := make([]float64, a.Len())
	for i := range v {
		v[i] = f(a.At(i))
	}
	return v
}

func minus(v []float64) []float64 {
	m := make([]float64, len(v))
	for i, x := range v {
		m[i] = -x
	}
	return m
}

// derivative returns the slope of y per axis unit: of the chord over both neighbours, at the ends over one.
func derivative(a *spectrum.Axis, y []float64) []float64 {
	d := make([]float64, len(y))
	for i := range d {
		lo, hi := max(0, i-1), min(len(y)-1, i+1)
		d[i] = (y[hi] - y[lo]) / (a.At(hi) - a.At(lo))
	}
	return d
}
