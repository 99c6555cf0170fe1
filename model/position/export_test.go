package position

import "gonum.org/v1/gonum/stat/distuv"

// T2LimitChi2 returns the limit of T² for a model known without error, χ²(1−α; k): what T2LimitF and T2LimitBeta
// tend to, from above and from below, as n grows.
func T2LimitChi2(k int, alpha float64) float64 {
	check(alpha)
	if k < 1 {
		return 0
	}
	return distuv.ChiSquared{K: float64(k)}.Quantile(1 - alpha)
}
