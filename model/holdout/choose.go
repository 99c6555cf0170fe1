package holdout

import (
	"fmt"
	"math"

	"asusual/model/finding"
	"asusual/model/pretreat"
	"asusual/model/project"

	"gonum.org/v1/gonum/mat"
)

// A Choice is the number of components chosen, and what each would have given.
type Choice struct {
	K        int               `json:"k"`
	Table    []KRow            `json:"table"`
	Findings []finding.Finding `json:"findings,omitempty"`
}

// A KRow says what k components give on held-out runs.
type KRow struct {
	K      int     `json:"k"`
	Press  float64 `json:"press"`  // error of predicting a channel from the others, squared, against that of the mean
	Ratio  float64 `json:"ratio"`  // Press against that of one component less
	Within float64 `json:"within"` // share of the held-out variation about the mean that they describe
}

const (
	// worthwhile is the share of the error that may be left for a component to be worth it. Wold 1978 (Cross-validatory
	// estimation of the number of components, Technometrics 20, 397–405) stops at 1; 0.95 is in use as well. Chosen between
	// them: on the invented line, one component too few costs up to half of the reach, and one too many next to nothing.
	worthwhile = 0.97

	mostComponents = 15   // beyond it a line's variation is noise, or the pretreatment is wrong
	chooseRows     = 1500 // rows that models are learned from while choosing
	chooseChannels = 160  // wider spectra are averaged over neighbouring channels while choosing: noise falls as it would over all
)

// ChooseK chooses the number of components on held-out runs: as many as are needed to predict a channel of a new run's
// spectrum from its other channels, and no more. A monitor that keeps a component of noise watches noise; one that drops
// a component of usual variation takes usual variation for news.
//
//	PRESS(k) = Σᵢⱼ (xᵢⱼ − x̂ᵢⱼ)²,   x̂ᵢⱼ predicted by k components from the channels of spectrum i but those near j
//
// so that a component is not credited with noise that it has seen: the element-wise k-fold algorithm of Camacho, Ferrer 2012
// (Cross-validation in PCA models with the element-wise k-fold (ekf) algorithm: theoretical aspects, J. Chemometrics 26,
// 361–373), here with whole runs for folds, the conditional mean for the prediction, and, where a filter makes the noise of
// neighbouring channels alike, its window left out with the channel (after Burman, Chow, Nolan 1994, Biometrika 81, 351–358).
// Row-wise PRESS, which predicts a value with its own help, falls for ever (Bro, Kjeldahl, Smilde, Kiers 2008, Anal. Bioanal.
// Chem. 390, 1241–1251).
//
// k is the smallest that no further components pay for: with j more, PRESS falls by less than 3 % for each.
// At most min(opt.K, 15, runs − 1 but at least 5) are tried; opt.K 0 is no bound of its own. opt.Whole is not used.
func ChooseK(s Set, opt Options) (Choice, error) {
	folds, notes, err := s.prepare()
	if err != nil {
		return Choice{}, err
	}
	n, _ := s.X.Dims()
	opt.Rows = min(chooseRows, n)
	most := min(mostComponents, max(5, len(folds)-1))
	if opt.K > 0 {
		most = min(most, opt.K)
	}
	press, within := make([][]float64, len(folds)), make([][]float64, len(folds))
	if err := s.trials(folds, opt, most, press, within); err != nil {
		return Choice{}, err
	}
	c := Choice{Findings: notes, Table: table(press, within)}
	c.K = choose(c.Table)
	return c, nil
}

// trials fills press and within of every fold for 0 … most components, or as many as the spectra have directions for. A fold that is so
// short that none of it is among the rows looked at says nothing: its press stays nil.
func (s Set) trials(folds []fold, opt Options, most int, press, within [][]float64) error {
	n, p := s.X.Dims()
	rows := opt.rows(n, p)
	var raw, x *mat.Dense
	var chain *pretreat.Chain
	var err error
	learns := pretreat.Learns(opt.Steps)
	if learns {
		raw = chosen(s.X, rows)
		chain, x, err = fitted(s, opt.Steps, raw)
	} else {
		chain, x, err = s.pretreated(rows, opt)
	}
	if err != nil {
		return err
	}
	near := nearby(chain)
	x, by := Coarse(x, chooseChannels)
	near = (near + by - 1) / by
	all := gather(x)
	whole := newTrial(all, most, nil)
	return opt.Each.Try(len(folds), func(i int) error {
		seen, held := split(rows, folds[i])
		if len(held) == 0 {
			return nil
		}
		if len(seen) < 3 {
			return fmt.Errorf("holding out %s: %d spectra are left to learn from and %d to place", folds[i].held[0].Name, len(seen), len(held))
		}
		y, of := x, scatter{}
		if learns {
			c, err := pretreat.Fit(s.Axis, opt.Steps, chosen(raw, seen))
			if err == nil {
				y, err = c.ApplyAll(raw)
			}
			if err != nil {
				return err
			}
			y, _ = Coarse(y, chooseChannels)
			of = gather(chosen(y, seen))
		} else {
			of = all.without(chosen(y, skipped(rows, folds[i])))
		}
		t := newTrial(of, most, whole.axes)
		press[i], within[i] = t.press(chosen(y, held), near)
		return nil
	})
}

// skipped returns which of the rows a fold does not learn from, as places in rows.
func skipped(rows []int, f fold) (out []int) {
	for j, r := range rows {
		if f.skips(r) {
			out = append(out, j)
		}
	}
	return out
}

