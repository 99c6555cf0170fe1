package project

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/floats"
)

// A PCA is a fitted model of k components. It does not change, and is safe for concurrent use.
type PCA struct {
	Mean        []float64  `json:"mean"`        // x̄, p
	Loadings    []float64  `json:"loadings"`    // P, k×p row by row, orthonormal rows; in each the value of largest magnitude is positive
	K           int        `json:"k"`           // components
	P           int        `json:"p"`           // channels
	N           int        `json:"n"`           // training spectra
	Eigenvalues []float64  `json:"eigenvalues"` // λ, k, falling; of the covariance with divisor n−1
	Theta       [3]float64 `json:"theta"`       // Σλ, Σλ², Σλ³ over the components left out; see FitCovariance

	shift []float64 // P·x̄, so that t = P·x − shift
	floor float64   // the squared rounding of the mean
}

// Loading returns row i of the loadings: not a copy.
func (m *PCA) Loading(i int) []float64 { return m.Loadings[i*m.P : (i+1)*m.P : (i+1)*m.P] }

// Scores fills t with the scores of x:
//
//	t = P(x − x̄) = Px − Px̄
//
// len(t) must be K and len(x) must be P. The second form spares a pass over the spectrum; what its difference costs in
// digits is the rounding of ‖x‖, far below any noise.
func (m *PCA) Scores(t, x []float64) {
	m.fits(x, t)
	for i := range t {
		p := m.Loading(i)
		if m.shift != nil {
			t[i] = floats.Dot(p, x) - m.shift[i]
		} else {
			t[i] = floats.Dot(p, x) - floats.Dot(p, m.Mean)
		}
	}
}

// near is the share of the squared distance from the mean below which Q is computed channel by channel: above it the
// difference of squares still has 12 digits.
const near = 1e-4

// SquaredResidual returns Q = ‖x−x̂‖² of the spectrum x with the scores t, which is never negative:
//
//	Q = ‖x−x̄‖² − ‖t‖²
//
// and, where that would lose digits, the sum of the squared residuals themselves.
func (m *PCA) SquaredResidual(x, t []float64) float64 {
	m.fits(x, t)
	ss := distance2(x, m.Mean)
	q := ss
	for _, v := range t {
		q -= v * v
	}
	if q > near*ss {
		return q
	}
	if q = m.squares(x, t); q <= 16*epsilon*epsilon*ss+m.floor {
		return 0 // no more than the rounding of the spectrum
	}
	return q
}

// squares returns Σeⱼ² in parts that fit on the stack, without scratch.
func (m *PCA) squares(x, t []float64) float64 {
	var e [64]float64
	var q float64
	for from := 0; from < m.P; from += len(e) {
		to := min(from+len(e), m.P)
		part := e[:to-from]
		m.residual(part, x, t, from)
		for _, v := range part {
			q += v * v
		}
	}
	return q
}

// residual fills e with the residual in the channels from on.
func (m *PCA) residual(e, x, t []float64, from int) {
	to := from + len(e)
	for j, v := range x[from:to] {
		e[j] = v - m.Mean[from+j]
	}
	for i, v := range t {
		p := m.Loading(i)[from:to]
		for j := range e { // a loop, since what assembly is given goes to the heap
			e[j] -= v * p[j]
		}
	}
}

// Residual fills e with the residual of the spectrum x with the scores t. len(e) must be P; e may be x.
func (m *PCA) Residual(e, x, t []float64) {
	m.fits(e, t)
	m.fits(x, t)
	m.residual(e, x, t, 0)
}

// Reconstruct fills x with the spectrum that the scores t stand for, x̂ = x̄ + Pᵀt. Its own scores are t, and its
// residual is 0. len(x) must be P and len(t) must be K.
func (m *PCA) Reconstruct(x, t []float64) {
	m.fits(x, t)
	copy(x, m.Mean)
	for i, v := range t {
		floats.AddScaled(x, v, m.Loading(i))
	}
}

// fits panics where a caller mixed up models: lengths are checked at the door, when a spectrum is resampled.
func (m *PCA) fits(x, t []float64) {
	if len(x) != m.P || len(t) != m.K {
		panic(fmt.Sprintf("project: a model of %d components and %d channels got %d scores and %d channels", m.K, m.P, len(t), len(x)))
	}
}

// distance2 returns ‖x−y‖².
func distance2(x, y []float64) float64 {
	y = y[:len(x)]
	var a, b, c, d float64
	i := 0
	for ; i+4 <= len(x); i += 4 {
		v, w := x[i:i+4:i+4], y[i:i+4:i+4]
		e, f, g, h := v[0]-w[0], v[1]-w[1], v[2]-w[2], v[3]-w[3]
		a += e * e
		b += f * f
		c += g * g
		d += h * h
	}
	for ; i < len(x); i++ {
		e := x[i] - y[i]
		a += e * e
	}
	return (a + b) + (c + d)
}

// finish fixes the signs, so that the same spectra give the same loadings whatever the way to them, and makes the
// model ready for use.
func (m *PCA) finish() *PCA {
	for i := range m.K {
		p := m.Loading(i)
		var top float64
		for _, v := range p {
			top = max(top, math.Abs(v))
		}
		for _, v := range p {
			if math.Abs(v) < top*(1-1e-9) { // of values that only rounding tells apart, the first decides
				continue
			}
			if v < 0 {
				floats.Scale(-1, p)
			}
			break
		}
	}
	m.ready()
	return m
}

// ready works out what Scores and SquaredResidual need.
func (m *PCA) ready() {
	m.floor = 16 * epsilon * epsilon * floats.Dot(m.Mean, m.Mean)
	m.shift = make([]float64, m.K)
	for i := range m.shift {
		m.shift[i] = floats.Dot(m.Loading(i), m.Mean)
	}
}
