package pretreat

import (
	"fmt"
	"math"

	"asusual/model/spectrum"
)

// filter is a Savitzky–Golay filter: each value becomes the value, or the derivative per axis unit, of the polynomial
// that fits the channels of a window about it best. The window of a channel are the channels no further than half the
// window away from it. At the ends, the polynomial of the first and last full window is read off ("polynomial fit").
//
// A filter never reaches across a gap in the axis: the stretches on both sides are filtered on their own. A stretch is
// filtered with one set of weights where its spacing is even, else with weights for the real position of each
// channel; see even. The derivative is with respect to the axis, whether it rises or falls.
//
// Source: Savitzky, Golay, "Smoothing and Differentiation of Data by Simplified Least Squares Procedures", Analytical
// Chemistry 36 (1964), 1627–1639; ends: Gorry, Analytical Chemistry 62 (1990), 570–573.
type filter struct {
	n    int
	runs []smoother
}

// A smoother filters one stretch.
type smoother interface {
	apply(dst, src []float64) // both are the whole spectrum
	gain() float64            // the largest sum of magnitudes of the weights of a channel
}

// newFilter makes the smoother of each stretch ready; an error names the step and the stretch.
func newFilter(a *spectrum.Axis, s Step) (*filter, error) {
	f := &filter{n: a.Len()}
	at := a.Values()
	for _, st := range stretches(at) {
		z := at[st.from:st.to]
		var sm smoother
		var err error
		if h, ok := even(z); ok {
			sm, err = newEven(st, z, h, s)
		} else {
			sm, err = newUneven(st, z, s)
		}
		if err != nil {
			return nil, fmt.Errorf("%s: %w", s.words(a.Unit()), err)
		}
		f.runs = append(f.runs, sm)
	}
	return f, nil
}

func (f *filter) len() int      { return f.n }
func (f *filter) inPlace() bool { return false }

func (f *filter) gain() float64 {
	var g float64
	for _, r := range f.runs {
		g = max(g, r.gain())
	}
	return g
}

func (f *filter) apply(dst, src []float64, _ float64) error {
	for _, r := range f.runs {
		r.apply(dst, src)
	}
	return nil
}

// A stretch is a range of channels without a gap: first and one after the last.
type stretch struct{ from, to int }

func (s stretch) len() int { return s.to - s.from }

// stretches cuts the axis at its gaps. A gap is a spacing more than three times the smaller one beside it: a range
// left out, or the seam between two detectors, but not the slow change of spacing along a grating or of a wavenumber
// grid given in nanometres.
func stretches(at []float64) []stretch {
	var list []stretch
	from := 0
	for i := 1; i < len(at); i++ {
		beside := math.Inf(1)
		if i > 1 {
			beside = math.Abs(at[i-1] - at[i-2])
		}
		if i+1 < len(at) {
			beside = min(beside, math.Abs(at[i+1]-at[i]))
		}
		if math.Abs(at[i]-at[i-1]) > 3*beside {
			list, from = append(list, stretch{from, i}), i
		}
	}
	return append(list, stretch{from, len(at)})
}

// even reports whether the positions are evenly spaced, and the spacing, which is negative on a falling axis: no
// channel may lie further than a tenth of a spacing from the straight line between the ends. That lets positions through
// that were printed with few decimals; what filters take for their place is then the line, not the rounded position.
func even(z []float64) (h float64, ok bool) {
	n := len(z)
	if n < 2 {
		return 1, true
	}
	h = (z[n-1] - z[0]) / float64(n-1)
	for i, v := range z {
		if math.Abs(v-(z[0]+float64(i)*h)) > 0.1*math.Abs(h) {
			return h, false
		}
	}
	return h, true
}

// tie lets a channel that lies half a window away, but for rounding, be in the window.
const tie = 1 + 1e-9

// tooFew says that a window is too narrow for the polynomial.
func tooFew(channels, degree int, where float64) error {
	return fmt.Errorf("the window holds %d channels at %.6g, and a polynomial of degree %d needs at least %d; use a wider window or a lower degree",
		channels, where, degree, degree+1)
}

// tooShort says that a stretch has no room for one window.
func tooShort(channels int, from, to float64) error {
	return fmt.Errorf("the window is wider than the %d channels of the stretch %.6g to %.6g; use a narrower window, or leave the stretch out", channels, from, to)
}
