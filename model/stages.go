package model

import (
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/mat"

	"asusual/model/compare"
	"asusual/model/condition"
	"asusual/model/finding"
	"asusual/model/fitness"
	"asusual/model/holdout"
	"asusual/model/limits"
	"asusual/model/position"
	"asusual/model/pretreat"
	"asusual/model/project"
	"asusual/model/reach"
	"asusual/model/stretch"
)

// describe works out what all usual spectra together tell: their model, the instrument's baseline and the picture of them.
func (l *learner) describe() (err error) {
	if l.ref.Chain.Out().Len() > mostMoments {
		return l.describeWide()
	}
	moments := make([]*project.Moments, l.parts())
	origin := l.pretreated(0)
	err = l.opt.Each.Try(len(moments), func(i int) error {
		moments[i] = project.NewMoments(origin)
		n := len(l.usual.rows)
		return l.add(moments[i], i*n/len(moments), (i+1)*n/len(moments))
	})
	if err != nil {
		return err
	}
	return l.opt.Each.Try(3, func(i int) (err error) {
		switch i {
		case 0:
			l.ref.PCA, err = merged(moments, l.ref.Learning.Components.K)
		case 1:
			l.ref.Instrument, err = fitness.NewBaseline(l.set.Axis, l.set.X)
		case 2:
			l.ref.Picture = picture(l.set.X)
		}
		return err
	})
}

// merged returns the model of all the spectra of the moments, which it merges into the first.
func merged(moments []*project.Moments, k int) (*project.PCA, error) {
	for _, m := range moments[1:] {
		if err := moments[0].Merge(m); err != nil {
			return nil, err
		}
	}
	return moments[0].Fit(k, nil)
}

// mostMoments is how many channels moments are gathered of: three matrices of p² numbers, and work with p³, 400 MB and a minute there.
const mostMoments = 4096

// describeWide is describe for more channels than moments are gathered of: the model comes from a few readings of the spectra.
func (l *learner) describeWide() (err error) {
	l.ref.Picture = picture(l.set.X)
	if l.ref.Instrument, err = fitness.NewBaseline(l.set.Axis, l.set.X); err != nil {
		return err
	}
	chain, n := l.ref.Chain, len(l.usual.rows)
	p := chain.Out().Len()
	const together = 32
	room, work := make([]float64, together*p), make([]float64, chain.Work())
	l.ref.PCA, err = project.FitStream(func(take func(rows []float64) error) error {
		for from := 0; from < n; from += together {
			to := min(from+together, n)
			for i := from; i < to; i++ {
				if err := chain.Apply(room[(i-from)*p:][:p], l.set.X.RawRowView(i), work); err != nil {
					return err
				}
			}
			if err := take(room[:(to-from)*p]); err != nil {
				return err
			}
		}
		return nil
	}, p, l.ref.Learning.Components.K)
	return err
}

// parts is in how many parts the moments of usual spectra are gathered, at once where that can be. The answer depends on it, to
// rounding, so it must not depend on the machine; and each part takes the memory of p² numbers.
func (l *learner) parts() int {
	const most, spectra, numbers = 4, 1000, 1 << 21
	p := l.ref.Chain.Out().Len()
	return max(1, min(most, len(l.usual.rows)/spectra, numbers/(p*p)))
}

// add takes some of the usual spectra into moments, pretreated, in a buffer that is used again: a second matrix of all spectra
// would double the memory.
func (l *learner) add(moments *project.Moments, from, to int) error {
	chain := l.ref.Chain
	x, work := make([]float64, chain.Out().Len()), make([]float64, chain.Work())
	for i := from; i < to; i++ {
		if err := chain.Apply(x, l.set.X.RawRowView(i), work); err != nil {
			return err
		}
		if err := moments.AddSpectrum(x); err != nil {
			return err
		}
	}
	return nil
}

// signature learns the usual spread of signatures on evenly taken spectra.
func (l *learner) signature() (*condition.Signature, error) {
	const most = 2000
	chain := l.ref.Chain
	x, work := make([]float64, chain.Out().Len()), make([]float64, chain.Work())
	n := len(l.usual.rows)
	take, i := min(n, most), 0
	var failed error
	s, err := condition.NewSignature(l.ref.PCA, func() []float64 {
		if i == take {
			return nil
		}
		failed = chain.Apply(x, l.set.X.RawRowView(i*n/take), work)
		i++
		if failed != nil {
			return nil
		}
		return x
	})
	if failed != nil {
		return nil, failed
	}
	return s, err
}

