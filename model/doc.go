// Package model learns what a production line's spectra look like when all is as usual, and says of each later
// spectrum where it lies against that. It knows no constituent, no concentration and no grade, and it never says one.
//
// # The way of the data
//
// Learn and Judge call the rooms below in this order; whoever has read the two functions knows the program.
//
//  1. read      spectrum   formats in, one Spectrum out, or a reason why not
//  2. fit?      fitness    the instrument, before the process
//  3. sift      sift       known-good spectra and runs that do not belong are named and left out
//  4. pretreat  pretreat   a chain of steps, chosen by reach where nobody states it
//  5. project   project    PCA; holdout chooses the number of components on whole runs held out
//  6. place     position   T², Q residual, distance; stretch says what is left over on parts of the axis
//  7. border    limits     learned from whole runs held out, with the promise; memory smooths over time
//  8. condition condition  usual, a named one, or uncharted
//  9. verdict   verdict    over time: sustained, drifting, changed since
//
// Before that, where an instrument asks for it, intake tells darks, references and standards from production: check looks at
// the instrument by them, fourier transforms interferograms, light makes absorbances of intensities, and item makes one
// spectrum of each item. detector says what of a reference lies where the detector sees nothing.
//
// finding holds the reasons that any room may give, reach says what a reference can see, compare holds one stretch of production
// against another, and alarm follows what a changed process has to be told to whom. published has tables and sets from outside for
// the tests, and oatline makes the invented line of the demonstration.
//
// # Notation
//
//	n        spectra
//	p        channels
//	k        components
//	X        n×p, one spectrum a row, mean-centred where PCA sees it
//	t        k scores of one spectrum
//	P        p×k loadings, one component a column (stored one component a row)
//	λ        k eigenvalues, the variances of the scores, divisor n−1
//	T²       Σ tᵢ²/λᵢ, Hotelling's T² (no unit)
//	Q        ‖x − x̂‖², the residual's squared length (squared unit of the pretreated spectrum)
//	distance max(√(T²/T² limit), √(Q/Q limit)): 1 on the border
//
// # Rules of the house
//
// Everything here is values in, values out: no file, clock, goroutine, logger, nor chance without a seed. What may
// run on several cores is handed a runner by the caller, of package runner.
package model
