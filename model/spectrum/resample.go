package spectrum

import (
	"fmt"
	"math"
	"slices"
)

// taps is how many neighbours a resampled value is made of.
const taps = 4

// A Resampler brings spectra from one axis to another. Each value is that of the cubic through the
// four channels nearest to its position,
//
//	y(x) = Σ_i y_i Π_{j≠i} (x − x_j) / (x_i − x_j)    i, j over two channels on each side of x
//
// (Lagrange's interpolation formula; Abramowitz and Stegun, Handbook of Mathematical Functions,
// 1964, section 25.2), so it is exact for polynomials in the position up to degree 3, on regular
// and irregular axes alike. Positions are compared in the unit of the axis that spectra come from.
// In the first and the last gap of that axis the four channels at its end are used; outside it
// there is no value. On an axis of fewer than four channels the degree is lower by as many.
//
// It is not monotone: beside a step from one channel to the next it overshoots by up to 6.4 % of
// the step, in the first and last gap by up to 25 %. It does not smooth: onto a much coarser axis
// it picks up the noise of single channels.
//
// A Resampler does not change and may be used by several goroutines.
type Resampler struct {
	from, to *Axis
	same     bool
	reversed bool
	n        int // neighbours, at most taps
	start    []int32
	weight   []float64 // n for each channel of to
}

// reachTolerance is how far, as a share of the position, an end may lie outside and still be taken
// for the end of the axis: chosen so that rounding in the conversion of units, some 10⁻¹⁶, is never
// taken for a gap.
const reachTolerance = 1e-12

// NewResampler returns the Resampler for spectra on the axis from to the axis to. It is an error if
// from does not cover all of to, or if their units do not convert. A bare channel index says
// nothing of positions, so such axes must be equal.
func NewResampler(from, to *Axis) (*Resampler, error) {
	r := &Resampler{from: from, to: to}
	if from.Equal(to) {
		r.same = true
		return r, nil
	}
	if from.unit == Channel || to.unit == Channel {
		return nil, fmt.Errorf("the spectrum has %v, the reference %v; bare channels can only be compared with the same channels", from, to)
	}
	at := make([]float64, len(to.at))
	for i, v := range to.at {
		c, err := convert(v, to.unit, from.unit)
		if err != nil {
			return nil, err
		}
		at[i] = c
	}
	lo, hi := from.Range()
	for i, v := range at {
		if v < lo-reachTolerance*math.Abs(lo) || v > hi+reachTolerance*math.Abs(hi) {
			return nil, fmt.Errorf("the spectrum covers %s, the reference needs %s; nothing is extrapolated", r.span(from, to.unit), r.span(to, to.unit))
		}
		at[i] = min(max(v, lo), hi)
	}
	r.plan(at)
	return r, nil
}

// span says the range of an axis in a unit.
func (r *Resampler) span(a *Axis, u Unit) string {
	lo, hi := a.Range()
	l, err1 := convert(lo, a.unit, u)
	h, err2 := convert(hi, a.unit, u)
	if err1 != nil || err2 != nil {
		l, h, u = lo, hi, a.unit
	}
	return fmt.Sprintf("%.6g–%.6g %s", min(l, h), max(l, h), u.Symbol())
}

// plan finds the neighbours and the weights of each position.
func (r *Resampler) plan(at []float64) {
	x := r.from.at
	if r.reversed = !r.from.Rising(); r.reversed {
		x = slices.Clone(x)
		slices.Reverse(x)
	}
	p := len(x)
	r.n = min(taps, p)
	r.start = make([]int32, len(at))
	r.weight = make([]float64, 0, r.n*len(at))
	for i, v := range at {
		k, _ := slices.BinarySearch(x, v) // x[k-1] < v <= x[k]
		s := min(max(k-r.n/2, 0), p-r.n)
		for a := s; a < s+r.n; a++ {
			w := 1.0
			for b := s; b < s+r.n; b++ {
				if b != a {
					w *= (v - x[b]) / (x[a] - x[b])
				}
			}
			r.weight = append(r.weight, w)
		}
		if r.reversed { // weights in the order of the channels as they are
			slices.Reverse(r.weight[i*r.n:])
			s = p - r.n - s
		}
		r.start[i] = int32(s)
	}
}

// Identity reports whether both axes are equal, so that Apply only copies.
func (r *Resampler) Identity() bool { return r.same }

// Span returns the channels [from, to) of the axis From that Apply looks at.
func (r *Resampler) Span() (from, to int) {
	if r.same {
		return 0, r.from.Len()
	}
	first, last := int(r.start[0]), int(r.start[len(r.start)-1])
	return min(first, last), max(first, last) + r.n
}

// Apply fills dst, of the length of the axis brought to, with src, of the length of the axis brought from. It does
// not allocate and panics if a length is wrong. dst and src must not overlap.
func (r *Resampler) Apply(dst, src []float64) {
	if len(dst) != r.to.Len() || len(src) != r.from.Len() {
		panic(fmt.Sprintf("spectrum: Resampler.Apply: lengths %d and %d, want %d and %d", len(dst), len(src), r.to.Len(), r.from.Len()))
	}
	if r.same {
		copy(dst, src)
		return
	}
	if r.n == taps {
		for i, s := range r.start {
			w, y := r.weight[i*taps:i*taps+taps], src[s:s+taps]
			dst[i] = w[0]*y[0] + w[1]*y[1] + w[2]*y[2] + w[3]*y[3]
		}
		return
	}
	for i, s := range r.start {
		dst[i] = 0
		for k := range r.n {
			dst[i] += r.weight[i*r.n+k] * src[int(s)+k]
		}
	}
}
