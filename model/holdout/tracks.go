package holdout

import (
	"fmt"
	"math"

	"asusual/model/finding"
	"asusual/model/limits"
	"asusual/model/position"
	"asusual/model/pretreat"
	"asusual/model/project"
	"asusual/model/runner"
	"asusual/model/stretch"

	"gonum.org/v1/gonum/mat"
)

// Options says how held-out spectra are placed.
type Options struct {
	Steps []pretreat.Step
	K     int // components; ChooseK tries at most so many, where it is not 0

	// Whole is the reference's own model, in whose components the scores are given and from which the folds' models
	// start. Where it is nil, one is learned.
	Whole *project.PCA

	Each runner.Runner // nil: one after another

	// Rows is how many spectra the models are learned from at most, evenly taken; 0: mostRows. All are placed.
	Rows int

	Stretches bool // whether what stretches of the axis have left over is wanted too
}

// mostRows bounds what the folds' models are learned from. Neighbours in time say nearly the same, and the error that
// p/mostRows adds to a residual is a few parts in ten thousand.
const mostRows = 2500

// rows returns the rows that models of p channels are learned from. Wide spectra get fewer, to bound memory and time.
func (o Options) rows(n, p int) []int {
	most := o.Rows
	if most <= 0 {
		most = min(mostRows, max(500, mostRows*1024/p))
	}
	most = min(most, n)
	rows := make([]int, most)
	for i := range rows {
		rows[i] = i * n / most
	}
	return rows
}

// A Placed holds every spectrum of a set, placed while it was held out.
type Placed struct {
	Tracks   []limits.Track
	Rows     []Range           // the rows of each track
	Of       []int             // the fold that placed each track
	Folds    []Fold            // for whoever changes held-out spectra and places them anew
	Whole    *project.PCA      // the model in whose components the scores are given
	Shapes   []stretch.Shape   // of the stretches, where they are wanted
	Findings []finding.Finding // how well holding out could be done
}

// A Fold is a reference that was learned without the runs it places.
type Fold struct {
	Chain *pretreat.Chain
	PCA   *project.PCA
	Turn  []float64 // k×k, row by row: turns scores of PCA into those of the whole
	Bank  *stretch.Bank
}

// Scores fills t with the scores of the pretreated spectrum x in the components of the whole; own, of length k, is left with
// those in the fold's.
func (f *Fold) Scores(t, own, x []float64) {
	f.PCA.Scores(own, x)
	f.turn(t, own)
}

func (f *Fold) turn(t, own []float64) {
	k := len(t)
	for i := range t {
		var v float64
		for j, o := range own {
			v += f.Turn[i*k+j] * o
		}
		t[i] = v
	}
}

// Tracks places every spectrum of the set while its run is held out. The scores of a fold are turned so that they agree
// best with those of the whole, which leaves T² as it is:
//
//	T = Λ^½ R Λ_f^−½ t,   R orthogonal, maximising tr(R Λ_f^−½ P_f Pᵀ Λ^½)
//
// (Schönemann 1966, A generalized solution of the orthogonal Procrustes problem, Psychometrika 31, 1–10). An error names
// the spectrum that could not be pretreated, or says that there are too few spectra or directions for k components.
func Tracks(s Set, opt Options) (*Placed, error) {
	folds, notes, err := s.prepare()
	if err != nil {
		return nil, err
	}
	out := &Placed{Folds: make([]Fold, len(folds)), Whole: opt.Whole, Findings: notes}
	if err := s.models(out, folds, opt); err != nil {
		return nil, err
	}
	if opt.Stretches {
		if err := s.stretches(out); err != nil {
			return nil, err
		}
	}
	for i, f := range folds {
		for _, r := range f.held {
			out.Rows = append(out.Rows, r)
			out.Of = append(out.Of, i)
		}
	}
	out.Tracks = make([]limits.Track, len(out.Rows))
	return out, opt.Each.Try(len(out.Rows), func(i int) (err error) {
		out.Tracks[i], err = s.place(&out.Folds[out.Of[i]], out.Rows[i], out.Whole.Eigenvalues)
		return err
	})
}

