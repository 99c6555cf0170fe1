package sift

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"

	"asusual/model/finding"
	"asusual/model/holdout"
	"asusual/model/runner"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/mat"
)

// A Sifted says what belongs together and what does not.
type Sifted struct {
	Keep     []bool            // n: the rows to learn from
	Why      []finding.Finding // n: why a row is left out; the zero Finding where it is kept
	Runs     []int             // the whole runs left out, as indices, in order
	Starts   []int             // of each run, how many of its first rows stand before it settled; nil where runs are too short to tell
	Findings []finding.Finding // doubts about the sifting itself
}

// Kept returns how many rows are kept.
func (s *Sifted) Kept() int { return count(s.Keep) }

// Fewest rows that are sifted at all: with fewer, the directions and the scatter are guesses.
const fewestRows = 30

// Find looks for spectra and runs that do not belong. x is n×p, one spectrum a row, raw or pretreated; runs cut its rows
// into runs and must cover them in order. The seed decides the random starts; the same input and seed give the same answer.
// each, which may be nil, runs what does not depend on each other, perhaps at once; the answer does not depend on it.
//
// The rows of a run stand in the order of time. Up to a quarter of the rows may be poison, and up to a quarter of the runs. With
// fewer than fewestRows rows nothing is left out; with fewer than fewestRuns runs, or fewer than fewestEach rows in a run on
// average, no whole run is; a finding says so. Errors: shapes that do not fit, or a value that is not finite.
func Find(x *mat.Dense, runs []holdout.Range, seed uint64, each runner.Runner) (*Sifted, error) {
	n, p := x.Dims()
	if err := check(x, runs, each); err != nil {
		return nil, err
	}
	s := &Sifted{Keep: make([]bool, n), Why: make([]finding.Finding, n)}
	for i := range s.Keep {
		s.Keep[i] = true
	}
	if n < fewestRows {
		s.Findings = append(s.Findings, finding.Of(finding.TooFewToSift, "", float64(n), fewestRows))
		return s, nil
	}
	if len(runs)*fewestEach > n {
		s.Findings = append(s.Findings, finding.Of(finding.ShortRunsToSift, "", float64(len(runs)), float64(n), fewestEach))
		runs = []holdout.Range{{From: 0, To: n}}
	}
	rng := rand.New(rand.NewPCG(seed, 0x5157))
	m := min(maxDirections, p, n/10)
	f := sphericalFrame(sample(x, nil, maxSample, each), m, rng)
	t, q := f.place(x, each)
	w, core := withinRuns(t, q, runs, rng, each)
	out := make([]bool, len(runs))
	short := len(s.Findings) > 0
	if len(runs) < fewestRuns && !short {
		s.Findings = append(s.Findings, finding.Of(finding.TooFewRunsToSift, "", float64(len(runs)), fewestRuns))
	} else if !short {
		out = betweenRuns(w, q, core, runs)
	}
	if !short {
		s.Starts = make([]int, len(runs))
	}
	s.settle(x, runs, core, out, rng, each)
	s.doubt()
	return s, nil
}

const (
	maxDirections = 10   // usual lines vary in about as many ways above their noise
	maxSample     = 1000 // rows that directions are learned from: enough for ten, and quick
	fewestEach    = 5    // rows in a run: the scatter within runs is known from all of them together, a middle from its own
	fewestRuns    = 5    // a quarter of fewer is less than one run, and three cannot outvote one reliably
)

func check(x *mat.Dense, runs []holdout.Range, each runner.Runner) error {
	n, p := x.Dims()
	if err := holdout.Cover(runs, n); err != nil {
		return err
	}
	const rows = 1000
	return each.Try((n+rows-1)/rows, func(part int) error {
		for i := part * rows; i < min((part+1)*rows, n); i++ {
			row := x.RawRowView(i)
			if sum := floats.Sum(row); sum-sum == 0 { // quicker than one after another; of huge ones it may be infinite
				continue
			}
			for j, v := range row {
				if v-v != 0 { // no finite number
					return fmt.Errorf("row %d of %d: channel %d of %d is %v", i+1, n, j+1, p, v)
				}
			}
		}
		return nil
	})
}

