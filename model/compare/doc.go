// Package compare says whether one stretch of production looks like another: today like last week, this shift like
// the one before. It does not look at single spectra: neighbours in time are no independent witnesses, so whole runs
// are, and what runs usually differ by comes from the known-good runs of the reference.
package compare
