package sift

import (
	"math"
	"slices"

	"asusual/model/holdout"

	"gonum.org/v1/gonum/mat"
)

// betweenRuns reports the runs whose middle lies apart from the middles of the others. core names the rows that agree with
// their run; where a run is apart, but the rest of its rows are not, it is the rest that is good: core is changed to them.
//
// w holds the scores in units of the scatter within runs, so that a direction in which good spectra hardly move counts as
// much as one in which they move a lot. A difference that lies within the scatter of spectra within a run never counts.
func betweenRuns(w *mat.Dense, q []float64, core []bool, runs []holdout.Range) []bool {
	mids, offs := middles(w, q, core, runs)
	cuts := cutsFor(mids.Dims())
	apart := func() []bool { return cuts.apart(mids, offs) }
	out := apart()
	for g, run := range runs {
		rest := where(core, run, false)
		if !out[g] || len(rest)*5 < run.Len() {
			continue
		}
		was, wasOff := append([]float64(nil), mids.RawRowView(g)...), offs[g]
		mid := mids.RawRowView(g)
		densest(mid, w, rest)
		near := nearest(w, mid, rest)
		offs[g] = offOf(q, near)
		if out[g] = apart()[g]; out[g] {
			mids.SetRow(g, was)
			offs[g] = wasOff
			continue
		}
		for _, i := range where(core, run, true) {
			core[i] = false
		}
		for _, i := range near {
			core[i] = true
		}
	}
	return out
}

// where returns the rows of the run at which core is as wanted.
func where(core []bool, r holdout.Range, as bool) (rows []int) {
	for i := r.From; i < r.To; i++ {
		if core[i] == as {
			rows = append(rows, i)
		}
	}
	return rows
}

// nearest returns the half of the rows that lies nearest to mid.
func nearest(w *mat.Dense, mid []float64, rows []int) []int {
	d := make([]float64, len(rows))
	for j, i := range rows {
		d[j] = distance2(w.RawRowView(i), mid)
	}
	half := median(slices.Clone(d))
	var near []int
	for j, i := range rows {
		if d[j] <= half {
			near = append(near, i)
		}
	}
	return near
}

// offOf returns the logarithm of the median squared rest of the rows.
func offOf(q []float64, rows []int) float64 {
	some := make([]float64, len(rows))
	for j, i := range rows {
		some[j] = q[i]
	}
	return math.Log(median(some) + math.SmallestNonzeroFloat64)
}

// middles returns each run's median scores (R×m) and the logarithm of its median squared rest, over its rows in core; over
// all its rows where core holds less than a tenth of them.
func middles(t *mat.Dense, q []float64, core []bool, runs []holdout.Range) (*mat.Dense, []float64) {
	_, m := t.Dims()
	mids, offs := mat.NewDense(len(runs), m, nil), make([]float64, len(runs))
	for i, r := range runs {
		rows := where(core, r, true)
		if len(rows)*10 < r.Len() {
			rows = append(rows, where(core, r, false)...)
		}
		middle(mids.RawRowView(i), t, rows)
		offs[i] = offOf(q, rows)
	}
	return mids, offs
}

func count(b []bool) int {
	n := 0
	for _, v := range b {
		if v {
			n++
		}
	}
	return n
}
