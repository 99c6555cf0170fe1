// Package holdout places known-good spectra as new ones would be placed: each whole run against a reference that was
// learned from the other runs. Limits, thresholds, the number of components and the pretreatment are chosen on what it returns.
// It sets none of them itself.
//
// Spectra of one run resemble each other, so that a model that has seen some of them knows the rest: leaving out single
// spectra, or random tenths, flatters (Roberts et al. 2017, Ecography 40, 913–929). Where there are too few runs, blocks of
// time are held out, with a gap at each side, and a finding says so.
//
// The way of a fold: pretreat, fitted inside the fold where a step learns; project, learned from what the fold may see, by
// taking the moments of the rest away from those of all; then the scores, T² and Q of each held-out spectrum. Scores of all
// folds are turned into the components of the whole, so that they can be compared.
//
// Whoever has several cores hands in a runner; the answer does not depend on it.
package holdout
