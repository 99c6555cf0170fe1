package condition

import (
	"fmt"
	"slices"
	"time"

	"asusual/model/finding"
	"asusual/model/holdout"
	"asusual/model/limits"
	"asusual/model/runner"

	"gonum.org/v1/gonum/stat/distuv"
)

// A Sample is the spectra that somebody called by the name of a condition.
type Sample struct {
	Name  string
	Set   holdout.Set // pretreated as the reference does; its Axis is the chain's outgoing one
	Looks []Look      // n, of each spectrum before pretreatment
}

const (
	// fewest spectra make a class: three blocks of five, since limits take no fewer than three held-out parts, and five
	// spectra are the shortest block that is held out.
	fewest = 15
	// mostComponents bounds a class: it has to know its own place, not to describe every way through it.
	mostComponents = 5
	// alpha is the share of a condition's own spectra that may lie outside its limits, as for usual.
	alpha = 0.01
)

// A Fitted is a class, and how its own spectra lay while they were held out.
type Fitted struct {
	Class *Class
	Held  []Match // n, of each spectrum of the sample with the class, held out; the gate alone has seen them all
}

// Fit learns the class of a sample: the number of components and the limits on whole runs held out, or on blocks of time
// where there are fewer than five runs, which the findings say then. each runs f(0) … f(n−1), perhaps at once; nil runs them
// one after another.
//
// The scale of the spectra does not matter: c times the sample gives Q limit c² times as large, and the same distances.
// An error names the condition and says what is too few or does not fit.
func Fit(s Sample, each runner.Runner) (*Fitted, error) {
	f, err := fit(s, each)
	if err != nil {
		return nil, fmt.Errorf("condition %s: %w", s.Name, err)
	}
	return f, nil
}

func fit(s Sample, each runner.Runner) (*Fitted, error) {
	n, _ := s.Set.X.Dims()
	if n < fewest {
		return nil, fmt.Errorf("%d spectra, at least %d are needed", n, fewest)
	}
	if len(s.Looks) != n {
		return nil, fmt.Errorf("%d looks of %d spectra", len(s.Looks), n)
	}
	opt := holdout.Options{K: mostComponents, Each: each}
	choice, err := holdout.ChooseK(s.Set, opt)
	if err != nil {
		return nil, err
	}
	opt.K = choice.K
	placed, err := holdout.Tracks(s.Set, opt)
	if err != nil {
		return nil, err
	}
	learned, err := limits.Learn(placed.Tracks, placed.Whole.Eigenvalues, limits.Options{Alpha: alpha})
	if err != nil {
		return nil, err
	}
	c := &Class{
		Name: s.Name, PCA: placed.Whole, T2: learned.T2, Q: learned.Q, Gate: newGate(s.Looks),
		Runs: len(s.Set.Runs), Spectra: n, Longest: longest(s.Set),
	}
	for _, f := range placed.Findings {
		c.Findings = append(c.Findings, finding.Of(f.Kind, s.Name, f.Values...))
	}
	c.spread(placed.Tracks)
	if err := c.Validate(c.PCA.P); err != nil {
		return nil, err
	}
	out := &Fitted{Class: c, Held: make([]Match, n)}
	for i, t := range placed.Tracks {
		for j, p := range t.Points {
			row := placed.Rows[i].From + j
			out.Held[row] = c.match(p.T2, p.Q, s.Looks[row])
		}
	}
	return out, nil
}

// spread learns how far held-out spectra scatter along the components and beside them. Medians, since some spectra may have
// been called by the wrong name: T² is χ² with k degrees of freedom, and the many of Q leave its median near its mean.
func (c *Class) spread(tracks []limits.Track) {
	var t2, q []float64
	for _, t := range tracks {
		for _, p := range t.Points {
			t2, q = append(t2, p.T2), append(q, p.Q)
		}
	}
	slices.Sort(t2)
	slices.Sort(q)
	k := float64(c.PCA.K)
	c.Spread = t2[len(t2)/2] / distuv.ChiSquared{K: k}.Quantile(0.5)
	c.Noise = max(q[len(q)/2]/max(float64(c.PCA.P)-k, 1), negligible*c.PCA.Eigenvalues[0])
}

// negligible is the least noise as a share of the largest eigenvalue: that of the rounding of spectra kept with seven digits.
const negligible = 1e-14

// longPause is how many times the usual time between two spectra a pause may last before what follows is another stay:
// the spectra of many stays may have come as one run, from one folder. Chosen well above some missed spectra.
const longPause = 20

// longest returns how long the longest stay in the condition lasted, or 0 where spectra carry no times. A run is one
// stay, or several where it has pauses.
func longest(s holdout.Set) (d time.Duration) {
	if s.Times == nil {
		return 0
	}
	var steps []time.Duration
	for _, r := range s.Runs {
		for i := r.From + 1; i < r.To; i++ {
			if step := s.Times[i].Sub(s.Times[i-1]); step > 0 {
				steps = append(steps, step)
			}
		}
	}
	if len(steps) == 0 {
		return 0
	}
	slices.Sort(steps)
	pause := longPause * steps[len(steps)/2]
	for _, r := range s.Runs {
		from := s.Times[r.From]
		for i := r.From + 1; i < r.To; i++ {
			if s.Times[i].Sub(s.Times[i-1]) > pause {
				from = s.Times[i]
			}
			d = max(d, s.Times[i].Sub(from))
		}
	}
	return d
}
