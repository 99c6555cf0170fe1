package condition

import (
	"fmt"
	"slices"
	"time"

	"asusual/model/finding"
	"asusual/model/holdout"
	"asusual/model/limits"
	"asusual/model/position"
)

// A Sample is the spectra that somebody called by the name of a condition, pretreated as the reference does.
type Sample struct {
	Name  string
	Set   holdout.Set // pretreated; its Axis is the chain's outgoing one
	Looks []Look      // of each spectrum, before pretreatment
}

const (
	// fewest spectra make a class: with fewer, no blocks of time can be held out for its limits.
	fewest = 15
	// mostComponents bounds a class: it has to know its own place, not to describe every way through it.
	mostComponents = 5
	// alpha is the share of a condition's own spectra that may lie outside its limits.
	alpha = 0.01
)

// A Fitted is a class, and how its own spectra lay while they were held out.
type Fitted struct {
	Class    *Class
	Distance []float64 // of each spectrum of the sample from the class, held out
}

// Fit learns the class of a sample: the number of components and the limits on whole runs held out, or blocks of time
// where there are few runs. each runs f(0) … f(n−1), perhaps at once; nil runs them one after another.
func Fit(s Sample, each func(n int, f func(i int))) (*Fitted, error) {
	n, _ := s.Set.X.Dims()
	if n < fewest {
		return nil, fmt.Errorf("condition %s: %d spectra, at least %d are needed", s.Name, n, fewest)
	}
	opt := holdout.Options{Each: each}
	choice, err := holdout.ChooseK(s.Set, opt, mostComponents)
	if err != nil {
		return nil, fmt.Errorf("condition %s: %w", s.Name, err)
	}
	opt.K = choice.K
	placed, err := holdout.Tracks(s.Set, opt)
	if err != nil {
		return nil, fmt.Errorf("condition %s: %w", s.Name, err)
	}
	learned, err := limits.Learn(placed.Tracks, placed.Whole.Eigenvalues, limits.Options{Alpha: alpha})
	if err != nil {
		return nil, fmt.Errorf("condition %s: %w", s.Name, err)
	}
	c := &Class{Name: s.Name, PCA: placed.Whole, T2: learned.T2, Q: learned.Q, Gate: newGate(slices.Clone(s.Looks)), Runs: len(s.Set.Runs), Spectra: n, Longest: longest(s.Set)}
	for _, f := range placed.Findings {
		c.Findings = append(c.Findings, finding.Of(f.Kind, s.Name, f.Values...))
	}
	out := &Fitted{Class: c, Distance: make([]float64, n)}
	for i, t := range placed.Tracks {
		for j, p := range t.Points {
			out.Distance[placed.Rows[i].From+j] = max(position.Distance(p.T2, c.T2, p.Q, c.Q), c.Gate.distance(s.Looks[placed.Rows[i].From+j]))
		}
	}
	return out, nil
}

// longest returns how long the longest run lasts.
func longest(s holdout.Set) (d time.Duration) {
	if s.Times == nil {
		return 0
	}
	for _, r := range s.Runs {
		d = max(d, s.Times[r.To-1].Sub(s.Times[r.From]))
	}
	return d
}
