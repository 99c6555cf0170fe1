package limits

import (
	"fmt"
	"math"
	"slices"
)

// Validate reports whether the parts of limits that were read from a file fit together and a model of k components.
func (l *Limits) Validate(k int) error {
	d := k + 1 + l.Parts
	if l.Parts < 0 || len(l.Center) != d || len(l.Scale) != d {
		return fmt.Errorf("limits of %d features for %d components and %d stretches, expected %d", len(l.Center), k, l.Parts, d)
	}
	for _, v := range append([]float64{l.T2, l.Q, l.Clip}, l.Scale...) {
		if !(v > 0) || math.IsInf(v, 0) {
			return fmt.Errorf("a limit or a scale is %g", v)
		}
	}
	if len(l.Questions) == 0 || len(l.Questions)%memories != 0 {
		return fmt.Errorf("%d questions, expected %d of each group", len(l.Questions), memories)
	}
	for i, q := range l.Questions {
		if err := group(q.From, q.To, d, len(q.White)); err != nil {
			return fmt.Errorf("question %d %w", i+1, err)
		}
		if !(q.Threshold > 0) || !(q.R > 0) || q.R > 1 {
			return fmt.Errorf("question %d has the threshold %g and the weight %g", i+1, q.Threshold, q.R)
		}
	}
	if !(l.Base > 0 && l.Base <= 1) {
		return fmt.Errorf("the mean of a run takes in the newest spectrum with a weight of %g, expected more than 0 and up to 1", l.Base)
	}
	if l.Warm < 1 || l.Gap < 0 {
		return fmt.Errorf("a run that is warm after %d spectra and over after %v", l.Warm, l.Gap)
	}
	for i, q := range l.Leaps {
		if err := q.validate(d); err != nil {
			return fmt.Errorf("leap %d %w", i+1, err)
		}
	}
	return nil
}

// group reports whether a group of features and its matrix of so many values fit.
func group(from, to, d, values int) error {
	if from < 0 || to <= from || to > d {
		return fmt.Errorf("is about features %d to %d of %d", from+1, to, d)
	}
	if n := (to - from) * (to - from + 1) / 2; values != n {
		return fmt.Errorf("has a matrix of %d values, expected %d", values, n)
	}
	return nil
}

func (q *Leap) validate(d int) error {
	if err := group(q.From, q.To, d, len(q.White)); err != nil {
		return err
	}
	if n := q.To - q.From; len(q.Phi) != n || len(q.Sigma) != n {
		return fmt.Errorf("has %d correlations and %d spreads for %d features", len(q.Phi), len(q.Sigma), n)
	}
	for c, phi := range q.Phi {
		if !(phi >= 0 && phi < 1) || !(q.Sigma[c] > 0) {
			return fmt.Errorf("has the correlation %g and the spread %g", phi, q.Sigma[c])
		}
	}
	if n := len(q.Inflate); n < 1 || n > mostOctaves {
		return fmt.Errorf("has %d octaves, expected 1 to %d", n, mostOctaves)
	}
	if d := q.To - q.From; len(q.Turn) != 0 && len(q.Turn) != d*d {
		return fmt.Errorf("has a turn of %d values, expected %d", len(q.Turn), d*d)
	}
	if d := q.To - q.From; len(q.Widen) != 0 && len(q.Widen) != d*len(q.Inflate) {
		return fmt.Errorf("has %d factors for %d octaves of %d features", len(q.Widen), len(q.Inflate), d)
	}
	for _, v := range slices.Concat([]float64{q.Base, q.Stray, q.Threshold}, q.Inflate, q.Widen) {
		if !(v > 0) || math.IsInf(v, 0) {
			return fmt.Errorf("has a threshold, a base or a factor of %g", v)
		}
	}
	return nil
}
