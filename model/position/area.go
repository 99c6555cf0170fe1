package position

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// A Scaled is a distance u of training spectra taken as u ~ (Mean/Freedom)·χ²(Freedom).
type Scaled struct {
	Mean    float64 `json:"mean"`
	Freedom float64 `json:"freedom"`
}

// ScaledOf returns the mean u₀ of u and the degrees of freedom that fit its variance:
//
//	N = 2u₀²/var(u), rounded, at least 1
//
// The variance has divisor n−1. With fewer than two values, or no variance, N is 1.
// Source: Pomerantsev, "Acceptance Areas for Multivariate Classification Derived by Projection Methods",
// Journal of Chemometrics 22 (2008), 601–609.
func ScaledOf(u []float64) Scaled {
	n := float64(len(u))
	if n == 0 {
		return Scaled{Freedom: 1}
	}
	var sum, ss float64
	for _, v := range u {
		sum += v
	}
	m := sum / n
	for _, v := range u {
		ss += (v - m) * (v - m)
	}
	if n < 2 || ss == 0 {
		return Scaled{Mean: m, Freedom: 1}
	}
	return Scaled{Mean: m, Freedom: max(1, math.Round(2*m*m/(ss/(n-1))))}
}

// FullDistance returns the two distances of a spectrum as one, Nₕ·h/h₀ + Nᵥ·v/v₀, which is about χ²(Nₕ+Nᵥ) for a
// spectrum that belongs. A training mean of 0 makes the distance infinite for anything above it.
// Source: Pomerantsev, Rodionova, "Concept and Role of Extreme Objects in PCA/SIMCA", Journal of Chemometrics 28 (2014).
func FullDistance(h float64, sh Scaled, v float64, sv Scaled) float64 {
	return sh.of(h) + sv.of(v)
}

func (s Scaled) of(u float64) float64 {
	if u <= 0 {
		return 0
	}
	return s.Freedom * u / s.Mean
}

// FullLimit returns the limit χ²(1−α; Nₕ+Nᵥ) of FullDistance. For the largest of n good spectra to pass it with a
// chance of γ, take alpha = 1 − (1−γ)^(1/n).
func FullLimit(sh, sv Scaled, alpha float64) float64 {
	check(alpha)
	return distuv.ChiSquared{K: sh.Freedom + sv.Freedom}.Quantile(1 - alpha)
}
