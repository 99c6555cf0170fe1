package project

import (
	"fmt"

	"gonum.org/v1/gonum/blas"
	"gonum.org/v1/gonum/blas/blas64"
	"gonum.org/v1/gonum/mat"
)

// FitCovariance returns the model of k components of n spectra with that mean and covariance (divisor n−1). It needs
// 1 ≤ k ≤ min(n−1, p); neither mean nor cov is changed or kept. Eigenvalues below the rounding of the largest, or of
// the mean, are a *RankError, as in Fit.
//
// warm, where it is not nil, is a model of nearly the same spectra with as many channels, from which the search
// starts: the result is the same to the tolerance, and sooner there. Such a refit is for placing spectra that were
// held out, so of Theta it fills in θ₁ alone; θ₂ and θ₃, which cost more than the rest together, stay 0.
func FitCovariance(mean []float64, cov *mat.SymDense, n, k int, warm *PCA) (*PCA, error) {
	p := len(mean)
	if cov.SymmetricDim() != p {
		return nil, fmt.Errorf("a covariance of %d channels for a mean of %d", cov.SymmetricDim(), p)
	}
	if err := sizes(n, p, k); err != nil {
		return nil, err
	}
	c := newSquare(p)
	for i := range p {
		for j := i; j < p; j++ {
			c.Data[i*p+j] = cov.At(i, j)
		}
	}
	return fitSquare(append([]float64(nil), mean...), c, n, k, warm)
}

// fitSquare takes mean and c over.
func fitSquare(mean []float64, c square, n, k int, warm *PCA) (*PCA, error) {
	p := len(mean)
	var odd, trace float64
	for _, v := range c.Data {
		odd += 0 * v
	}
	if odd != 0 {
		return nil, fmt.Errorf("the covariance has a value that is not a finite number")
	}
	c.mirror()
	for i := range p {
		trace += c.Data[i*p+i]
	}
	var start []float64
	if warm != nil {
		if warm.P != p {
			return nil, fmt.Errorf("the model to start from has %d channels, %d are needed", warm.P, p)
		}
		start = warm.Loadings[:min(k, warm.K)*p]
	}
	m := &PCA{Mean: mean, K: k, P: p, N: n}
	ok := false
	if p > small {
		m.Eigenvalues, m.Loadings, ok = leading(c, p, k, guards, start)
	}
	if !ok {
		v, u := falling(c.sym(), k)
		if len(v) < k {
			return nil, errDecompose
		}
		m.Eigenvalues, m.Loadings = v, u.Data
	}
	if err := checkRank(m.Eigenvalues, mean); err != nil {
		return nil, err
	}
	switch {
	case k == min(n-1, p): // nothing is left out
	case warm == nil:
		m.Theta = c.without(m).traces()
	default:
		m.Theta[0] = trace
		for _, v := range m.Eigenvalues {
			m.Theta[0] = max(0, m.Theta[0]-v)
		}
	}
	return m.finish(), nil
}

// without takes the components out of the covariance, C − PᵀΛP, in place.
func (c square) without(m *PCA) square {
	scaled := zeros(m.K, m.P)
	for i, l := range m.Eigenvalues {
		for j, v := range m.Loading(i) {
			scaled.Data[i*m.P+j] = l * v
		}
	}
	blas64.Gemm(blas.Trans, blas.NoTrans, -1, general(m.K, m.P, m.Loadings), scaled, 1, c.General)
	return c
}
