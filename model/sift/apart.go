package sift

import (
	"cmp"
	"math"
	"math/rand/v2"
	"slices"

	"gonum.org/v1/gonum/mat"
)

// A cut is how far apart runs must lie to be out. Each run is seen along the direction from the centre of all middles to its
// own, where the R middles are standardised by the tightest three quarters of them (projection pursuit after Stahel 1981 and
// Donoho 1982, with a run's own direction for all directions). The cut is that which R points of one normal population in as
// many dimensions pass with a familywise level: few runs give a rough scale, so their cut is high and none is thrown out
// lightly. Several that lie apart in the same place need not lie so far: see agreeing.
type cut struct {
	alone  float64   // for outlyingness
	group  []float64 // for agreeing, by size
	off    float64   // for what is left over
	beside float64   // for a run on the way to those that are out
}

// cutsFor returns the cut of r runs in m dimensions, from simulated sets: the same for every call.
func cutsFor(r, m int) cut {
	const level, easier = 0.01, 0.05 // easier: one direction that others chose
	c := cut{off: offCut(r, level), beside: offCut(r, easier)}
	c.alone, c.group = runCut(r, m, level)
	for i, v := range c.group {
		if i == 0 {
			c.group[i] = max(v, leastPair)
		} else {
			c.group[i] = max(v, leastGroup)
		}
	}
	return c
}

// How far apart a pair of runs or a larger group lies at least. Middles that differ in one way only agree more easily: of 8 to 40
// simulated ones about one set in a hundred passes these.
const (
	leastPair  = 6
	leastGroup = 5
)

// apart reports the runs that lie apart from the others: by themselves, as a group, or on the way to those that do. What
// went wrong with a run often did with another, which a lot of its own may hide.
func (c cut) apart(mids *mat.Dense, offs []float64) []bool {
	r, m := mids.Dims()
	out := make([]bool, r)
	z, zo := outlyingness(mids, 1), standardised(offs, 0.1) // a tenth more or less left over is no difference
	further := false
	for i := range out {
		out[i] = z[i] > c.alone || zo[i] > c.off
		further = further || zo[i] > c.off
	}
	order, least := agreeing(mids, z, 1)
	for i, v := range least {
		if v > c.group[i] {
			for _, g := range order[:i+2] {
				out[g] = true
			}
		}
	}
	way, center := make([]float64, m), spatialMedian(mids)
	for i := range out {
		if out[i] {
			d := slices.Clone(mids.RawRowView(i))
			axpy(d, -1, center)
			axpy(way, z[i]/max(math.Sqrt(dot(d, d)), math.SmallestNonzeroFloat64), d)
		}
	}
	beyond(out, project1(mids, way), 1, c.beside)
	if further {
		beyond(out, offs, 0.1, c.beside)
	}
	return out
}

// beyond sets out where x lies above the others by more than cut.
func beyond(out []bool, x []float64, floor, cut float64) {
	mid, _ := tightest(slices.Clone(x))
	for i, z := range standardised(x, floor) {
		out[i] = out[i] || z > cut && x[i] > mid
	}
}

// project1 returns the rows of mids along a direction of any length; of none, zeros.
func project1(mids *mat.Dense, way []float64) []float64 {
	r, _ := mids.Dims()
	y := make([]float64, r)
	length := math.Sqrt(dot(way, way))
	for i := range y {
		if length > 0 {
			y[i] = dot(mids.RawRowView(i), way) / length
		}
	}
	return y
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

// mostInGroup bounds the work; a larger group is found by its furthest.
const mostInGroup = 5

// agreeing returns the rows of mids from the furthest on, and for the 2, 3, … furthest of them, up to a quarter of all, how
// far the nearest of each such group lies out along the way to the others of its group, in units of the scatter along it.
// That runs lie together in one place out there is seldom chance: the way was found without the run that is seen along it,
// so it does not lean towards it, as its own direction does.
func agreeing(mids *mat.Dense, z []float64, floor float64) (order []int, least []float64) {
	r, m := mids.Dims()
	c := spatialMedian(mids)
	order = even(r, r)
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(z[b], z[a]) })
	way := make([]float64, m)
	for size := 2; size <= min(r/4, mostInGroup); size++ {
		low := math.Inf(1)
		for _, i := range order[:size] {
			clear(way)
			for _, o := range order[:size] {
				if o != i {
					axpy(way, 1, mids.RawRowView(o))
				}
			}
			axpy(way, -float64(size-1), c)
			y := project1(mids, way)
			at := y[i]
			mid, sd := tightest(y)
			low = min(low, (at-mid)/max(sd, floor, math.SmallestNonzeroFloat64))
		}
		least = append(least, low)
	}
	return order, least
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
// probability, and what the groups of each size do with that of the level shared out among the sizes.
func runCut(r, m int, level float64) (alone float64, group []float64) {
	r = min(r, mostWitnesses)
	rng := rand.New(rand.NewPCG(uint64(r), uint64(m)))
	sets := max(300, 4000/r)
	top := make([]float64, sets)
	var least [][]float64
	x := mat.NewDense(r, m, nil)
	for i := range top {
		for a := range r {
			for b := range m {
				x.Set(a, b, rng.NormFloat64())
			}
		}
		z := outlyingness(x, 0)
		top[i] = slices.Max(z)
		_, low := agreeing(x, z, 0)
		for j, v := range low {
			if i == 0 {
				least = append(least, nil)
			}
			least[j] = append(least[j], v)
		}
	}
	for _, l := range least {
		group = append(group, quantile(l, 1-level/float64(len(least))))
	}
	return quantile(top, 1-level), group
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
