package project

import (
	"fmt"

	"gonum.org/v1/gonum/mat"
)

// Directions returns the k leading directions of the rows of x about zero, not about their mean, in falling order: the variances
// along them, Σ(x·u)²/(n−1), and the directions, k×p orthonormal rows. Where the rows vary in fewer ways than k, the last
// variances are zero but for rounding. k is at most the smaller of n and p.
func Directions(x *mat.Dense, k int) (variances []float64, axes *mat.Dense, err error) {
	n, p := x.Dims()
	if k > min(n, p) || n < 2 {
		return nil, nil, fmt.Errorf("%d directions of %d spectra of %d channels: there are %d at most, of 2 spectra and more", k, n, p, min(n, p))
	}
	if k < 1 {
		return nil, nil, nil
	}
	if min(n, p) > small {
		if values, vectors, ok := leading(&rows{x: x, mean: make([]float64, p)}, p, k, guards, nil); ok {
			return values, mat.NewDense(k, p, vectors), nil
		}
	}
	return allDirections(x, k)
}

// allDirections is Directions by the singular values of x, which finds them all.
func allDirections(x *mat.Dense, k int) (variances []float64, axes *mat.Dense, err error) {
	n, p := x.Dims()
	var svd mat.SVD
	if !svd.Factorize(x, mat.SVDThinV) {
		return nil, nil, errDecompose
	}
	var v mat.Dense
	svd.VTo(&v)
	for _, s := range svd.Values(nil)[:k] {
		variances = append(variances, s*s/float64(n-1))
	}
	return variances, mat.DenseCopyOf(v.Slice(0, p, 0, k).T()), nil
}
