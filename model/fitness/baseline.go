package fitness

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/mat"

	"asusual/model/project"
	"asusual/model/spectrum"
)

// A Baseline is what the absorbances of known-good production tell of the instrument: what varies as usual, how much
// each channel scatters beside, and how rough a spectrum is. Departures are measured against it before any
// pretreatment, because pretreatment hides what an instrument does.
type Baseline struct {
	Mean     []float64 `json:"mean"`     // p mean absorbances
	Usual    []float64 `json:"usual"`    // q×p, orthonormal rows: the directions in which good spectra vary
	Variance []float64 `json:"variance"` // q variances along them
	Noise    []float64 `json:"noise"`    // p variances of what is left, a channel
	Rough    Rough     `json:"rough"`    // the usual roughness
	Spread   Sizes     `json:"spread"`   // how far each effect's size wanders over good spectra: standard deviations
}

const (
	// maxUsual bounds q: more directions than a line has ways to vary would swallow the effects as well.
	// Chosen so that on simulated lines instrument and process are told apart best.
	maxUsual = 8
	// maxRows bounds the spectra that the directions are learned from; they are taken evenly.
	maxRows = 400
)

// NewBaseline learns a baseline from x, n×p absorbances of known-good production, one spectrum a row.
// It needs at least three spectra on an axis of at least eight channels.
func NewBaseline(axis *spectrum.Axis, x *mat.Dense) (*Baseline, error) {
	n, p := x.Dims()
	if n < 3 || p < 8 || p != axis.Len() {
		return nil, fmt.Errorf("%d spectra of %d channels on an axis of %d; the instrument's baseline needs 3 spectra and 8 channels", n, p, axis.Len())
	}
	b := &Baseline{Mean: mean(x), Noise: make([]float64, p)}
	c := b.centred(x)
	rows, _ := c.Dims()
	variances, axes, err := project.Directions(c, min(maxUsual, rows/4, p/4))
	if err != nil {
		return nil, fmt.Errorf("the usual directions of %d spectra: %w", n, err)
	}
	b.take(variances, axes)
	b.residual(c)
	for i := range n {
		b.Rough.add(roughness(x.RawRowView(i)))
	}
	b.Rough.finish(n)
	b.spread(axis, c)
	return b, nil
}

// Validate reports whether the parts of a baseline fit together and an axis of p channels.
func (b *Baseline) Validate(p int) error {
	if len(b.Mean) != p || len(b.Noise) != p || len(b.Usual) != len(b.Variance)*p {
		return fmt.Errorf("the instrument's baseline has %d channels and %d directions on an axis of %d channels", len(b.Mean), len(b.Variance), p)
	}
	for _, values := range [][]float64{b.Noise, b.Variance} {
		for _, v := range values {
			if !(v > 0) || math.IsInf(v, 0) {
				return fmt.Errorf("the instrument's baseline holds a variance of %g", v)
			}
		}
	}
	return nil
}

func mean(x *mat.Dense) []float64 {
	n, p := x.Dims()
	m := make([]float64, p)
	for i := range n {
		for j, v := range x.RawRowView(i) {
			m[j] += v
		}
	}
	for j := range m {
		m[j] /= float64(n)
	}
	return m
}

// centred returns at most maxRows rows of x, evenly taken, less the mean.
func (b *Baseline) centred(x *mat.Dense) *mat.Dense {
	n, p := x.Dims()
	rows := min(n, maxRows)
	c := mat.NewDense(rows, p, nil)
	for i := range rows {
		dst, src := c.RawRowView(i), x.RawRowView(i*n/rows)
		for j := range dst {
			dst[j] = src[j] - b.Mean[j]
		}
	}
	return c
}

// take takes the directions along which the spectra vary by more than rounding.
func (b *Baseline) take(variances []float64, axes *mat.Dense) {
	for a, v := range variances {
		if v <= 1e-12*variances[0] {
			return
		}
		b.Variance = append(b.Variance, v)
		b.Usual = append(b.Usual, axes.RawRowView(a)...)
	}
}

// residual fills in the variance a channel beyond the usual directions, with a floor so that a channel that never
// moved in a short training does not decide alone.
func (b *Baseline) residual(c *mat.Dense) {
	rows, p := c.Dims()
	e := make([]float64, p)
	total := 0.0
	for i := range rows {
		copy(e, c.RawRowView(i))
		for a := range b.Variance {
			u := b.Usual[a*p : (a+1)*p]
			t := dot(u, e)
			for j := range e {
				e[j] -= t * u[j]
			}
		}
		for j, v := range e {
			b.Noise[j] += v * v / float64(rows-1)
		}
	}
	for _, v := range b.Noise {
		total += v
	}
	floor := max(0.01*total/float64(p), 1e-16)
	for j := range b.Noise {
		b.Noise[j] = max(b.Noise[j], floor)
	}
}

// spread measures how far each effect's size wanders over good spectra.
func (b *Baseline) spread(axis *spectrum.Axis, c *mat.Dense) {
	rows, _ := c.Dims()
	s := newSolver(b, axis)
	for i := range rows {
		for e, v := range s.sizes(c.RawRowView(i)) {
			b.Spread[e] += v * v / float64(rows-1)
		}
	}
	for e := range b.Spread {
		b.Spread[e] = math.Sqrt(b.Spread[e])
	}
}

func dot(a, b []float64) float64 {
	sum := 0.0
	for i, v := range a {
		sum += v * b[i]
	}
	return sum
}
