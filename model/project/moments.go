package project

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/blas/blas64"
	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/mat"
)

// Moments are the count, the sum and the sum of products of spectra, from which their mean and covariance follow.
// They are gathered a spectrum or a block at a time, so that the spectra need not be held, and those of runs can be
// put together: what is left when a run is held out (FitWithout) needs no second look at the others.
//
// All is counted from an origin, which must be one and the same for moments that are put together. The nearer it is
// to the mean, the fewer digits are lost where moments are taken away: a typical spectrum is near enough.
//
// With d = x − origin, n spectra have the mean origin + Σd/n and the covariance (Σddᵀ − (Σd)(Σd)ᵀ/n)/(n−1).
//
// Moments are not safe for concurrent use, but for FitWithout once nothing is pending: call Mean first.
type Moments struct {
	n       int
	origin  []float64
	sum     []float64
	cross   square // upper triangle
	pending blas64.General
	turned  []float64 // room for its transpose
}

// NewMoments returns moments of no spectra, counted from the origin, which it copies.
func NewMoments(origin []float64) *Moments {
	p := len(origin)
	return &Moments{
		origin:  append([]float64(nil), origin...),
		sum:     make([]float64, p),
		cross:   newSquare(p),
		pending: blas64.General{Cols: p, Stride: p, Data: make([]float64, chunk*p)},
	}
}

// Reset forgets all spectra. The origin stays.
func (m *Moments) Reset() {
	m.n, m.pending.Rows = 0, 0
	clear(m.sum)
	clear(m.cross.Data)
}

// N returns the number of spectra.
func (m *Moments) N() int { return m.n + m.pending.Rows }

// P returns the number of channels.
func (m *Moments) P() int { return len(m.origin) }

// Add takes in the spectra of x, one a row.
func (m *Moments) Add(x *mat.Dense) error {
	n, _ := x.Dims()
	for i := range n {
		if err := m.AddSpectrum(x.RawRowView(i)); err != nil {
			return err
		}
	}
	return nil
}

// AddSpectrum takes in one spectrum, which it does not keep.
func (m *Moments) AddSpectrum(x []float64) error {
	if len(x) != m.P() {
		return fmt.Errorf("moments of %d channels: a spectrum has %d", m.P(), len(x))
	}
	d := m.pending.Data[m.pending.Rows*m.P():][:m.P()]
	var odd float64
	for j, v := range x {
		d[j] = v - m.origin[j]
		odd += 0 * d[j]
	}
	if odd != 0 {
		return fmt.Errorf("moments: spectrum %d has a value that is not a finite number", m.N()+1)
	}
	m.pending.Rows++
	if m.pending.Rows == chunk {
		m.flush()
	}
	return nil
}

// flush adds up what is pending: products of many spectra at once are several times quicker than one by one.
func (m *Moments) flush() {
	if m.pending.Rows == 0 {
		return
	}
	for i := range m.pending.Rows {
		floats.Add(m.sum, m.pending.Data[i*m.P():(i+1)*m.P()])
	}
	m.turned = m.cross.addProducts(m.pending, 1, m.turned)
	m.n += m.pending.Rows
	m.pending.Rows = 0
}

// Merge takes in all the spectra of o.
func (m *Moments) Merge(o *Moments) error {
	if !floats.Same(m.origin, o.origin) {
		return fmt.Errorf("moments counted from different origins cannot be put together")
	}
	m.flush()
	o.flush()
	m.n += o.n
	floats.Add(m.sum, o.sum)
	floats.Add(m.cross.Data, o.cross.Data)
	return nil
}

// Mean returns the mean spectrum of at least one spectrum.
func (m *Moments) Mean() []float64 {
	m.flush()
	mean := make([]float64, m.P())
	floats.AddScaledTo(mean, m.origin, 1/float64(m.n), m.sum)
	return mean
}

// covariance returns the covariance of the spectra of m without those of o, which may be nil.
func (m *Moments) covariance(o *Moments) square {
	p, n := m.P(), m.n
	c, sum := newSquare(p), append([]float64(nil), m.sum...)
	copy(c.Data, m.cross.Data)
	if o != nil {
		n -= o.n
		floats.Sub(sum, o.sum)
		floats.Sub(c.Data, o.cross.Data)
	}
	scale := 1 / float64(n-1)
	for i := range p {
		row := c.Data[i*p+i : (i+1)*p]
		f := sum[i] / float64(n)
		for j := range row {
			row[j] = (row[j] - f*sum[i+j]) * scale
		}
		row[0] = math.Max(row[0], 0)
	}
	return c
}

// Fit returns the model of k components of the spectra; see FitCovariance.
func (m *Moments) Fit(k int, warm *PCA) (*PCA, error) { return m.FitWithout(nil, k, warm) }

// FitWithout returns the model of the spectra of m without those of run, which must be among them and may be nil.
// Neither is changed. See FitCovariance for warm.
func (m *Moments) FitWithout(run *Moments, k int, warm *PCA) (*PCA, error) {
	m.flush()
	n, mean := m.n, append([]float64(nil), m.sum...)
	if run != nil {
		run.flush()
		if !floats.Same(m.origin, run.origin) {
			return nil, fmt.Errorf("moments counted from different origins cannot be taken away")
		}
		n -= run.n
		floats.Sub(mean, run.sum)
	}
	if err := sizes(n, m.P(), k); err != nil {
		return nil, err
	}
	floats.Scale(1/float64(n), mean)
	floats.Add(mean, m.origin)
	return fitSquare(mean, m.covariance(run), n, k, warm)
}
