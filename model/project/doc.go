// Package project describes spectra by a few directions in which they vary together: principal component analysis
// (PCA), for the rooms that place a spectrum against what was usual. It centres and does not scale, and it sets no limits.
//
// Notation: n spectra, p channels, k components, X n×p with one spectrum a row, x̄ the mean spectrum,
// C = (X−x̄)ᵀ(X−x̄)/(n−1) its covariance, λ the eigenvalues of C in falling order and P, k×p, its first
// eigenvectors, the loadings, one a row. A spectrum x has the scores t = P(x−x̄), the reconstruction x̂ = x̄ + Pᵀt,
// the residual e = x − x̂ and the squared residual Q = ‖e‖².
//
// Only the k components that are asked for are computed, by a block Krylov method on X or on C, to a residual
// ‖Cp−λp‖ below 10⁻¹⁰ of λ (or of 4·10⁻¹⁵ of the largest λ, which is rounding); a full
// eigendecomposition steps in where that does not converge or the matrix is small. Spectra that need not be held are read a
// few times instead (FitStream).
package project
