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
	at := 0
	for _, r := range s.Runs {
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
