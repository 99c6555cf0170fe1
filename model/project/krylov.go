package project

import (
	"math"
	"math/rand/v2"

	"gonum.org/v1/gonum/blas"
	"gonum.org/v1/gonum/blas/blas64"
	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/mat"
)

// An operator is a symmetric p×p matrix C with no negative eigenvalue, known by its products.
type operator interface {
	multiply(w, v blas64.General) // fills w, b×p, with v·C
}

const (
	tolerance = 1e-10 // of the residual, as a share of its eigenvalue
	rounding  = 4e-15 // of the residual, as a share of the largest eigenvalue: below it there is only rounding
	guards    = 2     // directions beside the k, which keep the last of them from waiting for the next
	passes    = 100   // products with C, each of a block, before giving up
)

// leading returns the k largest eigenvalues of C and their eigenvectors, k×p, or ok false if they did not converge.
//
// It projects C on a growing space (Rayleigh–Ritz) that takes in, at each pass, the residuals Cu−θu of the wanted
// vectors that are not there yet; that is the block Krylov space of the start, with those that are there left alone.
// Residuals are as good as the powers Cv, C²v, … that the name speaks of, and shrink as they should where powers lose
// their digits. When the space is full it begins anew from its best vectors. It takes guard
// directions more along than are asked for. start, if not nil, holds vectors that are near, at most k+guard of them.
//
// Source: Saad, "Numerical Methods for Large Eigenvalue Problems", 2nd edition (SIAM 2011), chapters 6 and 7.
func leading(c operator, p, k, guard int, start []float64) (values, vectors []float64, ok bool) {
	s, ok := search(c, p, k, guard, start)
	if !ok {
		return nil, nil, false
	}
	return s.theta[:k], s.u.Data[:k*p], true
}

// search is leading, and gives the space as it ended, with the guards, whether the first k are there or not.
func search(c operator, p, k, guard int, start []float64) (*space, bool) {
	want := min(k+guard, p)
	s := &space{c: c, p: p, most: min(p, max(8*want, 60))}
	s.start(want, start)
	for range passes {
		if !s.extend() {
			break
		}
		if !s.ritz(want) {
			break
		}
		if s.settled(k) {
			return s, true
		}
		if s.m+want > s.most {
			s.shrink()
		}
		s.next()
	}
	return s, false
}

// space is a space of m dimensions with its image under C.
type space struct {
	c       operator
	p, m    int
	most    int
	v, cv   []float64 // m×p: an orthonormal basis, and its products with C
	h       []float64 // most×most: the projection v·C·vᵀ
	fresh   []float64 // vectors to take in
	theta   []float64 // Ritz values, falling
	u, cu   blas64.General
	s       blas64.General // coefficients of u in v
	res     blas64.General // residuals Cu−θu
	norm    []float64      // and their lengths
	randoms *rand.Rand
}

// start begins with vectors that are near, filled up with random ones: the same each time, and at right angles to nothing.
func (s *space) start(want int, near []float64) {
	s.randoms = rand.New(rand.NewPCG(1, uint64(s.p)))
	s.v, s.cv = make([]float64, 0, s.most*s.p), make([]float64, 0, s.most*s.p)
	s.h = make([]float64, s.most*s.most)
	s.fresh = append(s.fresh, near...)
	for len(s.fresh) < want*s.p {
		s.fresh = append(s.fresh, s.randoms.NormFloat64())
	}
}

// extend takes the fresh vectors into the space, as far as they are new to it. It reports false if the space
// did not grow and cannot.
func (s *space) extend() bool {
	before := s.m
	for i := 0; i < len(s.fresh) && s.m < s.most; i += s.p {
		f := s.fresh[i : i+s.p]
		if !s.orthonormalise(f) {
			for j := range f { // nothing new: any other direction will do
				f[j] = s.randoms.NormFloat64()
			}
			if !s.orthonormalise(f) {
				continue
			}
		}
		s.v = append(s.v, f...)
		s.m++
	}
	if s.m == before {
		return false
	}
	p, b := s.p, s.m-before
	s.cv = s.cv[:s.m*p]
	s.c.multiply(general(b, p, s.cv[before*p:]), general(b, p, s.v[before*p:]))
	for i := before; i < s.m; i++ {
		for j := range i + 1 {
			d := floats.Dot(s.cv[i*p:(i+1)*p], s.v[j*p:(j+1)*p])
			s.h[i*s.most+j], s.h[j*s.most+i] = d, d
		}
	}
	return true
}

