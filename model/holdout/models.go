package holdout

import (
	"fmt"
	"sync"

	"asusual/model/pretreat"
	"asusual/model/project"

	"gonum.org/v1/gonum/mat"
)

// models learns the model of every fold, and that of the whole where it is not given.
func (s Set) models(out *Placed, folds []fold, opt Options) error {
	if opt.K < 1 {
		return fmt.Errorf("%d components to hold out with; at least 1 is needed", opt.K)
	}
	n, p := s.X.Dims()
	rows := opt.rows(n, p)
	if pretreat.Learns(opt.Steps) {
		return s.relearned(out, folds, rows, chosen(s.X, rows), opt)
	}
	chain, x, err := s.pretreated(rows, opt)
	if err != nil {
		return err
	}
	if _, q := x.Dims(); len(rows)*2 < q {
		err = out.refitted(folds, rows, x, opt)
	} else {
		err = out.subtracted(folds, rows, x, opt)
	}
	for i := range out.Folds {
		out.Folds[i].Chain = chain
	}
	return err
}

// pretreated returns the rows of X pretreated by a chain that learns nothing from them.
func (s Set) pretreated(rows []int, opt Options) (*pretreat.Chain, *mat.Dense, error) {
	const some = 100 // rows that are pretreated one after another
	chain, err := pretreat.Fit(s.Axis, opt.Steps, nil)
	if err != nil {
		return nil, nil, err
	}
	x := mat.NewDense(len(rows), chain.Out().Len(), nil)
	return chain, x, opt.Each.Try((len(rows)+some-1)/some, func(i int) error {
		work := make([]float64, chain.Work())
		for j := i * some; j < min((i+1)*some, len(rows)); j++ {
			if err := chain.Apply(x.RawRowView(j), s.X.RawRowView(rows[j]), work); err != nil {
				return fmt.Errorf("spectrum %d: %w", j+1, err)
			}
		}
		return nil
	})
}

// subtracted learns each model from the moments of all rows less those of the rows that the fold skips. It gives what
// refitted gives, to rounding: a test says so.
func (out *Placed) subtracted(folds []fold, rows []int, x *mat.Dense, opt Options) error {
	origin := make([]float64, x.RawMatrix().Cols)
	mat.Row(origin, 0, x)
	all, err := gathered(x, origin, opt)
	if err != nil {
		return err
	}
	all.Mean() // takes in what is pending, so that the folds only read
	if err := out.whole(opt, func() (*project.PCA, error) { return all.Fit(opt.K, nil) }); err != nil {
		return err
	}
	var room sync.Pool // the folds are many, those at work at once few
	return opt.Each.Try(len(folds), func(i int) error {
		part, ok := room.Get().(*project.Moments)
		if !ok {
			part = project.NewMoments(origin)
		}
		defer room.Put(part)
		part.Reset()
		for j, r := range rows {
			if folds[i].skips(r) {
				if err := part.AddSpectrum(x.RawRowView(j)); err != nil {
					return err
				}
			}
		}
		m, err := all.FitWithout(part, opt.K, out.Whole)
		if err != nil {
			return fmt.Errorf("holding out %s: %w", folds[i].held[0].Name, err)
		}
		return out.fold(i, m)
	})
}

// gathered returns the moments of x, in two halves at once.
func gathered(x *mat.Dense, origin []float64, opt Options) (*project.Moments, error) {
	n, p := x.Dims()
	var halves [2]*project.Moments
	err := opt.Each.Try(len(halves), func(i int) error {
		halves[i] = project.NewMoments(origin)
		return halves[i].Add(x.Slice(i*n/2, (i+1)*n/2, 0, p).(*mat.Dense))
	})
	if err != nil {
		return nil, err
	}
	return halves[0], halves[0].Merge(halves[1])
}

// refitted learns each model from the rows that it may see.
func (out *Placed) refitted(folds []fold, rows []int, x *mat.Dense, opt Options) error {
	if err := out.whole(opt, func() (*project.PCA, error) { return project.Fit(x, opt.K) }); err != nil {
		return err
	}
	return opt.Each.Try(len(folds), func(i int) error {
		seen := without(x, rows, folds[i])
		if seen == nil {
			return fmt.Errorf("holding out %s: nothing is left to learn from", folds[i].held[0].Name)
		}
		m, err := project.Fit(seen, opt.K)
		if err != nil {
			return fmt.Errorf("holding out %s: %w", folds[i].held[0].Name, err)
		}
		return out.fold(i, m)
	})
}

// relearned fits chain and model anew in every fold. The rows are fewer, since all is done again for each.
func (s Set) relearned(out *Placed, folds []fold, rows []int, raw *mat.Dense, opt Options) error {
	const most = 1000
	if len(rows) > most && opt.Rows == 0 {
		opt.Rows = most
		n, p := s.X.Dims()
		rows = opt.rows(n, p)
		raw = chosen(s.X, rows)
	}
	chain, x, err := fitted(s, opt.Steps, raw)
	if err != nil {
		return err
	}
	if err := out.whole(opt, func() (*project.PCA, error) { return project.Fit(x, opt.K) }); err != nil {
		return err
	}
	if chain.Out().Len() != out.Whole.P {
		return fmt.Errorf("the model to start from has %d channels, the pretreatment gives %d", out.Whole.P, chain.Out().Len())
	}
	return opt.Each.Try(len(folds), func(i int) error {
		seen := without(raw, rows, folds[i])
		if seen == nil {
			return fmt.Errorf("holding out %s: nothing is left to learn from", folds[i].held[0].Name)
		}
		chain, x, err := fitted(s, opt.Steps, seen)
		if err != nil {
			return err
		}
		m, err := project.Fit(x, opt.K)
		if err != nil {
			return fmt.Errorf("holding out %s: %w", folds[i].held[0].Name, err)
		}
		out.Folds[i].Chain = chain
		return out.fold(i, m)
	})
}

func fitted(s Set, steps []pretreat.Step, raw *mat.Dense) (*pretreat.Chain, *mat.Dense, error) {
	chain, err := pretreat.Fit(s.Axis, steps, raw)
	if err != nil {
		return nil, nil, err
	}
	x, err := chain.ApplyAll(raw)
	return chain, x, err
}

// without returns the rows of x that the fold may see; nil where there are none.
func without(x *mat.Dense, rows []int, f fold) *mat.Dense {
	_, p := x.Dims()
	var seen []float64
	for j, r := range rows {
		if !f.skips(r) {
			seen = append(seen, x.RawRowView(j)...)
		}
	}
	if seen == nil {
		return nil
	}
	return mat.NewDense(len(seen)/p, p, seen)
}

// whole sets the model of the whole: the given one, or that which learn returns.
func (out *Placed) whole(opt Options, learn func() (*project.PCA, error)) (err error) {
	if out.Whole == nil {
		out.Whole, err = learn()
		return err
	}
	if out.Whole.K != opt.K {
		return fmt.Errorf("holding out with %d components, the model of the whole has %d", opt.K, out.Whole.K)
	}
	return nil
}

func (out *Placed) fold(i int, m *project.PCA) (err error) {
	out.Folds[i].PCA = m
	out.Folds[i].Turn, err = procrustes(m, out.Whole)
	return err
}
