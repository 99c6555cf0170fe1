package model

import (
	"errors"
	"fmt"
	"reflect"
	"slices"

	"gonum.org/v1/gonum/mat"

	"asusual/model/finding"
	"asusual/model/holdout"
	"asusual/model/limits"
	"asusual/model/pretreat"
	"asusual/model/reach"
	"asusual/model/sift"
)

// ErrTooFew is wrapped by the error that Learn returns where the good spectra do not suffice.
var ErrTooFew = errors.New("too few spectra to learn from")

const (
	fewest = 10 // spectra of three runs and more: below, not even blocks of time can be held out
	// mostOffAxis is the share of the good spectra that may lie on an axis which does not cover the others' before it
	// is said that two sets were mixed up.
	mostOffAxis = 0.25
	seed        = 1 // of what is drawn while sifting: the same spectra give the same reference
)

// Learn learns a reference from known-good spectra, and from those of named conditions where there are any.
// The rooms are called in the order of the data; each stage fills its part of the reference.
//
// It does not change the training's spectra, but it orders and drops them in the training's own buffer to save memory:
// a training serves once.
func Learn(t *Training, opt Options) (*Reference, error) {
	opt.fill()
	l := &learner{training: t, opt: opt, ref: &Reference{Name: opt.Name, Learned: opt.Now, Origin: opt.Origin, Source: opt.Source, PerItem: opt.PerItem, Belt: opt.Belt}}
	stages := []struct {
		name string
		do   func() error
	}{
		{"gathering the spectra", l.gather},
		{"sifting the spectra", l.sift},
		{"choosing the pretreatment", l.pretreat},
		{"choosing the components", l.choose},
		{"learning the usual pattern", l.project},
		{"learning the limits from runs held out", l.border},
		{"learning the conditions", l.conditions},
		{"measuring the reach", l.reach},
	}
	for _, s := range stages {
		opt.Progress(s.name)
		if err := s.do(); err != nil {
			return nil, fmt.Errorf("%s: %w", s.name, err)
		}
	}
	l.ref.Learning.LeftOut, l.ref.Learning.Unused = t.leftOut, t.unused
	if err := l.ref.validate(); err != nil { // or it would be written, and nothing could read it
		return nil, fmt.Errorf("the reference would be of no use: %w%s", err, l.ref.crowded())
	}
	return l.ref, nil
}

// crowded says that there are nearly as many components as channels, where there are: with less than a quarter left over, that is likely
// what else is wrong.
func (r *Reference) crowded() string {
	if k, p := r.PCA.K, r.PCA.P; 4*(p-k) < p {
		return fmt.Sprintf("; %d components on %d channels leave too little over: use fewer", k, p)
	}
	return ""
}

// A learner holds what one Learn passes from stage to stage.
type learner struct {
	training *Training
	opt      Options
	ref      *Reference
	usual    *bucket
	set      holdout.Set // usual, raw absorbances
	steps    []pretreat.Step
	placed   *holdout.Placed
}

// gather brings the spectra of usual production onto one axis.
func (l *learner) gather() error {
	axis := l.training.Axis()
	if axis == nil {
		return l.tooFew()
	}
	before := l.training.Len(Usual)
	l.usual = l.training.gather(Usual, axis, l.opt.Gap)
	if n := len(l.usual.rows); n < fewest {
		return l.tooFew()
	} else if off := before - n; float64(off) > mostOffAxis*float64(before) {
		return fmt.Errorf("two axes that do not meet: %d of %d good spectra are on %v, which the %d others do not cover; learn them apart", n, before, axis, off)
	}
	l.set = l.usual.set()
	return nil
}

// tooFew says how many spectra there are, and why others are not.
func (l *learner) tooFew() error {
	n := 0
	if l.usual != nil {
		n = len(l.usual.rows)
	}
	better := ""
	why := l.training.why(Usual)
	if why == "" {
		better = " and some hundred from several runs are better"
	}
	return fmt.Errorf("%w: %d good %s, at least %d are needed%s%s", ErrTooFew, n, one(n, "spectrum", "spectra"), l.usual.needed(), better, why)
}

// needed returns how many spectra are asked for: of fewer than three runs each is divided by itself, which takes more.
func (b *bucket) needed() int {
	runs := map[string]bool{}
	if b != nil {
		for _, w := range b.rows {
			runs[w.run] = true
		}
	}
	if len(runs) < 3 {
		return holdout.Fewest(len(runs))
	}
	return fewest
}

// runs describes the runs that were learned from.
func (b *bucket) runs(rs []holdout.Range) []Run {
	var out []Run
	for _, r := range rs {
		files := map[string]bool{}
		for _, w := range b.rows[r.From:r.To] {
			files[w.file] = true
		}
		out = append(out, Run{Name: r.Name, From: b.rows[r.From].time, To: b.rows[r.To-1].time, Spectra: r.Len(), Files: len(files)})
	}
	return out
}

