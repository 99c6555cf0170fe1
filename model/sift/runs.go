package sift

import (
	"math"
	"math/rand/v2"
	"slices"

	"asusual/model/holdout"

	"gonum.org/v1/gonum/mat"
)

// betweenRuns reports the runs whose middle lies apart from the middles of the others. core names the rows that agree with
// their run; where a run is apart, but the rest of its rows are not, it is the rest that is good: core is changed to them.
//
// w holds the scores in units of the scatter within runs, so that a direction in which good spectra hardly move counts as
// much as one in which they move a lot. Each run is seen along the direction from the centre of all middles to its own, where
// the R middles are standardised by the tightest three quarters of them (projection pursuit after Stahel 1981 and Donoho 1982,
// with a run's own direction for all directions). The cut is that which R points of one normal population in as many
// dimensions pass with a familywise level: few runs give a rough scale, so their cut is high and none is thrown out lightly.
// A difference that lies within the scatter of spectra within a run never counts.
func betweenRuns(w *mat.Dense, q []float64, core []bool, runs []holdout.Range) []bool {
	const level = 0.01
	mids, offs := middles(w, q, core, runs)
	r, m := mids.Dims()
	cut, offCut := runCut(r, m, level), offCut(r, level)
	apart := func() []bool {
		out := make([]bool, r)
		z, zo := outlyingness(mids, 1), standardised(offs, 0.1) // a tenth more or less left over is no difference
		for i := range out {
			out[i] = z[i] > cut || zo[i] > offCut
		}
		return out
	}
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

// mostWitnesses bounds the runs that others are measured by: a cut hardly changes beyond, and the work grows with its square.
const mostWitnesses = 100

// outlyingness returns, for each row of mids (R×m), how far it lies along its own direction in units of the scatter of
// the rows along it, of which mostWitnesses stand for all. The scatter is at least floor, and at least that of all
// directions together over √2.
func outlyingness(mids *mat.Dense, floor float64) []float64 {
	r, m := mids.Dims()
	c := spatialMedian(mids)
	sizes := make([]float64, r)
	for i := range sizes {
		sizes[i] = distance2(mids.RawRowView(i), c) / float64(m)
	}
	floor = max(floor, math.Sqrt(median(sizes)/2))
	witnesses := even(r, mostWitnesses)
	u, y, z := make([]float64, m), make([]float64, len(witnesses)), make([]float64, r)
	for i := range r {
		copy(u, mids.RawRowView(i))
		axpy(u, -1, c)
		length := math.Sqrt(dot(u, u))
		if length == 0 {
			continue
		}
		scale(u, 1/length)
		for j, w := range witnesses {
			y[j] = dot(mids.RawRowView(w), u)
		}
		mid, sd := tightest(y)
		z[i] = math.Abs(dot(mids.RawRowView(i), u)-mid) / max(sd, floor, math.SmallestNonzeroFloat64)
	}
	return z
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

// standardised returns |x − m|/s of each value, m and s those of the tightest three quarters. s is at least floor.
func standardised(x []float64, floor float64) []float64 {
	mid, sd := tightest(slices.Clone(x))
	sd = max(sd, floor, math.SmallestNonzeroFloat64)
	z := make([]float64, len(x))
	for i, v := range x {
		z[i] = math.Abs(v-mid) / sd
	}
	return z
}

// tightest returns the mean and the standard deviation of those three quarters of x that lie closest together: the minimum
// covariance determinant in one dimension (Rousseeuw, Leroy 1987, Robust regression and outlier detection, ch. 4.2), without its
// factor of consistency, which the cuts do not need. It sorts x.
func tightest(x []float64) (mean, sd float64) {
	slices.Sort(x)
	h := len(x) - len(x)/4
	best := math.Inf(1)
	for i := 0; i+h <= len(x); i++ {
		var sum, ss float64
		for _, v := range x[i : i+h] {
			sum += v
		}
		m := sum / float64(h)
		for _, v := range x[i : i+h] {
			ss += (v - m) * (v - m)
		}
		if ss < best {
			best, mean = ss, m
		}
	}
	return mean, math.Sqrt(best / float64(max(h-1, 1)))
}

// runCut returns what the largest outlyingness of r points of one normal population in m dimensions passes with the given
// probability, from simulated sets: the same for every call.
func runCut(r, m int, level float64) float64 {
	r = min(r, mostWitnesses)
	rng := rand.New(rand.NewPCG(uint64(r), uint64(m)))
	sets := max(300, 4000/r)
	top := make([]float64, sets)
	x := mat.NewDense(r, m, nil)
	for i := range top {
		for a := range r {
			for b := range m {
				x.Set(a, b, rng.NormFloat64())
			}
		}
		top[i] = slices.Max(outlyingness(x, 0))
	}
	return quantile(top, 1-level)
}

// offCut does the same for standardised in one dimension.
func offCut(r int, level float64) float64 {
	r = min(r, mostWitnesses)
	rng := rand.New(rand.NewPCG(uint64(r), 0))
	top := make([]float64, 2000)
	x := make([]float64, r)
	for i := range top {
		for j := range x {
			x[j] = rng.NormFloat64()
		}
		top[i] = slices.Max(standardised(x, 0))
	}
	return quantile(top, 1-level)
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
