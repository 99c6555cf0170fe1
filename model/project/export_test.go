package project

import "gonum.org/v1/gonum/mat"

// Covariance returns the covariance, with divisor n−1, of at least two spectra.
func (m *Moments) Covariance() *mat.SymDense {
	m.flush()
	return m.covariance(nil).sym()
}

// ScoresAll returns the scores, n×k, and the squared residuals of the n spectra of x, one a row.
func (m *PCA) ScoresAll(x *mat.Dense) (t *mat.Dense, q []float64) {
	n, _ := x.Dims()
	t, q = mat.NewDense(n, m.K, nil), make([]float64, n)
	for i := range n {
		m.Scores(t.RawRowView(i), x.RawRowView(i))
		q[i] = m.SquaredResidual(x.RawRowView(i), t.RawRowView(i))
	}
	return t, q
}
