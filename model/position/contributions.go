package position

import (
	"fmt"
	"math"
)

// ContributionsQ fills dst with what each channel contributes to the Q residual, eⱼ², and returns dst. The sum is Q,
// and the sign of eⱼ tells whether the spectrum lies above or below what the model can show there.
// len(dst) must be len(e); they may be the same slice.
func ContributionsQ(dst, e []float64) []float64 {
	if len(dst) != len(e) {
		panic(fmt.Sprintf("position: %d contributions for a residual of %d channels", len(dst), len(e)))
	}
	for j, v := range e {
		dst[j] = v * v
	}
	return dst
}

// ContributionsT2 fills dst with what each channel contributes to T² and returns dst. Channel j contributes the
// square of the j-th value of D^½(x−x̄), where D = PᵀΛ⁻¹P and D^½ = PᵀΛ^(−½)P:
//
//	cⱼ = (Σₐ tₐ/√λₐ · pₐⱼ)²
//
// No contribution is negative and their sum is T². loadings is k×p row by row, with orthonormal rows;
// len(t) and len(eigenvalues) must be k and len(dst) must be p. A component with λ ≤ 0 contributes nothing.
//
// Source: Alcala, Qin, "Reconstruction-Based Contribution for Process Monitoring", Automatica 45 (2009), the
// complete-decomposition contributions.
func ContributionsT2(dst, t, eigenvalues, loadings []float64) []float64 {
	p := len(dst)
	if len(t) != len(eigenvalues) || len(loadings) != len(t)*p {
		panic(fmt.Sprintf("position: %d scores, %d eigenvalues and %d loadings for %d channels", len(t), len(eigenvalues), len(loadings), p))
	}
	clear(dst)
	for a, l := range eigenvalues {
		if l <= 0 {
			continue
		}
		w := t[a] / math.Sqrt(l)
		for j, v := range loadings[a*p : (a+1)*p] {
			dst[j] += w * v
		}
	}
	for j, v := range dst {
		dst[j] = v * v
	}
	return dst
}
