package sift

import (
	"cmp"
	"math"
	"math/rand/v2"
	"slices"

	"gonum.org/v1/gonum/stat/distuv"

	"asusual/model/runner"
)

// A cloud is a centre and a scatter of m-vectors, the scatter as its lower Cholesky factor (row-major m×m).
type cloud struct {
	m      int
	center []float64
	chol   []float64
}

// cloudOf returns the mean and the covariance of the rows of x (flat, m numbers a row) that idx names. A direction in
// which they do not vary gets a trifle of variance, so that the scatter can always be inverted.
func cloudOf(x []float64, m int, idx []int) cloud {
	c := cloud{m: m, center: make([]float64, m), chol: make([]float64, m*m)}
	for _, i := range idx {
		axpy(c.center, 1/float64(len(idx)), x[i*m:(i+1)*m])
	}
	s := c.chol
	div := 1 / float64(max(len(idx)-1, 1))
	for _, i := range idx {
		row := x[i*m : (i+1)*m]
		for a := range m {
			da := (row[a] - c.center[a]) * div
			for b := range a + 1 {
				s[a*m+b] += da * (row[b] - c.center[b])
			}
		}
	}
	var trace float64
	for a := range m {
		trace += s[a*m+a]
	}
	floor := 1e-10 * trace / float64(m)
	if floor == 0 {
		floor = 1 // rows that are all alike: any scatter will do
	}
	cholesky(s, m, floor)
	return c
}

// cholesky overwrites the lower triangle of s by its factor; a pivot below floor is raised to it.
func cholesky(s []float64, m int, floor float64) {
	for a := range m {
		for b := range a + 1 {
			v := s[a*m+b]
			for q := range b {
				v -= s[a*m+q] * s[b*m+q]
			}
			if a == b {
				s[a*m+a] = math.Sqrt(max(v, floor))
			} else {
				s[a*m+b] = v / s[b*m+b]
			}
		}
	}
}

// distance2 returns the squared Mahalanobis distance of row; work needs m numbers.
func (c cloud) distance2(row, work []float64) float64 {
	var d2 float64
	for a := range c.m {
		v := row[a] - c.center[a]
		for q := range a {
			v -= c.chol[a*c.m+q] * work[q]
		}
		v /= c.chol[a*c.m+a]
		work[a] = v
		d2 += v * v
	}
	return d2
}

// mcd returns the cloud of the most concentrated part of x (n rows of m numbers, flat): the minimum covariance determinant
// of a share h of the rows by concentration steps (Rousseeuw, Van Driessen 1999, A fast algorithm for the minimum covariance
// determinant estimator, Technometrics 41, 212–223), then one step of reweighting at χ²(0.975) and a scale that makes the median
// squared distance of the rows kept that of χ² on m degrees of freedom.
//
// Random starts of m+1 rows are seldom free of poison where m is ten and a third of the rows is not good. So there are two more,
// after Hubert, Rousseeuw, Verdonck 2012 (A deterministic algorithm for robust location and scatter, J. Computational and Graphical
// Statistics 21, 618–637): the rows that are small in every column, and those that are small by the scatter of the differences
// between neighbours, which poison in one piece does not enter.
func mcd(x []float64, m int, h float64, rng *rand.Rand, each runner.Runner) cloud {
	const starts, finalists = 20, 4
	n := len(x) / m
	all, small := even(n, n), even(n, 300)
	type try struct {
		c   cloud
		det float64
	}
	columns := columnwise(x, m)
	tries := []try{{c: columns}, {c: neighbours(x, m, columns)}}
	for range starts {
		first := make([]int, m+1)
		for i := range first {
			first[i] = small[rng.IntN(len(small))]
		}
		tries = append(tries, try{c: cloudOf(x, m, first)})
	}
	each.Do(len(tries), func(i int) {
		t, of, times := &tries[i], small, 3
		if i < 2 {
			t.c.center = make([]float64, m) // rows are seen from the middle of their run
			of, times = all, 2
		}
		for range times {
			t.c = concentrate(x, t.c, of, h)
		}
		t.det = t.c.logDet()
	})
	slices.SortStableFunc(tries[2:], func(a, b try) int { return cmp.Compare(a.det, b.det) })
	best, last := try{det: math.Inf(1)}, tries[:2+finalists]
	each.Do(len(last), func(i int) {
		for range 8 {
			last[i].c = concentrate(x, last[i].c, all, h)
		}
		last[i].det = last[i].c.logDet()
	})
	for _, t := range last {
		if t.det < best.det {
			best = t
		}
	}
	return reweighted(x, best.c)
}

// columnwise returns a cloud about zero whose scatter is diagonal: the squared median magnitude of each column.
func columnwise(x []float64, m int) cloud {
	c := cloud{m: m, center: make([]float64, m), chol: make([]float64, m*m)}
	col := make([]float64, len(x)/m)
	for a := range m {
		for i := range col {
			col[i] = math.Abs(x[i*m+a])
		}
		c.chol[a*m+a] = max(median(col), math.SmallestNonzeroFloat64)
	}
	return c
}

// neighbours returns the cloud of the smaller half of the differences between neighbouring rows.
func neighbours(x []float64, m int, columns cloud) cloud {
	d := make([]float64, len(x)-m)
	for i := range d {
		d[i] = x[i+m] - x[i]
	}
	idx := even(len(d)/m, len(d)/m)
	return concentrate(d, concentrate(d, columns, idx, 0.5), idx, 0.5)
}

// concentrate is one C-step: the cloud of those rows of idx, a share h, that lie nearest to c.
func concentrate(x []float64, c cloud, idx []int, h float64) cloud {
	type near struct {
		i  int
		d2 float64
	}
	work := make([]float64, c.m)
	ds := make([]near, len(idx))
	for j, i := range idx {
		ds[j] = near{i, c.distance2(x[i*c.m:(i+1)*c.m], work)}
	}
	slices.SortFunc(ds, func(a, b near) int { return cmp.Or(cmp.Compare(a.d2, b.d2), cmp.Compare(a.i, b.i)) })
	keep := make([]int, min(len(ds), max(c.m+1, int(h*float64(len(ds))))))
	for j := range keep {
		keep[j] = ds[j].i
	}
	return cloudOf(x, c.m, keep)
}

func reweighted(x []float64, c cloud) cloud {
	chi := distuv.ChiSquared{K: float64(c.m)}
	n := len(x) / c.m
	c.rescale(x, even(n, n), chi.Quantile(0.5))
	var keep []int
	work := make([]float64, c.m)
	for i := range n {
		if c.distance2(x[i*c.m:(i+1)*c.m], work) <= chi.Quantile(0.975) {
			keep = append(keep, i)
		}
	}
	c = cloudOf(x, c.m, keep)
	c.rescale(x, keep, chi.Quantile(0.5))
	return c
}

// rescale scales the scatter so that the median squared distance of the rows of idx becomes want.
func (c *cloud) rescale(x []float64, idx []int, want float64) {
	work := make([]float64, c.m)
	ds := make([]float64, len(idx))
	for j, i := range idx {
		ds[j] = c.distance2(x[i*c.m:(i+1)*c.m], work)
	}
	if m := median(ds); m > 0 {
		scale(c.chol, math.Sqrt(m/want))
	}
}

func (c cloud) logDet() float64 {
	var s float64
	for a := range c.m {
		s += 2 * math.Log(c.chol[a*c.m+a])
	}
	return s
}

// even returns at most limit of the numbers below n, evenly taken.
func even(n, limit int) []int {
	s := min(n, limit)
	idx := make([]int, s)
	for i := range s {
		idx[i] = i * n / s
	}
	return idx
}
