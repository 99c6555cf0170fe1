package sift

import (
	"math"
	"math/rand/v2"
	"slices"

	"asusual/model/project"
	"asusual/model/runner"

	"gonum.org/v1/gonum/blas"
	"gonum.org/v1/gonum/blas/blas64"
	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/mat"
)

// A frame holds m orthonormal directions about a centre: every spectrum becomes m scores and the squared length of
// what they do not describe. All later steps work on those few numbers.
type frame struct {
	center []float64  // p
	axes   *mat.Dense // m×p, one direction a row
}

// sphericalFrame returns the frame of m directions of spherical PCA (Locantore, Marron, Simpson, Tripoli, Zhang, Cohen
// 1999, Robust principal component analysis for functional data, Test 8, 1–73): every row of x, seen from the spatial
// median, is shrunk to length 1 before the directions are taken, so that a far spectrum pulls no more than a near one.
// x is s×p and is overwritten.
func sphericalFrame(x *mat.Dense, m int, rng *rand.Rand) frame {
	c := spatialMedian(x)
	n, _ := x.Dims()
	for i := range n {
		row := x.RawRowView(i)
		var ss float64
		for j := range row {
			row[j] -= c[j]
			ss += row[j] * row[j]
		}
		if ss > 0 {
			scale(row, 1/math.Sqrt(ss))
		}
	}
	return frame{center: c, axes: leading(x, m, rng)}
}

// spatialMedian returns the point with the smallest sum of distances to the rows of x, by Weiszfeld's steps from the
// channel-wise median. Half of the rows would have to lie elsewhere to carry it away.
func spatialMedian(x *mat.Dense) []float64 {
	const steps = 12 // the centre only has to be robust, not exact
	n, p := x.Dims()
	c, next, col, off := make([]float64, p), make([]float64, p), make([]float64, n), make([]float64, p)
	for j := range p {
		mat.Col(col, j, x)
		c[j] = median(col)
	}
	for range steps {
		clear(next)
		var sum float64
		for i := range n {
			row := x.RawRowView(i)
			floats.SubTo(off, row, c)
			d := math.Sqrt(floats.Dot(off, off))
			if d == 0 {
				continue // a row on the centre pulls nowhere
			}
			sum += 1 / d
			floats.AddScaled(next, 1/d, row)
		}
		if sum == 0 {
			break
		}
		for j := range c {
			c[j] = next[j] / sum
		}
	}
	return c
}

// leading returns the m leading directions of the rows of y about zero, one a row.
func leading(y *mat.Dense, m int, rng *rand.Rand) *mat.Dense {
	const sweeps, spare = 4, 4
	s, p := y.Dims()
	b := min(m+spare, p)
	t := mat.NewDense(b, s, nil)
	_, axes := project.Rough(func(w, v *mat.Dense) {
		t.Mul(v, y.T())
		w.Mul(t, y)
	}, project.RoughStart(b, p, rng.Uint64()), sweeps)
	return axes.Slice(0, m, 0, p).(*mat.Dense)
}

// place returns the scores t (n×m) of the rows of x and the squared lengths of what is left, q (n).
func (f frame) place(x *mat.Dense, each runner.Runner) (t *mat.Dense, q []float64) {
	n, _ := x.Dims()
	m, _ := f.axes.Dims()
	t, q = mat.NewDense(n, m, nil), make([]float64, n)
	axes := f.axes.RawMatrix()
	each.Parts(n, 2000, func(from, to int) {
		d := make([]float64, len(f.center))
		for i := from; i < to; i++ {
			row := t.RawRowView(i)
			floats.SubTo(d, x.RawRowView(i), f.center)
			blas64.Gemv(blas.NoTrans, 1, axes, vector(d), 0, vector(row))
			q[i] = max(floats.Dot(d, d)-dot(row, row), 0)
		}
	})
	return t, q
}

func vector(v []float64) blas64.Vector { return blas64.Vector{N: len(v), Inc: 1, Data: v} }

// sample returns at most limit rows of x among those that keep holds (nil: all), evenly taken, as a new matrix.
func sample(x *mat.Dense, keep []bool, limit int, each runner.Runner) *mat.Dense {
	n, p := x.Dims()
	var rows []int
	for i := range n {
		if keep == nil || keep[i] {
			rows = append(rows, i)
		}
	}
	s := min(limit, len(rows))
	out := mat.NewDense(s, p, nil)
	each.Parts(s, 250, func(from, to int) {
		for i := from; i < to; i++ {
			out.SetRow(i, x.RawRowView(rows[i*len(rows)/s]))
		}
	})
	return out
}

func dot(a, b []float64) float64 {
	var s float64
	for i, v := range a {
		s += v * b[i]
	}
	return s
}

func axpy(y []float64, a float64, x []float64) {
	for i, v := range x {
		y[i] += a * v
	}
}

func scale(x []float64, a float64) {
	for i := range x {
		x[i] *= a
	}
}

func distance2(a, b []float64) float64 {
	var s float64
	for i, v := range a {
		d := v - b[i]
		s += d * d
	}
	return s
}

// quantile returns the q-quantile of x, linear between neighbours. It reorders x.
func quantile(x []float64, q float64) float64 {
	if len(x) == 0 {
		return math.NaN()
	}
	at := q * float64(len(x)-1)
	i := min(int(at), len(x)-1)
	partition(x, i)
	if i+1 == len(x) || at == float64(i) {
		return x[i]
	}
	return x[i] + (at-float64(i))*(slices.Min(x[i+1:])-x[i])
}

// partition reorders x so that x[k] is the value that would be there if x were sorted, nothing before it is larger and
// nothing after it smaller (Hoare 1961, Algorithm 65: find, Communications of the ACM 4, 321–322). x holds no NaN.
func partition(x []float64, k int) {
	for lo, hi := 0, len(x)-1; lo < hi; {
		mid := lo + (hi-lo)/2
		pivot := max(min(x[lo], x[mid]), min(max(x[lo], x[mid]), x[hi])) // the middle one of three
		i, j := lo, hi
		for i <= j {
			for x[i] < pivot {
				i++
			}
			for x[j] > pivot {
				j--
			}
			if i <= j {
				x[i], x[j] = x[j], x[i]
				i++
				j--
			}
		}
		switch {
		case k <= j:
			hi = j
		case k >= i:
			lo = i
		default:
			return
		}
	}
}

// median returns the median of x, which it reorders.
func median(x []float64) float64 { return quantile(x, 0.5) }
