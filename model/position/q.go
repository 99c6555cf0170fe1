package position

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// QLimitJM returns Jackson and Mudholkar's limit of the Q residual. theta holds θ₁, θ₂, θ₃, the sums of the first
// three powers of the eigenvalues of the components left out:
//
//	h₀ = 1 − 2θ₁θ₃/(3θ₂²)
//	Q  = θ₁·[ c·√(2θ₂h₀²)/θ₁ + 1 + θ₂h₀(h₀−1)/θ₁² ]^(1/h₀)
//
// c is the normal quantile at 1−α with the sign of h₀. Where nothing was left out (θ₁ = 0) the limit is 0. Where
// h₀ ≤ 0 (one large root and very many small ones) the formula still gives a number, but one that is far too high
// (9 % at α = 0.05 and 47 % at 0.01 in a case worked out in the tests), so qLimitPearson answers instead.
//
// Source: Jackson, Mudholkar, "Control Procedures for Residuals Associated with Principal Component Analysis",
// Technometrics 21 (1979), 341–349.
func QLimitJM(theta [3]float64, alpha float64) float64 {
	check(alpha)
	if !(theta[0] > 0 && theta[1] > 0) {
		return 0
	}
	if h0(theta) <= 0 {
		return qLimitPearson(theta, alpha)
	}
	if q := jacksonMudholkar(theta, alpha); q > 0 {
		return q
	}
	return qLimitPearson(theta, alpha) // the bracket is negative: alpha is close to 1
}

func h0(theta [3]float64) float64 {
	return 1 - 2*theta[0]*theta[2]/(3*theta[1]*theta[1])
}

// jacksonMudholkar is the bare formula; it is NaN where the bracket is negative.
func jacksonMudholkar(theta [3]float64, alpha float64) float64 {
	h := h0(theta)
	c := distuv.UnitNormal.Quantile(1 - alpha)
	if h < 0 {
		c = -c
	}
	b := c*math.Sqrt(2*theta[1]*h*h)/theta[0] + 1 + theta[1]*h*(h-1)/(theta[0]*theta[0])
	return theta[0] * math.Pow(b, 1/h)
}

// qLimitPearson returns the limit of the Q residual from a shifted χ² distribution with the first three moments of Q:
//
//	Q = θ₁ + √(2θ₂)·(χ²(1−α; ν) − ν)/√(2ν),  ν = θ₂³/θ₃²
//
// It is exact for equal roots and for one root. Source: Imhof, "Computing the Distribution of Quadratic Forms in
// Normal Variables", Biometrika 48 (1961), section 4, after E. S. Pearson, Biometrika 46 (1959).
func qLimitPearson(theta [3]float64, alpha float64) float64 {
	check(alpha)
	if !(theta[0] > 0 && theta[1] > 0 && theta[2] > 0) {
		return max(theta[0], 0)
	}
	nu := theta[1] / theta[2] * theta[1] / theta[2] * theta[1]
	q := distuv.ChiSquared{K: nu}.Quantile(1 - alpha)
	return theta[0] + math.Sqrt(theta[1]/nu)*(q-nu)
}

// QLimitBox returns Box's limit of the Q residual, g·χ²(1−α; h) with the mean and variance of Q:
//
//	g = θ₂/θ₁,  h = θ₁²/θ₂
//
// It is exact for equal roots and for one root. Source: Box, "Some Theorems on Quadratic Forms Applied in the Study
// of Analysis of Variance Problems", Annals of Mathematical Statistics 25 (1954), 290–302.
func QLimitBox(theta [3]float64, alpha float64) float64 {
	return qLimitMoments(theta[0], 2*theta[1], alpha)
}

// qLimitMoments returns the limit g·χ²(1−α; h) with the mean m and the variance v of the Q residuals of good spectra:
//
//	g = v/(2m),  h = 2m²/v
//
// With no variance the limit is the mean. Source: Nomikos, MacGregor, "Multivariate SPC Charts for Monitoring Batch
// Processes", Technometrics 37 (1995), section on control limits.
func qLimitMoments(mean, variance, alpha float64) float64 {
	check(alpha)
	if !(mean > 0 && variance > 0) {
		return max(mean, 0)
	}
	g, h := variance/(2*mean), 2*mean*mean/variance
	return g * distuv.ChiSquared{K: h}.Quantile(1-alpha)
}
