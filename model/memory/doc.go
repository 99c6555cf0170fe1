// Package memory smooths a stream of feature vectors over time, so that a small departure that stays grows out of
// the noise. It knows no threshold: limits learns those.
//
// A Memory is the exponentially weighted mean of the multivariate EWMA chart (MEWMA; Lowry, Woodall, Champ, Rigdon,
// A multivariate exponentially weighted moving average control chart, Technometrics 34, 1992):
//
//	Z_i = r x_i + (1−r) Z_{i−1},   T²_i = Z_iᵀ Σ_Z⁻¹ Z_i
//
// For independent x with covariance Σ two covariances of Z are in use, and a threshold belongs to one of them:
//
//	asymptotic   Σ_Z = r/(2−r) Σ
//	exact        Σ_Z = r/(2−r) (1 − (1−r)^{2i}) Σ
//
// The published tables use the asymptotic one; limits learns a covariance of Z that is as constant, from runs held out. With the same threshold the exact one signals earlier and
// more often: at p = 2, r = 0.1, h = 8.64 an average run length of 187 in control instead of 200.
package memory