// errNoSpectra says why nothing is left of a condition.
func (t *Training) errNoSpectra(name string) error {
	return fmt.Errorf("condition %s: no spectrum to learn it from%s", name, t.why(name))
}

// set returns the bucket as runs held in one matrix, without copying the spectra.
func (b *bucket) set() holdout.Set {
	s := holdout.Set{Axis: b.axis, X: mat.NewDense(len(b.rows), b.axis.Len(), b.x[:len(b.rows)*b.axis.Len()])}
	timed := true
	for i, w := range b.rows {
		if last := len(s.Runs) - 1; last < 0 || s.Runs[last].Name != w.run {
			s.Runs = append(s.Runs, holdout.Range{Name: w.run, From: i, To: i})
		}
		s.Runs[len(s.Runs)-1].To = i + 1
		s.Times = append(s.Times, w.time)
		timed = timed && !w.time.IsZero()
	}
	if !timed {
		s.Times = nil
	}
	return s
}

// sift names the spectra and runs that do not belong and leaves them out.
func (l *learner) sift() error {
	if l.opt.KeepAll {
		l.find(finding.Of(finding.KeptAll, ""))
		return nil
	}
	found, err := sift.Find(l.set.X, l.set.Runs, seed, l.opt.Each)
	if err != nil {
		return err
	}
	l.find(found.Findings...)
	l.timeStarts(found)
	for i, keep := range found.Keep {
		if w := l.usual.rows[i]; !keep {
			l.training.leftOut = append(l.training.leftOut, LeftOut{Spectrum: w.name, Run: w.run, Condition: Usual, Reason: found.Why[i]})
		}
	}
	l.usual.keep(found.Keep)
	if len(l.usual.rows) < fewest {
		return l.tooFew()
	}
	l.set = l.usual.set()
	return nil
}

// timeStarts says in minutes how long runs took to settle, where the spectra carry times that tell: those of a table may be its file's.
func (l *learner) timeStarts(found *sift.Sifted) {
	if l.set.Times == nil {
		return
	}
	for g, n := range found.Starts {
		r := l.set.Runs[g]
		if n == 0 || n == r.Len() || found.Why[r.From].Kind != finding.StartUpUntimed {
			continue
		}
		minutes := l.set.Times[r.From+n].Sub(l.set.Times[r.From]).Minutes()
		if minutes == 0 {
			continue
		}
		for i := range n {
			found.Why[r.From+i] = finding.Of(finding.StartUp, r.Name, float64(n), minutes)
		}
	}
}

// find notes findings, each once: two stages may come upon the same.
func (l *learner) find(fs ...finding.Finding) {
	for _, f := range fs {
		if !slices.ContainsFunc(l.ref.Findings, func(g finding.Finding) bool { return reflect.DeepEqual(f, g) }) {
			l.ref.Findings = append(l.ref.Findings, f)
		}
	}
}

// pretreat takes the steps that were stated, or those with the best reach. Good runs that are too short to measure that
// are no reason not to learn: SNV is taken then, and the findings say so.
func (l *learner) pretreat() (err error) {
	first := l.carbon()
	l.steps = slices.Concat(first, l.opt.Pretreat)
	if l.opt.Auto {
		opt := reach.ChooseOptions{Limits: limits.Options{Promise: l.opt.Promise}, Each: l.opt.Each}
		candidates := pretreat.Candidates(l.set.Axis)
		for i := range candidates {
			candidates[i].Steps = slices.Concat(first, candidates[i].Steps)
		}
		l.steps, l.ref.Learning.Tried, err = reach.Choose(l.set, candidates, opt)
		if err != nil {
			l.steps = append(first, pretreat.Step{Name: pretreat.SNV})
			l.find(finding.Of(finding.Default, err.Error()))
		}
	}
	l.ref.Chain, err = pretreat.Fit(l.set.Axis, l.steps, l.set.X)
	return err
}

// choose takes the number of components that was stated, or the one that describes runs held out best.
func (l *learner) choose() error {
	c, err := holdout.ChooseK(l.set, holdout.Options{Steps: l.steps, Each: l.opt.Each})
	if err != nil {
		return err
	}
	if l.opt.Components > 0 {
		c.K = l.opt.Components
	}
	l.find(c.Findings...)
	l.ref.Learning.Components = c
	return nil
}

// project fits the PCA of usual and what stands on it: the signature, the instrument's baseline and what charts draw.
func (l *learner) project() (err error) {
	r := l.ref
	if err := l.describe(); err != nil {
		return err
	}
	if r.Signature, err = l.signature(); err != nil {
		return err
	}
	r.Learning.Spectra = len(l.usual.rows)
	r.Learning.Runs = l.usual.runs(l.set.Runs)
	return nil
}