// split returns which of the rows a fold learns from and which it places, as places in rows.
func split(rows []int, f fold) (seen, held []int) {
	for j, r := range rows {
		switch {
		case !f.skips(r):
			seen = append(seen, j)
		default:
			for _, h := range f.held {
				if r >= h.From && r < h.To {
					held = append(held, j)
				}
			}
		}
	}
	return seen, held
}

// chosen returns a copy of the rows idx of x.
func chosen(x *mat.Dense, idx []int) *mat.Dense {
	_, p := x.Dims()
	y := mat.NewDense(len(idx), p, nil)
	for i, j := range idx {
		y.SetRow(i, x.RawRowView(j))
	}
	return y
}

// nearby returns how many channels at each side of a channel carry noise of the same origin: a quarter of the widest window of
// the chain's filters. At half a window nothing is left of it, but narrow bands are out of sight too; at an eighth much is, and the
// invented line is given a dozen components. Chosen between.
func nearby(c *pretreat.Chain) int {
	lo, hi := c.Out().Range()
	step := (hi - lo) / float64(c.Out().Len()-1)
	near := 0
	for _, s := range c.Steps() {
		if s.Window > 0 && step > 0 {
			near = max(near, int(s.Window/4/step+0.5))
		}
	}
	return min(near, c.Out().Len()/16)
}

// table turns the folds' sums into what is shown, every held-out spectrum weighing the same. Folds of nil said nothing;
// not all are: each spectrum is held out by one of them.
func table(press, within [][]float64) []KRow {
	most := math.MaxInt
	for _, f := range press {
		if f != nil {
			most = min(most, len(f))
		}
	}
	sum, left := make([]float64, most), make([]float64, most)
	for i, f := range press {
		if f == nil {
			continue
		}
		for k := range most {
			sum[k] += f[k]
			left[k] += within[i][k]
		}
	}
	rows := make([]KRow, most-1)
	for k := range rows {
		r := KRow{K: k + 1, Press: 1, Ratio: 1}
		if sum[0] > 0 {
			r.Press, r.Within = sum[k+1]/sum[0], 1-left[k+1]/left[0]
		}
		if sum[k] > 0 {
			r.Ratio = sum[k+1] / sum[k]
		}
		rows[k] = r
	}
	return rows
}

// choose returns the smallest k that no further components pay for; at least 1.
func choose(rows []KRow) int {
	for i := range rows {
		pays := false
		for j := i + 1; j < len(rows); j++ {
			pays = pays || rows[j].Press < rows[i].Press*math.Pow(worthwhile, float64(j-i))
		}
		if !pays {
			return rows[i].K
		}
	}
	return 1
}

// A trial is a model of many components, roughly: good enough to compare numbers of components.
type trial struct {
	mean   []float64
	axes   *mat.Dense // b×p, more rows than are tried
	values []float64  // b: the variances along them
	total  float64    // the variance of all channels together
	most   int
}

// A scatter is the mean of n spectra and the sum of the products of their differences from it.
type scatter struct {
	n    int
	mean []float64
	sum  *mat.Dense // p×p
}

// gather returns the scatter of the rows of x.
func gather(x *mat.Dense) scatter {
	n, p := x.Dims()
	s := scatter{n: n, mean: make([]float64, p), sum: mat.NewDense(p, p, nil)}
	for i := range n {
		for j, v := range x.RawRowView(i) {
			s.mean[j] += v / float64(n)
		}
	}
	y := centred(x, s.mean)
	s.sum.Mul(y.T(), y)
	return s
}

// without returns the scatter of what is left when the rows of x are taken away.
func (s scatter) without(x *mat.Dense) scatter {
	m, p := x.Dims()
	out := scatter{n: s.n - m, mean: make([]float64, p), sum: mat.NewDense(p, p, nil)}
	y := centred(x, s.mean)
	d := make([]float64, p) // the mean of what is left, from that of all
	for i := range m {
		for j, v := range y.RawRowView(i) {
			d[j] -= v / float64(out.n)
		}
	}
	out.sum.Mul(y.T(), y)
	out.sum.Sub(s.sum, out.sum)
	for i, v := range d {
		out.mean[i] = s.mean[i] + v
		row := out.sum.RawRowView(i)
		for j, w := range d {
			row[j] -= float64(out.n) * v * w
		}
	}
	return out
}

// centred returns the rows of x less mean.
func centred(x *mat.Dense, mean []float64) *mat.Dense {
	y := mat.DenseCopyOf(x)
	n, _ := y.Dims()
	for i := range n {
		row := y.RawRowView(i)
		for j, m := range mean {
			row[j] -= m
		}
	}
	return y
}

// directionless is the share of the largest variance up to which a component is rounding and no direction: pretreated spectra of few
// channels have fewer directions than channels, since a filter makes those at the ends from the ones within. Far above the rounding of
// sums of products, and far below the noise of any detector.
const directionless = 1e-12

// newTrial learns a trial of the scatter, from near (nil: from nowhere).
func newTrial(s scatter, most int, near *mat.Dense) trial {
	const spare = 5
	p := len(s.mean)
	t := trial{mean: s.mean, most: min(most, p-1, s.n-2)}
	sweeps := 2
	if near == nil {
		near, sweeps = project.RoughStart(min(t.most+spare, p), p, 1), 8
	}
	var c mat.Dense
	c.Scale(1/float64(s.n-1), s.sum)
	for j := range p {
		t.total += c.At(j, j)
	}
	t.values, t.axes = project.Rough(func(w, v *mat.Dense) { w.Mul(v, &c) }, near, sweeps)
	for t.most > 1 && !(t.values[t.most] > directionless*t.values[0]) { // one direction is left over, or there is no residual
		t.most--
	}
	return t
}
