// Package sift finds the spectra and the whole runs among known-good ones that do not belong: another product, an empty
// beam, a start-up, a saturated detector, a run that went wrong. It names each with a reason; whoever learns leaves them out.
//
// It does not say what is wrong with them, and it cannot: it only sees that most of the set agrees and they do not.
// Runs of good production differ more than the spectra within a run, and there are few of them, so that far from the others
// means something else for a run than for a spectrum. Hence the order:
//
//  1. A few directions that outliers cannot turn (spherical PCA).
//  2. Within runs: spectra far from the middle of their own run, measured by a robust scatter pooled over all runs (MCD).
//  3. Between runs: runs whose middle is far from the others', measured so that few runs are not thrown out lightly; several
//     that agree on where they lie apart need less.
//  4. A model of what is left judges every spectrum once more, so that each is left out for what it is, not for its run
//     or for the roughness of the first steps. Where spectra are skewed or have long tails by nature, it allows for that.
//  5. Where a run begins with spectra that do not belong, all are left out up to where it has settled.
//
// The way from robust directions over robust scatter to distances within and off the subspace is that of Hubert, Rousseeuw,
// Vanden Branden 2005, ROBPCA: a new approach to robust principal component analysis, Technometrics 47, 64–79; the split into
// spectra and runs is our own, since theirs takes rows for independent.
package sift