// withinRuns returns the scores in units of the scatter within runs, and the rows that agree with their own run: near its
// middle by a scatter pooled over all runs, and no further off the directions than others. It may be too strict with honest
// rows; settle takes them back.
//
// It goes twice. The first middles are medians, which a run that is nearly half poison bends; only half of the rows may count
// on them. The second are those of each run's tightest half.
func withinRuns(t *mat.Dense, q []float64, runs []holdout.Range, rng *rand.Rand, each runner.Runner) (w *mat.Dense, core []bool) {
	n, m := t.Dims()
	mids := mat.NewDense(len(runs), m, nil)
	each.Do(len(runs), func(g int) { middle(mids.RawRowView(g), t, rowsOf(runs[g])) })
	off := farness(q, nil)
	w, d2 := t, []float64(nil)
	for _, share := range []float64{0.5, 0.65} {
		c := mcd(around(w, mids, runs, 1500), m, share, rng, each)
		last, next := w, mat.NewDense(n, m, nil)
		w, d2 = next, make([]float64, n)
		each.Do(len(runs), func(g int) {
			r, mid := runs[g], mids.RawRowView(g)
			for i := r.From; i < r.To; i++ {
				c.distance2(last.RawRowView(i), next.RawRowView(i)) // leaves the whitened row in its second argument
			}
			densest(mid, next, onto(off, r))
			for i := r.From; i < r.To; i++ {
				d2[i] = distance2(next.RawRowView(i), mid)
			}
		})
	}
	return w, both(farness(d2, nil), off, strict)
}

// strict is how far, in the measure of farness, a row may lie to count at first: three deviations of a normal population.
const strict = 3

// onto returns the rows of the run that the directions describe; all rows, where they are less than a fifth of it.
func onto(off []float64, r holdout.Range) []int {
	var rows []int
	for i := r.From; i < r.To; i++ {
		if off[i] <= strict {
			rows = append(rows, i)
		}
	}
	if len(rows)*5 < r.Len() {
		return rowsOf(r)
	}
	return rows
}

// around returns at most limit rows of t less the middle of their run, evenly taken, one after another.
func around(t, mids *mat.Dense, runs []holdout.Range, limit int) []float64 {
	n, m := t.Dims()
	var d []float64
	g := 0
	for _, i := range even(n, limit) {
		for i >= runs[g].To {
			g++
		}
		d = append(d, t.RawRowView(i)...)
		axpy(d[len(d)-m:], -1, mids.RawRowView(g))
	}
	return d
}

// densest writes the centre of the tightest half of the rows to dst: concentration from several of them. A median would
// lie between the halves of a run that is half poison; this takes one of them.
func densest(dst []float64, w *mat.Dense, rows []int) {
	const seeds, steps = 7, 4
	best := math.Inf(1)
	mid, d2 := make([]float64, len(dst)), make([]float64, len(rows))
	for s := range seeds {
		copy(mid, w.RawRowView(rows[(2*s+1)*len(rows)/(2*seeds)]))
		var sum float64
		for range steps {
			for j, i := range rows {
				d2[j] = distance2(w.RawRowView(i), mid)
			}
			half := median(slices.Clone(d2))
			clear(mid)
			n := 0
			sum = 0
			for j, i := range rows {
				if d2[j] <= half {
					axpy(mid, 1, w.RawRowView(i))
					n++
					sum += d2[j]
				}
			}
			scale(mid, 1/float64(n))
		}
		if sum < best {
			best = sum
			copy(dst, mid)
		}
	}
}

// both reports where neither a nor b is above cut.
func both(a, b []float64, cut float64) []bool {
	ok := make([]bool, len(a))
	for i := range a {
		ok[i] = a[i] <= cut && b[i] <= cut
	}
	return ok
}

// farness turns squared distances into a measure that is about standard normal for rows of one kind: the cube root, which
// makes a χ² nearly normal (Wilson, Hilferty 1931), less its median, over the spread of its middle. keep names the rows
// that median and spread are taken from (nil: all).
func farness(d2 []float64, keep []bool) []float64 {
	z := make([]float64, len(d2))
	var some []float64
	for i, v := range d2 {
		z[i] = math.Cbrt(v)
		if keep == nil || keep[i] {
			some = append(some, z[i])
		}
	}
	mid := median(some)
	spread := (mid - quantile(some, 0.1)) / 1.2816 // below the median: poison lies above it
	for i := range z {
		z[i] -= mid
		if spread > 0 {
			z[i] /= spread
		}
	}
	return z
}

// middle writes the median of each score over the rows to dst.
func middle(dst []float64, t *mat.Dense, rows []int) {
	col := make([]float64, len(rows))
	for a := range dst {
		for j, i := range rows {
			col[j] = t.At(i, a)
		}
		dst[a] = median(col)
	}
}

// rowsOf returns the rows of the run.
func rowsOf(r holdout.Range) []int {
	rows := make([]int, r.Len())
	for i := range rows {
		rows[i] = r.From + i
	}
	return rows
}

// doubt adds a finding where so much was left out that the larger part may not be the good one.
func (s *Sifted) doubt() {
	n := len(s.Keep)
	if out := n - s.Kept(); out*3 > n {
		s.Findings = append(s.Findings, finding.Of(finding.MuchSifted, "", float64(out), float64(n)))
	}
}
