package limits

import (
	"math"

	"gonum.org/v1/gonum/mat"
)

// A white turns a d-vector z into one whose squared length is zᵀ Σ⁻¹ z: the inverse of the Cholesky factor of Σ, the
// lower triangle, row by row.
type white []float64

// newWhite returns the white of Σ (d×d). A Σ that is not positive definite is first brought closer to its diagonal,
// and directions without any spread are given that of the others.
func newWhite(sigma *mat.SymDense) white {
	d := sigma.SymmetricDim()
	trace := mat.Trace(sigma) / float64(d)
	if !(trace > 0) {
		trace = 1
	}
	for i := range d {
		if sigma.At(i, i) < 1e-9*trace {
			sigma.SetSym(i, i, 1e-9*trace)
		}
	}
	var chol mat.Cholesky
	for tries := 0; !chol.Factorize(sigma); tries++ {
		towardsDiagonal(sigma, 0.1)
		if tries > 100 { // the diagonal itself factorizes, so this is never reached
			panic("limits: covariance without Cholesky factor")
		}
	}
	var l, inv mat.TriDense
	chol.LTo(&l)
	if err := inv.InverseTri(&l); err != nil && math.IsInf(inv.At(0, 0), 0) {
		panic("limits: " + err.Error())
	}
	w := make(white, 0, d*(d+1)/2)
	for i := range d {
		for j := 0; j <= i; j++ {
			w = append(w, inv.At(i, j))
		}
	}
	return w
}

// length returns √(zᵀ Σ⁻¹ z).
func (w white) length(z []float64) float64 {
	sum, at := 0.0, 0
	for i := range z {
		v := 0.0
		for j, c := range w[at : at+i+1] {
			v += c * z[j]
		}
		at += i + 1
		sum += v * v
	}
	return math.Sqrt(sum)
}

// towardsDiagonal shrinks what lies off the diagonal of Σ by the share g.
func towardsDiagonal(sigma *mat.SymDense, g float64) {
	d := sigma.SymmetricDim()
	for i := range d {
		for j := i + 1; j < d; j++ {
			sigma.SetSym(i, j, (1-g)*sigma.At(i, j))
		}
	}
}

// A scatter is a sum of weighted second moments about zero that one run can be taken out of.
type scatter struct {
	runs []*mat.SymDense // the mean second moment of each run
	n    float64         // how many independent witnesses all runs together are worth
}

// without returns the mean second moment of all runs but one (−1: of all), shrunk towards its diagonal by
// (d+1)/(n+d+1): with n witnesses for d(d+1)/2 entries, few of them leave little more than the diagonal.
func (s scatter) without(run int) *mat.SymDense {
	d := s.runs[0].SymmetricDim()
	sum := mat.NewSymDense(d, nil)
	n := 0
	for i, m := range s.runs {
		if i != run {
			sum.AddSym(sum, m)
			n++
		}
	}
	sum.ScaleSym(1/float64(max(n, 1)), sum)
	witnesses := s.n * float64(n) / float64(len(s.runs))
	towardsDiagonal(sum, float64(d+1)/(witnesses+float64(d+1)))
	return sum
}

// solve fills dst with Σ⁻¹ z, WᵀW z.
func (w white) solve(dst, z []float64) {
	clear(dst)
	at := 0
	for i := range z {
		row := w[at : at+i+1]
		v := 0.0
		for j, c := range row {
			v += c * z[j]
		}
		for j, c := range row {
			dst[j] += c * v
		}
		at += i + 1
	}
}