// border learns the limits, and whether they can be relied on, from runs held out.
func (l *learner) border() error {
	r := l.ref
	placed, err := holdout.Tracks(l.set, holdout.Options{Steps: l.steps, K: r.PCA.K, Whole: r.PCA, Each: l.opt.Each, Stretches: true})
	if err != nil {
		return err
	}
	l.find(placed.Findings...)
	own, err := placed.Own(l.set, r.Chain, holdout.Options{Each: l.opt.Each})
	if err != nil {
		return err
	}
	if r.Limits, err = limits.Learn(placed.Tracks, r.PCA.Eigenvalues, limits.Options{Promise: l.opt.Promise, Runs: len(l.set.Runs), Own: own, Each: l.opt.Each}); err != nil {
		return err
	}
	l.placed = placed
	if len(placed.Shapes) > 0 {
		r.Stretches = stretch.New(placed.Shapes, r.PCA)
	}
	if r.Spread, err = l.spread(); err != nil {
		return err
	}
	r.Picture.Scores = cloud(placed.Tracks)
	r.Picture.Typical = typical(r.Limits, placed.Tracks)
	r.Learning.Textbook = textbook(r.PCA, r.Limits.Alpha)
	return nil
}

// spread learns how much whole runs differ. Blocks of time that were held out in place of runs are put together again: they differ less.
// Of one run there is no spread, and that of its blocks is kept, of which Compare says nothing.
func (l *learner) spread() (compare.Spread, error) {
	all := features(l.ref.Limits, l.placed.Tracks)
	if len(l.set.Runs) < 2 {
		return compare.SpreadOf(all)
	}
	var runs [][][]float64
	at := map[int]int{} // of a run, its place in runs
	for i, f := range all {
		run := slices.IndexFunc(l.set.Runs, func(r holdout.Range) bool { return l.placed.Rows[i].From < r.To })
		if k, begun := at[run]; begun {
			runs[k] = append(runs[k], f...)
			continue
		}
		at[run] = len(runs)
		runs = append(runs, f)
	}
	return compare.SpreadOf(runs)
}

// conditions learns the named conditions and how well they can be told apart.
func (l *learner) conditions() error {
	names := l.training.conditions()
	if len(names) == 0 {
		l.ref.Map = condition.NewMap(Usual, l.ref.PCA, nil)
		return nil
	}
	var fitted []*condition.Fitted
	var samples []condition.Sample
	for _, name := range names {
		s, err := l.sample(name)
		if err != nil {
			return err
		}
		f, err := condition.Fit(s, l.opt.Each)
		if err != nil {
			return err
		}
		fitted, samples = append(fitted, f), append(samples, s)
		l.ref.Conditions = append(l.ref.Conditions, f.Class)
	}
	l.ref.Map = condition.NewMap(Usual, l.ref.PCA, l.ref.Conditions)
	l.ref.Learning.Confusion = l.confusion(samples, fitted)
	l.find(l.ref.Learning.Confusion.Findings()...)
	return nil
}

// sample returns the spectra of a condition on the axis of the reference, pretreated.
func (l *learner) sample(name string) (condition.Sample, error) {
	b := l.training.gather(name, l.set.Axis, l.opt.Gap)
	if len(b.rows) == 0 {
		return condition.Sample{}, l.training.errNoSpectra(name)
	}
	return sample(name, b, l.ref.Chain)
}

// sample pretreats the spectra of a bucket.
func sample(name string, b *bucket, chain *pretreat.Chain) (condition.Sample, error) {
	s := condition.Sample{Name: name, Set: b.set()}
	for i := range b.rows {
		s.Looks = append(s.Looks, condition.LookOf(s.Set.X.RawRowView(i)))
	}
	x, err := chain.ApplyAll(s.Set.X)
	if err != nil {
		return s, fmt.Errorf("condition %s: %w", name, err)
	}
	s.Set.X, s.Set.Axis = x, chain.Out()
	return s, nil
}

// confusion counts where held-out spectra of each condition go. A spectrum is held out of its own condition's model;
// the other models never saw it.
func (l *learner) confusion(samples []condition.Sample, fitted []*condition.Fitted) *condition.Confusion {
	r := l.ref
	names := []string{Usual}
	for _, s := range samples {
		names = append(names, s.Name)
	}
	c := condition.NewConfusion(names)
	m := make([]condition.Match, len(names))
	t := make([]float64, largest(r))
	for i, track := range l.placed.Tracks {
		for j, p := range track.Points {
			if j%l.stride() != 0 {
				continue
			}
			m[0].Distance = position.Distance(p.T2, r.Limits.T2, p.Q, r.Limits.Q)
			row := l.placed.Rows[i].From + j
			x, look := l.pretreated(row), condition.LookOf(l.set.X.RawRowView(row))
			for k, f := range fitted {
				m[k+1] = f.Class.Match(x, look, t)
			}
			c.Count(0, m)
		}
	}
	for i, s := range samples {
		n, _ := s.Set.X.Dims()
		for row := range n {
			x := s.Set.X.RawRowView(row)
			m[0].Distance = distance(r, x, t)
			for k, f := range fitted {
				m[k+1] = f.Class.Match(x, s.Looks[row], t)
			}
			m[i+1] = fitted[i].Held[row]
			c.Count(i+1, m)
		}
	}
	return c
}

