package limits

import (
	"fmt"
	"math"
)

// Validate reports whether the parts of limits that were read from a file fit together and a model of k components.
func (l *Limits) Validate(k int) error {
	d := k + 1
	if len(l.Center) != d || len(l.Scale) != d {
		return fmt.Errorf("limits of %d features for %d components, expected %d", len(l.Center), k, d)
	}
	for _, v := range append([]float64{l.T2, l.Q, l.Clip}, l.Scale...) {
		if !(v > 0) || math.IsInf(v, 0) {
			return fmt.Errorf("a limit or a scale is %g", v)
		}
	}
	for i, q := range l.Questions {
		if q.From < 0 || q.To <= q.From || q.To > d {
			return fmt.Errorf("question %d is about features %d to %d of %d", i+1, q.From+1, q.To, d)
		}
		if n := (q.To - q.From) * (q.To - q.From + 1) / 2; len(q.White) != n {
			return fmt.Errorf("question %d has a matrix of %d values, expected %d", i+1, len(q.White), n)
		}
		if !(q.Threshold > 0) || !(q.R > 0) || q.R > 1 {
			return fmt.Errorf("question %d has the threshold %g and the weight %g", i+1, q.Threshold, q.R)
		}
	}
	return nil
}
