package project

import (
	"gonum.org/v1/gonum/blas"
	"gonum.org/v1/gonum/blas/blas64"
	"gonum.org/v1/gonum/floats"
)

// enough is the number of spectra from which θ₂ and θ₃ are computed where there are more: with the same number of
// channels they would cost more than all else together. Their sampling error is then about 1/√4096 of what the
// limits move by, far below what the assumptions behind such limits leave open.
const enough = 4096

// dropped returns θ₁, θ₂, θ₃ of the components left out: traces of the first three powers of the covariance R of the
// residuals, or of the n×n matrix of their products, which has the same roots, where that is smaller. They are formed
// from the residuals, since the difference of traces has no digits left where the first components are large.
// θ₁ is always from all the spectra; θ₂ and θ₃ are from 4,096 of them, evenly spread, where there are more.
func (r *rows) dropped(m *PCA) [3]float64 {
	n, p := r.x.Dims()
	if n < p {
		e := r.all()
		m.deflate(e)
		return gram(e, 1/float64(n-1)).traces()
	}
	used := min(n, enough)
	var all, some float64 // sums of squared residuals: of all, and of those used
	c := newSquare(p)
	pick := blas64.General{Cols: p, Stride: p, Data: make([]float64, 0, chunk*p)}
	for from := 0; from < n; from += chunk {
		to := min(from+chunk, n)
		e := r.centred(from, to)
		m.deflate(e)
		pick.Rows, pick.Data = 0, pick.Data[:0]
		for i := from; i < to; i++ {
			row := e.Data[(i-from)*p:][:p]
			q := floats.Dot(row, row)
			all += q
			if i*used/n != (i+1)*used/n {
				some += q
				pick.Rows, pick.Data = pick.Rows+1, append(pick.Data, row...)
			}
		}
		if pick.Rows > 0 {
			r.turned = c.addProducts(pick, 1, r.turned)
		}
	}
	if some == 0 {
		return [3]float64{}
	}
	return c.scaled(all / float64(n-1) / some).traces()
}

// scaled multiplies the matrix in place.
func (c square) scaled(f float64) square {
	floats.Scale(f, c.Data)
	return c
}

// deflate takes the components out of centred spectra.
func (m *PCA) deflate(e blas64.General) {
	p := general(m.K, m.P, m.Loadings)
	t := zeros(e.Rows, m.K)
	blas64.Gemm(blas.NoTrans, blas.Trans, 1, e, p, 0, t)
	blas64.Gemm(blas.NoTrans, blas.NoTrans, -1, t, p, 1, e)
}

// traces returns tr R, tr R² = ‖R‖² (Frobenius) and tr R³ = Σᵢⱼ(R²)ᵢⱼRᵢⱼ, which are Σλ, Σλ² and Σλ³ without a single
// eigenvalue being computed. It fills the lower triangle.
func (c square) traces() [3]float64 {
	c.mirror()
	p := c.Rows
	var th [3]float64
	for i := range p {
		th[0] += c.Data[i*p+i]
	}
	th[1] = floats.Dot(c.Data, c.Data)
	r2 := gram(c.General, 1) // R is its own transpose
	for i := range p {
		a, b := r2.Data[i*p+i:(i+1)*p], c.Data[i*p+i:(i+1)*p]
		th[2] += 2*floats.Dot(a, b) - a[0]*b[0] // what lies above the diagonal lies below it, too
	}
	return th
}
