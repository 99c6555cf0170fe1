package limits

import (
	"math"
	"math/rand/v2"
	"slices"
)

// eulerGamma is the mean of the standard Gumbel distribution.
const eulerGamma = 0.57721566490153286

// A gumbel is the distribution of the largest of many values whose tail falls off exponentially or faster (Coles, An
// Introduction to Statistical Modeling of Extreme Values, Springer 2001, section 3.1):
//
//	P(M ≤ x) = exp(−exp(−(x−μ)/σ))
type gumbel struct{ mu, sigma float64 }

// fitGumbel fits by L-moments (Hosking, L-moments, Journal of the Royal Statistical Society B 52, 1990): with
// l₁ the mean and l₂ half the mean difference of two values,
//
//	σ = l₂/ln 2,   μ = l₁ − γσ
//
// It sorts x.
func fitGumbel(x []float64) gumbel {
	slices.Sort(x)
	n := float64(len(x))
	var mean, b1 float64
	for i, v := range x {
		mean += v / n
		b1 += float64(i) * v / (n * max(n-1, 1))
	}
	sigma := max((2*b1-mean)/math.Ln2, 0)
	return gumbel{mean - eulerGamma*sigma, sigma}
}

// above returns P(M > x).
func (g gumbel) above(x float64) float64 { return -math.Expm1(-math.Exp(-(x - g.mu) / g.sigma)) }

// predictive returns the z for which a new maximum exceeds μ̂ + z σ̂ with probability q, where μ̂ and σ̂ were fitted to n
// maxima: the chance of an unlucky fit is in it. With few maxima z is far larger than that of a known distribution,
// −ln(−ln(1−q)).
//
// (M−μ̂)/σ̂ does not depend on μ and σ, so its distribution is found by fitting simulated standard samples and
// averaging P(M > μ̂+zσ̂) over the fits. The same n and q always give the same z.
func predictive(n int, q float64) float64 {
	known := -math.Log(-math.Log1p(-q))
	if n > 2000 {
		return known
	}
	const draws = 2000
	rng := rand.New(rand.NewPCG(uint64(n), 0x67756d62656c))
	fits := make([]gumbel, draws)
	x := make([]float64, n)
	for i := range fits {
		for j := range x {
			x[j] = -math.Log(rng.ExpFloat64())
		}
		fits[i] = fitGumbel(x)
	}
	lo, hi := known, known+1
	exceeds := func(z float64) bool {
		sum := 0.0
		for _, f := range fits {
			sum += -math.Expm1(-math.Exp(-(f.mu + z*f.sigma)))
		}
		return sum > q*draws
	}
	for exceeds(hi) && hi < 1e6 {
		lo, hi = hi, 2*hi
	}
	for range 40 {
		if mid := (lo + hi) / 2; exceeds(mid) {
			lo = mid
		} else {
			hi = mid
		}
	}
	return hi
}
