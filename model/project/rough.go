package project

import (
	"math/rand/v2"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/mat"
)

// Rough returns the leading directions of a covariance after a few power sweeps, for those who compare many models and
// need no direction to its last digit: leading returns when they are there, Rough when the sweeps are done.
//
// The covariance is known by its products: times fills w with v·C, both b×p. start, b×p, is where the sweeps begin and
// is not changed; values and axes (b×p, orthonormal rows) come falling, by a Rayleigh–Ritz rotation of the last space.
// The last few of the b are the roughest: ask for more than are needed.
//
// Source: Halko, Martinsson, Tropp 2011, Finding structure with randomness, SIAM Review 53, 217–288, §4.5.
func Rough(times func(w, v *mat.Dense), start *mat.Dense, sweeps int) (values []float64, axes *mat.Dense) {
	b, p := start.Dims()
	v, w := mat.DenseCopyOf(start), mat.NewDense(b, p, nil)
	for range sweeps {
		orthonormalRows(v)
		times(w, v)
		v, w = w, v
	}
	orthonormalRows(v)
	times(w, v)
	var h mat.Dense
	h.Mul(v, w.T())
	s := mat.NewSymDense(b, nil)
	for i := range b {
		for j := i; j < b; j++ {
			s.SetSym(i, j, (h.At(i, j)+h.At(j, i))/2)
		}
	}
	values, u := falling(s, b)
	w.Mul(mat.NewDense(b, b, u.Data), v)
	return values, w
}

// RoughStart returns b×p random numbers to begin with, the same for the same seed.
func RoughStart(b, p int, seed uint64) *mat.Dense {
	rng := rand.New(rand.NewPCG(seed, uint64(p)))
	d := make([]float64, b*p)
	for i := range d {
		d[i] = rng.NormFloat64()
	}
	return mat.NewDense(b, p, d)
}

// orthonormalRows makes the rows of v orthonormal, twice over so that nearly dependent ones come out exact. A row with
// nothing of its own becomes zero.
func orthonormalRows(v *mat.Dense) {
	b, _ := v.Dims()
	for i := range b {
		row := v.RawRowView(i)
		before := floats.Norm(row, 2)
		for range 2 {
			for j := range i {
				u := v.RawRowView(j)
				floats.AddScaled(row, -floats.Dot(u, row), u)
			}
		}
		if after := floats.Norm(row, 2); after > 1e-12*before {
			floats.Scale(1/after, row)
		} else {
			clear(row)
		}
	}
}