// reach measures what the reference can see. Good runs that are too short for that are no reason not to learn.
func (l *learner) reach() (err error) {
	l.ref.Reach, err = reach.Measure(l.set, l.placed, l.ref.Limits, reach.Options{Each: l.opt.Each})
	if err != nil {
		l.find(finding.Of(finding.NoReach, err.Error()))
	}
	return nil
}

// stride takes about two thousand of the usual spectra where there are more.
func (l *learner) stride() int { return max(1, len(l.usual.rows)/2000) }

func (l *learner) pretreated(row int) []float64 {
	x := make([]float64, l.ref.Chain.Out().Len())
	if err := l.ref.Chain.Apply(x, l.set.X.RawRowView(row), make([]float64, l.ref.Chain.Work())); err != nil {
		panic("model: a spectrum that was learned from cannot be pretreated: " + err.Error())
	}
	return x
}

// distance places a pretreated spectrum against usual.
func distance(r *Reference, x, t []float64) float64 {
	t = t[:r.PCA.K]
	r.PCA.Scores(t, x)
	return position.Distance(position.T2(t, r.PCA.Eigenvalues), r.Limits.T2, r.PCA.SquaredResidual(x, t), r.Limits.Q)
}

// largest returns the number of components of the largest model in the reference.
func largest(r *Reference) int {
	k := r.PCA.K
	for _, c := range r.Conditions {
		k = max(k, c.PCA.K)
	}
	return k
}

// features returns those of each spectrum of the tracks.
func features(l *limits.Limits, tracks []limits.Track) [][][]float64 {
	var out [][][]float64
	for _, t := range tracks {
		var run [][]float64
		for _, p := range t.Points {
			f := make([]float64, l.Placed())
			l.Features(f, p.T, p.Q, nil)
			run = append(run, f)
		}
		out = append(out, run)
	}
	return out
}

// maxCloud bounds the scores that are kept for pictures: more points than this do not change a density.
const maxCloud = 2000

// cloud takes scores evenly from held-out tracks.
func cloud(tracks []limits.Track) [][]float64 {
	n := 0
	for _, t := range tracks {
		n += len(t.Points)
	}
	var out [][]float64
	stride, i := max(1, (n+maxCloud-1)/maxCloud), 0
	for _, t := range tracks {
		for _, p := range t.Points {
			if i%stride == 0 {
				out = append(out, p.T)
			}
			i++
		}
	}
	return out
}

// typical returns the median distance of the spectra of the tracks.
func typical(l *limits.Limits, tracks []limits.Track) float64 {
	var d []float64
	for _, t := range tracks {
		for _, p := range t.Points {
			d = append(d, position.Distance(p.T2, l.T2, p.Q, l.Q))
		}
	}
	slices.Sort(d)
	return d[len(d)/2]
}

// picture returns mean and standard deviation of the absorbances x, n×p.
func picture(x *mat.Dense) Picture {
	n, p := x.Dims()
	pic := Picture{Mean: make([]float64, p), SD: make([]float64, p)}
	for i := range n {
		floats.AddScaled(pic.Mean, 1/float64(n), x.RawRowView(i))
	}
	for i := range n {
		for j, v := range x.RawRowView(i) {
			pic.SD[j] += (v - pic.Mean[j]) * (v - pic.Mean[j])
		}
	}
	for j := range pic.SD {
		pic.SD[j] = math.Sqrt(pic.SD[j] / float64(n-1))
	}
	return pic
}

// textbook returns the usual formulas' limits for the same share outside.
func textbook(m *project.PCA, alpha float64) Textbook {
	return Textbook{
		T2F:    position.T2LimitF(m.N, m.K, alpha),
		T2Beta: position.T2LimitBeta(m.N, m.K, alpha),
		QJM:    position.QLimitJM(m.Theta, alpha),
		QBox:   position.QLimitBox(m.Theta, alpha),
	}
}