// orthonormalise makes f orthogonal to the space, twice over, which is enough, and of length 1.
func (s *space) orthonormalise(f []float64) bool {
	for range 3 {
		before := math.Sqrt(floats.Dot(f, f))
		if before == 0 {
			return false
		}
		floats.Scale(1/before, f)
		for i := range s.m {
			v := s.v[i*s.p : (i+1)*s.p]
			floats.AddScaled(f, -floats.Dot(f, v), v)
		}
		if after := math.Sqrt(floats.Dot(f, f)); after > 0.5 {
			floats.Scale(1/after, f)
			return true
		}
	}
	return false
}

// ritz computes the want best approximations in the space, and their residuals. It reports false if it cannot.
func (s *space) ritz(want int) bool {
	h := mat.NewSymDense(s.m, nil)
	for i := range s.m {
		for j := i; j < s.m; j++ {
			h.SetSym(i, j, s.h[i*s.most+j])
		}
	}
	values, vectors := falling(h, want)
	if len(values) < want {
		return false
	}
	s.theta, s.s = values, vectors
	p, b := s.p, len(values)
	s.u, s.cu, s.res = zeros(b, p), zeros(b, p), zeros(b, p)
	blas64.Gemm(blas.NoTrans, blas.NoTrans, 1, s.s, general(s.m, p, s.v), 0, s.u)
	blas64.Gemm(blas.NoTrans, blas.NoTrans, 1, s.s, general(s.m, p, s.cv), 0, s.cu)
	s.norm = make([]float64, b)
	for i, theta := range values {
		r := s.res.Data[i*p : (i+1)*p]
		copy(r, s.cu.Data[i*p:])
		floats.AddScaled(r, -theta, s.u.Data[i*p:(i+1)*p])
		s.norm[i] = math.Sqrt(floats.Dot(r, r))
	}
	return true
}

// settled reports whether the first k are there.
func (s *space) settled(k int) bool {
	for i := range k {
		if !s.there(i) {
			return false
		}
	}
	return true
}

// there reports whether vector i is as good as tolerance asks, or as rounding allows.
func (s *space) there(i int) bool {
	return s.norm[i] <= max(tolerance*s.theta[i], rounding*s.theta[0])
}

// next chooses the vectors to take in: the residuals of those that are not there, the guards included.
func (s *space) next() {
	s.fresh = s.fresh[:0]
	for i := range s.theta {
		if !s.there(i) {
			s.fresh = append(s.fresh, s.res.Data[i*s.p:(i+1)*s.p]...)
		}
	}
}

// shrink begins anew with the best vectors of the space.
func (s *space) shrink() {
	s.m = len(s.theta)
	s.v = append(s.v[:0], s.u.Data...)
	s.cv = append(s.cv[:0], s.cu.Data...)
	clear(s.h)
	for i, t := range s.theta {
		s.h[i*s.most+i] = t
	}
}

// falling returns the k largest eigenvalues of a symmetric matrix, falling, and their eigenvectors, one a row.
func falling(a *mat.SymDense, k int) ([]float64, blas64.General) {
	m := a.SymmetricDim()
	k = min(k, m)
	var e mat.EigenSym
	if !e.Factorize(a, true) {
		return nil, zeros(0, m)
	}
	var vec mat.Dense
	e.VectorsTo(&vec)
	all := e.Values(nil)
	values, out := make([]float64, k), zeros(k, m)
	for i := range k {
		values[i] = max(all[m-1-i], 0)
		for j := range m {
			out.Data[i*m+j] = vec.At(j, m-1-i)
		}
	}
	return values, out
}

func zeros(rows, cols int) blas64.General {
	return blas64.General{Rows: rows, Cols: cols, Stride: max(cols, 1), Data: make([]float64, rows*cols)}
}
