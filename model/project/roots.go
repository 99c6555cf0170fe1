package project

import (
	"gonum.org/v1/gonum/blas"
	"gonum.org/v1/gonum/blas/blas64"
	"gonum.org/v1/gonum/floats"
)

// dropped returns θ₁, θ₂, θ₃ of the components left out: traces of the first three powers of the covariance R of the
// residuals, or of the n×n matrix of their products, which has the same roots, where that is smaller. They are formed
// from the residuals, since the difference of traces has no digits left where the first components are large.
func (r *rows) dropped(m *PCA) ([3]float64, error) {
	n, p := r.x.Dims()
	scale := 1 / float64(n-1)
	if n < p {
		e := r.all()
		m.deflate(e)
		return gram(e, scale).traces(), nil
	}
	c := newSquare(p)
	for from := 0; from < n; from += chunk {
		e := r.centred(from, min(from+chunk, n))
		m.deflate(e)
		c.addProducts(e, scale)
	}
	return c.traces(), nil
}

// deflate takes the components out of centred spectra.
func (m *PCA) deflate(e blas64.General) {
	p := general(m.K, m.P, m.Loadings)
	t := zeros(e.Rows, m.K)
	blas64.Gemm(blas.NoTrans, blas.Trans, 1, e, p, 0, t)
	blas64.Gemm(blas.NoTrans, blas.NoTrans, -1, t, p, 1, e)
}

// traces returns tr R, tr R² and tr R³, and fills the lower triangle.
func (c square) traces() [3]float64 {
	c.mirror()
	p := c.Rows
	var th [3]float64
	for i := range p {
		th[0] += c.Data[i*p+i]
	}
	th[1] = floats.Dot(c.Data, c.Data)
	r2 := zeros(p, p)
	blas64.Gemm(blas.NoTrans, blas.NoTrans, 1, c.General, c.General, 0, r2)
	th[2] = floats.Dot(r2.Data, c.Data)
	return th
}
