package holdout

import (
	"fmt"
	"time"

	"asusual/model/spectrum"

	"gonum.org/v1/gonum/mat"
)

// A Set is known-good spectra, run by run and in order of time within a run.
type Set struct {
	Axis  *spectrum.Axis
	X     *mat.Dense  // n×p raw absorbances, one spectrum a row
	Times []time.Time // n, or nil where nothing is known; of one run they rise
	Runs  []Range     // cover the rows in order
}

// A Range is a run: rows From up to but not including To.
type Range struct {
	Name     string
	From, To int
}

// Len returns the number of spectra of the run.
func (r Range) Len() int { return r.To - r.From }

func (s Set) validate() error {
	n, p := s.X.Dims()
	if s.Axis != nil && s.Axis.Len() != p {
		return fmt.Errorf("known-good spectra: %d channels on an axis of %d", p, s.Axis.Len())
	}
	if s.Times != nil && len(s.Times) != n {
		return fmt.Errorf("known-good spectra: %d times of %d spectra", len(s.Times), n)
	}
	return Cover(s.Runs, n)
}

// Cover returns an error for runs that do not cover n rows in order.
func Cover(runs []Range, n int) error {
	at := 0
	for _, r := range runs {
		if r.From != at || r.To <= r.From {
			return fmt.Errorf("run %s: rows %d to %d, expected them to begin at %d and to hold at least one", r.Name, r.From, r.To, at)
		}
		at = r.To
	}
	if at != n {
		return fmt.Errorf("known-good spectra: runs cover %d rows of %d", at, n)
	}
	return nil
}

// Mean returns the mean spectrum: that of a thousand spectra, evenly taken, where there are more. It is good enough for where bands
// can stand and what they do to a spectrum.
func (s Set) Mean() []float64 {
	const most = 1000
	n, p := s.X.Dims()
	mean, rows := make([]float64, p), min(n, most)
	for i := range rows {
		for c, v := range s.X.RawRowView(i * n / rows) {
			mean[c] += v / float64(rows)
		}
	}
	return mean
}

// Coarse averages neighbouring channels until at most so many are left, and returns how many became one.
func Coarse(x *mat.Dense, most int) (y *mat.Dense, by int) {
	n, p := x.Dims()
	by = (p + most - 1) / most
	if by == 1 {
		return x, 1
	}
	y = mat.NewDense(n, p/by, nil) // a few channels at the end may be left out
	for i := range n {
		src, dst := x.RawRowView(i), y.RawRowView(i)
		for j := range dst {
			for _, v := range src[j*by : (j+1)*by] {
				dst[j] += v / float64(by)
			}
		}
	}
	return y, by
}
