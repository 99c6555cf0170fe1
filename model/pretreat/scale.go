package pretreat

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/floats"

	"asusual/model/spectrum"
)

// flat is the spread, as a share of the largest value, below which a spectrum counts as constant: what is left of a
// constant after arithmetic is below it, and the steps of a 24-bit detector, 6e-8, are above it.
const flat = 1e-10

// snv is the standard normal variate of spectra of that length:
//
//	y = (x − x̄)/s,  s² = Σ(x−x̄)²/(p−1)
//
// Source: Barnes, Dhanoa, Lister, "Standard Normal Variate Transformation and De-Trending of Near-Infrared Diffuse
// Reflectance Spectra", Applied Spectroscopy 43 (1989), 772–777, eq. 1.
//
// Offset and factor of a spectrum vanish: SNV(a + b·x) = SNV(x) for b > 0. A spectrum that is constant, but for
// rounding, is ErrFlat. The mean is taken first and the squares about it, so that an offset costs no digits.
type snv int

func (n snv) len() int      { return int(n) }
func (n snv) inPlace() bool { return true }
func (n snv) gain() float64 { return 0 }

func (n snv) apply(dst, src []float64, floor float64) error {
	mean, ss, top := spread(src)
	p := float64(len(src))
	if constant(ss, top, floor, p) {
		return ErrFlat
	}
	scale := 1 / math.Sqrt(ss/(p-1))
	dst = dst[:len(src)]
	for i, v := range src {
		dst[i] = (v - mean) * scale
	}
	return nil
}

// constant reports whether p values with that sum of squares about their mean, and none above top, are all the same.
func constant(ss, top, floor, p float64) bool {
	floor = max(floor, flat*top)
	return ss <= p*floor*floor
}

// spread returns the mean of x, the sum of squares about it and a bound on the largest magnitude.
func spread(x []float64) (mean, ss, top float64) {
	mean = sum(x) / float64(len(x))
	var a, b, c, d float64
	i := 0
	for ; i+4 <= len(x); i += 4 {
		v := x[i : i+4 : i+4]
		e, f, g, h := v[0]-mean, v[1]-mean, v[2]-mean, v[3]-mean
		a += e * e
		b += f * f
		c += g * g
		d += h * h
	}
	for ; i < len(x); i++ {
		e := x[i] - mean
		a += e * e
	}
	ss = (a + b) + (c + d)
	return mean, ss, math.Abs(mean) + math.Sqrt(ss)
}

// sum adds in four parts, which keeps the additions from waiting for each other, and halves the rounding.
func sum(x []float64) float64 {
	var a, b, c, d float64
	i := 0
	for ; i+4 <= len(x); i += 4 {
		v := x[i : i+4 : i+4]
		a += v[0]
		b += v[1]
		c += v[2]
		d += v[3]
	}
	for ; i < len(x); i++ {
		a += x[i]
	}
	return (a + b) + (c + d)
}

// msc is multiplicative scatter correction against a reference spectrum r:
//
//	y = (x − a)/b,  a and b from the least-squares line x ≈ a + b·r
//
// Source: Geladi, MacDougall, Martens, "Linearization and Scatter-Correction for Near-Infrared Reflectance Spectra
// of Meat", Applied Spectroscopy 39 (1985), 491–500.
//
// A spectrum a + b·r becomes r itself, whatever a and b ≠ 0. One that has no likeness to r (b = 0 but for rounding)
// is ErrFlat; a negative b, which upends the spectrum, is not: that it does not belong is for others to say.
type msc struct {
	mean float64   // of the reference spectrum
	away []float64 // the reference spectrum minus its mean
	ss   float64   // sum of squares of away
}

// newMSC refuses a reference spectrum that is flat or not finite, which would make every spectrum so.
func newMSC(ref []float64) (*msc, error) {
	if err := finite(ref); err != nil {
		return nil, fmt.Errorf("msc: the reference spectrum: %w", err)
	}
	mean, ss, top := spread(ref)
	if constant(ss, top, 0, float64(len(ref))) {
		return nil, fmt.Errorf("msc: the reference spectrum is flat, at %.4g in all %d channels", mean, len(ref))
	}
	m := &msc{mean: mean, away: make([]float64, len(ref)), ss: ss}
	for i, v := range ref {
		m.away[i] = v - mean
	}
	return m, nil
}

func (m *msc) len() int      { return len(m.away) }
func (m *msc) inPlace() bool { return true }
func (m *msc) gain() float64 { return 0 }

func (m *msc) apply(dst, src []float64, floor float64) error {
	mean, ss, top := spread(src)
	b := floats.Dot(m.away, src) / m.ss
	if constant(ss, top, floor, float64(len(src))) || b*b*m.ss <= flat*flat*ss {
		return ErrFlat
	}
	scale := 1 / b
	dst = dst[:len(src)]
	for i, v := range src {
		dst[i] = (v-mean)*scale + m.mean // a = x̄ − b·r̄
	}
	return nil
}

// offset subtracts a level: the mean of the channels from (the first) to to (one after the last), or, where there are
// none, the minimum. The minimum follows the noise of one channel; a range where nothing absorbs is better, if known.
type offset struct{ n, from, to int }

func newOffset(a *spectrum.Axis, s Step) (offset, error) {
	o := offset{n: a.Len()}
	if s.From == s.To {
		return o, nil
	}
	o.from, o.to = within(a, s)
	if o.from == o.to {
		return o, outside(a, s)
	}
	return o, nil
}

func (o offset) len() int      { return o.n }
func (o offset) inPlace() bool { return true }
func (o offset) gain() float64 { return 2 }

func (o offset) apply(dst, src []float64, _ float64) error {
	var low float64
	if o.to > o.from {
		low = sum(src[o.from:o.to]) / float64(o.to-o.from)
	} else {
		low = src[0]
		for _, v := range src {
			if v < low {
				low = v
			}
		}
	}
	dst = dst[:len(src)]
	for i, v := range src {
		dst[i] = v - low
	}
	return nil
}