// ownMost is about how many spectra Own places: enough for what limits settle on them, and soon done. ownRuns is how many runs these
// are from at least, where there are as many.
const (
	ownMost = 4000
	ownRuns = 4
)

// Own places some runs, evenly taken, long ones cut, by the model of the whole, as new spectra will be placed. It has seen them.
func (p *Placed) Own(s Set, chain *pretreat.Chain, opt Options) ([]limits.Track, error) {
	k := p.Whole.K
	own := Fold{Chain: chain, PCA: p.Whole, Turn: make([]float64, k*k)}
	for i := range k {
		own.Turn[i*k+i] = 1
	}
	if len(p.Shapes) > 0 {
		own.Bank = stretch.New(p.Shapes, p.Whole)
	}
	all, _ := s.X.Dims()
	each := max(min(all/ownMost, len(p.Rows)/ownRuns), 1)
	out := make([]limits.Track, (len(p.Rows)+each-1)/each)
	return out, opt.Each.Try(len(out), func(i int) (err error) {
		r := p.Rows[i*each]
		r.To = min(r.To, r.From+ownMost)
		out[i], err = s.place(&own, r, p.Whole.Eigenvalues)
		return err
	})
}

func (s Set) prepare() ([]fold, []finding.Finding, error) {
	if err := s.validate(); err != nil {
		return nil, nil, err
	}
	return s.plan()
}

// stretches makes the shapes, by the first fold's chain, and every fold's bank of them.
func (s Set) stretches(out *Placed) (err error) {
	if out.Shapes, err = stretch.Shapes(out.Folds[0].Chain, s.Mean()); err != nil {
		return err
	}
	for i := range out.Folds {
		out.Folds[i].Bank = stretch.New(out.Shapes, out.Folds[i].PCA)
	}
	return nil
}

// place returns the track of the rows r, placed by f.
func (s Set) place(f *Fold, r Range, eigenvalues []float64) (limits.Track, error) {
	k := f.PCA.K
	x, work := make([]float64, f.PCA.P), make([]float64, f.Chain.Work())
	own, t := make([]float64, k), make([]float64, k*r.Len())
	parts, m := make([]float64, f.Bank.Len()*r.Len()), f.Bank.Len()
	track := limits.Track{Run: r.Name, Points: make([]limits.Point, r.Len()), Span: s.span(r)}
	for i := range track.Points {
		if err := f.Chain.Apply(x, s.X.RawRowView(r.From+i), work); err != nil {
			return track, fmt.Errorf("run %s: spectrum %d: %w", r.Name, i+1, err)
		}
		p := &track.Points[i]
		p.T = t[i*k : (i+1)*k : (i+1)*k]
		f.Scores(p.T, own, x)
		p.T2 = position.T2(p.T, eigenvalues)
		p.Q = f.PCA.SquaredResidual(x, own)
		if m > 0 {
			p.Parts = parts[i*m : (i+1)*m : (i+1)*m]
			f.Bank.Of(p.Parts, x, own)
		}
		if s.Times != nil {
			p.Time = s.Times[r.From+i]
		}
	}
	return track, nil
}

// procrustes returns the matrix that turns the scores of a fold's model into those of the whole.
func procrustes(fold, whole *project.PCA) ([]float64, error) {
	k := fold.K
	m := mat.NewDense(k, k, nil)
	for i := range k {
		for j := range k {
			m.Set(i, j, dot(fold.Loading(i), whole.Loading(j))*math.Sqrt(whole.Eigenvalues[j]/fold.Eigenvalues[i]))
		}
	}
	var svd mat.SVD
	if !svd.Factorize(m, mat.SVDThin) {
		return nil, fmt.Errorf("the components of a held-out model could not be matched with those of the whole")
	}
	var u, v, r mat.Dense
	svd.UTo(&u)
	svd.VTo(&v)
	r.Mul(&v, u.T())
	turn := make([]float64, k*k)
	for i := range k {
		for j := range k {
			turn[i*k+j] = r.At(i, j) * math.Sqrt(whole.Eigenvalues[i]/fold.Eigenvalues[j])
		}
	}
	return turn, nil
}

func dot(a, b []float64) float64 {
	var s float64
	for i, v := range a {
		s += v * b[i]
	}
	return s
}
