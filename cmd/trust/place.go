package main

import (
	"fmt"
	"time"

	"gonum.org/v1/gonum/mat"

	"asusual/model/holdout"
	"asusual/model/limits"
	"asusual/model/position"
	"asusual/model/pretreat"
	"asusual/model/project"
	"asusual/model/stretch"
)

// A placer places spectrum j of a run: it fills t with its k scores and returns its Q residual.
type placer interface {
	place(t []float64, r production, j int) (q float64)
	left(parts []float64, r production, t []float64, j int) // what stretches of the axis have left over; t as place left it
	eigenvalues() []float64
}

// learn returns a watch with what is learned from the runs, and the held-out tracks.
func (l maker) learn(runs []production, promise limits.Promise) (w watch, tracks []limits.Track, err error) {
	opt := limits.Options{Promise: promise}
	if l.Whole {
		if w.placer, tracks, opt.Own, err = l.whole(runs); err != nil {
			return w, nil, err
		}
	} else {
		w.placer, tracks = l.quick(runs)
	}
	w.limits, err = limits.Learn(tracks, nil, opt)
	return w, tracks, err
}

// quick places runs that are made as scores.
func (l maker) quick(runs []production) (placer, []limits.Track) {
	tracks := make([]limits.Track, len(runs))
	for i, r := range runs {
		ref := refer(runs, i)
		tracks[i] = limits.Track{Run: fmt.Sprintf("run %d", i+1), Points: make([]limits.Point, len(r.q))}
		for j := range r.q {
			t := make([]float64, components)
			q := ref.place(t, r, j)
			parts := make([]float64, len(l.bank))
			ref.left(parts, r, t, j)
			tracks[i].Points[j] = limits.Point{Time: when(i, j), T: t, T2: position.T2(t, ref.lambda), Q: q, Parts: parts}
		}
	}
	return refer(runs, -1), tracks
}

// when returns the time of spectrum j of run i: a run a day.
func when(i, j int) time.Time {
	return time.Date(2026, 3, 2+i, 6, 0, 0, 0, time.UTC).Add(time.Duration(j) * every)
}

// A centre is the little of a reference that scores need: their mean and variances.
type centre struct{ mean, lambda []float64 }

// refer learns it from all runs but one (−1: all).
func refer(runs []production, without int) centre {
	c := centre{make([]float64, components), make([]float64, components)}
	n := 0.0
	for i, r := range runs {
		if i != without {
			n += float64(len(r.q))
			for j, v := range r.x {
				c.mean[j%components] += v
			}
		}
	}
	for i := range c.mean {
		c.mean[i] /= n
	}
	for i, r := range runs {
		if i != without {
			for j, v := range r.x {
				d := v - c.mean[j%components]
				c.lambda[j%components] += d * d / (n - 1)
			}
		}
	}
	return c
}

func (c centre) eigenvalues() []float64 { return c.lambda }

func (c centre) place(t []float64, r production, j int) float64 {
	for i := range t {
		t[i] = r.x[j*components+i] - c.mean[i]
	}
	return r.q[j]
}

func (c centre) left(parts []float64, r production, _ []float64, j int) {
	copy(parts, r.parts[j*len(parts):])
}

// pca places whole spectra.
type pca struct {
	*project.PCA
	bank *stretch.Bank
}

func (p pca) eigenvalues() []float64 { return p.Eigenvalues }

func (p pca) place(t []float64, r production, j int) float64 {
	x := r.x[j*p.P : (j+1)*p.P]
	p.Scores(t, x)
	return p.SquaredResidual(x, t)
}

func (p pca) left(parts []float64, r production, t []float64, j int) {
	p.bank.Of(parts, r.x[j*p.P:(j+1)*p.P], t)
}

// whole learns from whole spectra as learn does: PCA, and each run held out.
func (l line) whole(runs []production) (p placer, tracks, own []limits.Track, err error) {
	n := l.Length
	axis, err := l.axis()
	if err != nil {
		return nil, nil, nil, err
	}
	x := mat.NewDense(len(runs)*n, l.Channels, nil)
	set := holdout.Set{Axis: axis, X: x}
	for i, r := range runs {
		for j := range n {
			x.SetRow(i*n+j, r.x[j*l.Channels:(j+1)*l.Channels])
			set.Times = append(set.Times, when(i, j))
		}
		set.Runs = append(set.Runs, holdout.Range{Name: fmt.Sprintf("run %d", i+1), From: i * n, To: (i + 1) * n})
	}
	placed, err := holdout.Tracks(set, holdout.Options{K: components, Stretches: true})
	if err != nil {
		return nil, nil, nil, err
	}
	chain, err := pretreat.Fit(axis, nil, nil)
	if err != nil {
		return nil, nil, nil, err
	}
	own, err = placed.Own(set, chain, holdout.Options{})
	return pca{placed.Whole, stretch.New(placed.Shapes, placed.Whole)}, placed.Tracks, own, err
}
