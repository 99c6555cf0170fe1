package position

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// T2 returns Hotelling's T² of the scores t:
//
//	T² = Σ tᵢ²/λᵢ
//
// len(t) must be len(eigenvalues). A direction in which the training spectra did not vary at all (λᵢ ≤ 0) counts
// nothing where the spectrum does not vary in it either, and makes T² infinite where it does.
func T2(t, eigenvalues []float64) float64 {
	var sum float64
	for i, l := range eigenvalues {
		if l > 0 {
			sum += t[i] * t[i] / l
		} else if t[i] != 0 {
			return math.Inf(1)
		}
	}
	return sum
}

// T2LimitF returns the limit of T² for spectra that were not in the training set, of which a share alpha of good
// ones lies outside:
//
//	k(n+1)(n−1)/(n(n−k)) · F(1−α; k, n−k)
//
// It is +Inf for n ≤ k. Source: Tracy, Young, Mason, "Multivariate Control Charts for Individual Observations",
// Journal of Quality Technology 24 (1992), eq. for phase II; NIST/SEMATECH e-Handbook of Statistical Methods, 6.5.4.3.4.
func T2LimitF(n, k int, alpha float64) float64 {
	check(alpha)
	if k < 1 || n <= k {
		return none(k)
	}
	m, q := float64(n), float64(k)
	return q * (m + 1) * (m - 1) / (m * (m - q)) * distuv.F{D1: q, D2: m - q}.Quantile(1-alpha)
}

// T2LimitBeta returns the limit of T² for the training spectra themselves:
//
//	(n−1)²/n · B(1−α; k/2, (n−k−1)/2)
//
// B is the quantile of the beta distribution. No training spectrum can pass (n−1)²/n. It is +Inf for n ≤ k+1.
// Source: Tracy, Young, Mason (1992), phase I, with the whole of α in the upper tail.
func T2LimitBeta(n, k int, alpha float64) float64 {
	check(alpha)
	if k < 1 || n <= k+1 {
		return none(k)
	}
	m, q := float64(n), float64(k)
	return (m - 1) * (m - 1) / m * distuv.Beta{Alpha: q / 2, Beta: (m - q - 1) / 2}.Quantile(1-alpha)
}

// none is the limit of a model with no components, on which T² is always 0, or of one with too few spectra.
func none(k int) float64 {
	if k < 1 {
		return 0
	}
	return math.Inf(1)
}

func check(alpha float64) {
	if !(alpha > 0 && alpha < 1) {
		panic(fmt.Sprintf("position: alpha is %v, not between 0 and 1", alpha))
	}
}
