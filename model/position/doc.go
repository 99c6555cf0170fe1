// Package position says where a spectrum lies against a class model, for the rooms that decide what that means.
// It does not decide anything: the borders that hold in production are learned in model/limits.
//
// A spectrum has two distances from a model of k components: Hotelling's T², how far out it lies within the
// pattern of variation that the model knows, and the Q residual (also SPE), how much of it that pattern cannot
// show. The limits here are those of the textbooks. They assume independent, normally distributed spectra, which
// neighbouring spectra of a line are not, so they are shown beside the learned limits and do not replace them.
//
// Notation: n training spectra, p channels, k components, t the k scores, λ the k eigenvalues (of the covariance
// with divisor n−1), P the k×p loadings one component a row, e the residual, α the share of good spectra outside.
// Functions that have no answer for a valid alpha, because the spectra are too few, return +Inf: no limit can be given.
// An alpha that is not between 0 and 1 is a mistake of the caller and panics.
package position
