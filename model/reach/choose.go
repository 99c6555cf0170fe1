package reach

import (
	"fmt"
	"math"

	"asusual/model/holdout"
	"asusual/model/limits"
	"asusual/model/pretreat"
	"asusual/model/runner"
	"asusual/model/spectrum"

	"gonum.org/v1/gonum/mat"
)

// A Tried is a pretreatment that was tried, and what a reference made with it would see.
type Tried struct {
	Name   string          `json:"name"`
	Steps  []pretreat.Step `json:"steps,omitempty"`
	Words  string          `json:"words"` // the chain in words
	K      int             `json:"k"`     // components
	Band   Size            `json:"band"`  // usual height of the smallest band that is seen: see Choose
	Chosen bool            `json:"chosen,omitempty"`
	Why    string          `json:"why,omitempty"` // why it could not be tried
}

// ChooseOptions says how pretreatments are compared. Its zero value takes the usual.
type ChooseOptions struct {
	Limits limits.Options
	Each   runner.Runner
	Rows   int // spectra that are compared on, evenly taken; 0: 1000
}

// plainer is how much smaller the band of a less plain pretreatment has to be to be worth it: sizes are found from some 50
// moments, and differ by about as much between one half of the runs and the other.
const plainer = 0.9

// Choose tries each candidate on the known-good spectra as Learn would, with whole runs held out for components, limits and
// reach alike, and chooses the one with which the smallest bands are seen:
//
//	band = exp( mean over the places on the axis and two widths of log(smallest height seen) )
//
// in raw absorbance, so that pretreatments on different scales can be compared. A place where nothing is seen counts as the
// largest absorbance of the mean spectrum. A candidate replaces a plainer one, which stands before it, only where its band is
// below nine tenths of that one's.
//
// Spectra are thinned in time and neighbouring channels averaged, which leaves the order of the candidates and not the sizes: those of the reference are measured
// once it is learned. A candidate that cannot be tried says why in the table; where none can, that is the error.
func Choose(s holdout.Set, candidates []pretreat.Named, opt ChooseOptions) ([]pretreat.Step, []Tried, error) {
	if len(candidates) == 0 {
		return nil, nil, fmt.Errorf("no pretreatment to choose among")
	}
	if opt.Rows <= 0 {
		opt.Rows = 1000
	}
	thin, err := coarse(thinned(s, opt.Rows))
	if err != nil {
		return nil, nil, err
	}
	tried := make([]Tried, len(candidates))
	run := opt.Each
	if run == nil {
		run = func(n int, f func(i int)) {
			for i := range n {
				f(i)
			}
		}
	}
	run(len(candidates), func(i int) { tried[i] = try(thin, candidates[i], opt) })
	best := -1
	for i, t := range tried {
		if t.Why == "" && (best < 0 || float64(t.Band) < plainer*float64(tried[best].Band)) {
			best = i
		}
	}
	if best < 0 {
		return nil, tried, fmt.Errorf("none of %d pretreatments can be used; %s: %s", len(tried), tried[0].Name, tried[0].Why)
	}
	tried[best].Chosen = true
	return tried[best].Steps, tried, nil
}

// try learns a small reference with the candidate and measures its band.
func try(s holdout.Set, c pretreat.Named, opt ChooseOptions) Tried {
	t := Tried{Name: c.Name, Steps: c.Steps, Words: c.Name}
	band, err := t.measure(s, opt)
	if err != nil {
		t.Why = err.Error()
		t.Band = Never
		return t
	}
	t.Band = Size(band)
	return t
}

func (t *Tried) measure(s holdout.Set, opt ChooseOptions) (float64, error) {
	chain, err := pretreat.Fit(s.Axis, t.Steps, s.X)
	if err != nil {
		return 0, err
	}
	t.Words = chain.String()
	k, err := holdout.ChooseK(s, holdout.Options{Steps: t.Steps})
	if err != nil {
		return 0, err
	}
	t.K = k.K
	p, err := holdout.Tracks(s, holdout.Options{Steps: t.Steps, K: t.K, Stretches: true})
	if err != nil {
		return 0, err
	}
	opt.Limits.Runs = len(s.Runs)
	l, err := limits.Learn(p.Tracks, p.Whole.Eigenvalues, opt.Limits)
	if err != nil {
		return 0, err
	}
	if err := l.Validate(t.K); err != nil { // or learning would fail in the end, with these steps
		return 0, err
	}
	lo, hi := s.Axis.Range()
	r, err := Measure(s, p, l, Options{Places: 12, Starts: 48, Widths: []float64{(hi - lo) / 40, (hi - lo) / 12}})
	if err != nil {
		return 0, err
	}
	most, sum, n := 0.0, 0.0, 0.0
	for _, v := range s.Mean() {
		most = max(most, math.Abs(v))
	}
	for _, b := range r.Bands {
		for _, v := range b.Size {
			sum += math.Log(min(float64(v), most))
			n++
		}
	}
	return math.Exp(sum / n), nil
}

// coarse averages neighbouring channels until at most coarseChannels are left. Windows of filters are in axis units and mean
// the same on what is left.
func coarse(s holdout.Set) (holdout.Set, error) {
	const coarseChannels = 256
	x, by := holdout.Coarse(s.X, coarseChannels)
	if by == 1 {
		return s, nil
	}
	_, q := x.Dims()
	at := make([]float64, q)
	for j := range at {
		for c := j * by; c < (j+1)*by; c++ {
			at[j] += s.Axis.At(c) / float64(by)
		}
	}
	var err error
	s.X = x
	s.Axis, err = spectrum.NewAxis(s.Axis.Unit(), at)
	return s, err
}

// thinned returns at most about rows spectra of the set, every so many of each run.
func thinned(s holdout.Set, rows int) holdout.Set {
	n, p := s.X.Dims()
	step := max(1, (n+rows-1)/rows)
	out := holdout.Set{Axis: s.Axis}
	var data []float64
	for _, r := range s.Runs {
		from := len(data) / p
		for i := r.From; i < r.To; i += step {
			data = append(data, s.X.RawRowView(i)...)
			if s.Times != nil {
				out.Times = append(out.Times, s.Times[i])
			}
		}
		out.Runs = append(out.Runs, holdout.Range{Name: r.Name, From: from, To: len(data) / p})
	}
	out.X = mat.NewDense(len(data)/p, p, data)
	return out
}
