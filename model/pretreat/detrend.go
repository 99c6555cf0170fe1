package pretreat

import (
	"fmt"

	"gonum.org/v1/gonum/floats"

	"asusual/model/spectrum"
)

// detrend subtracts the polynomial in the axis that fits the spectrum best in the sense of least squares.
// Source: Barnes, Dhanoa, Lister (1989), where the degree is 2.
//
// The polynomials are orthonormal over the positions of the channels, mapped to −1 … 1, so that each takes its part
// away on its own: y = x − Σₖ bₖ(bₖ·x). Any polynomial of that degree that is added to a spectrum vanishes.
type detrend struct{ basis [][]float64 } // orthonormal, one polynomial a row

// newDetrend needs more channels than the degree; with as many, nothing would be left.
func newDetrend(a *spectrum.Axis, degree int) (*detrend, error) {
	if degree >= a.Len() {
		return nil, fmt.Errorf("detrend: a polynomial of degree %d follows all of %d channels; use a lower degree", degree, a.Len())
	}
	lo, hi := a.Range()
	u := a.Values()
	for i, v := range u {
		u[i] = (2*v - lo - hi) / (hi - lo)
	}
	return &detrend{basis: orthonormal(u, degree).value}, nil
}

func (d *detrend) len() int      { return len(d.basis[0]) }
func (d *detrend) inPlace() bool { return true }
func (d *detrend) gain() float64 { return float64(2 + len(d.basis)) }

func (d *detrend) apply(dst, src []float64, _ float64) error {
	for _, b := range d.basis {
		floats.AddScaledTo(dst, src, -floats.Dot(b, src), b)
		src = dst
	}
	return nil
}
