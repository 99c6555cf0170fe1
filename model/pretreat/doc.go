// Package pretreat takes out of an absorbance spectrum what does not matter for the comparison (scatter, baseline,
// noise, dead ends of the range), by a chain of steps, for everything that learns from spectra or judges one.
// It does not decide whether a spectrum can be believed, and it computes no absorbance: see model/fitness and model/spectrum.
//
// The steps of a chain are given in order, each by its name and settings:
//
//	snv        standard normal variate: each spectrum to mean 0 and standard deviation 1
//	msc        multiplicative scatter correction against the mean training spectrum, which the chain keeps
//	detrend    minus the polynomial in the axis that fits best (degree)
//	smooth     Savitzky–Golay smoothing (window, degree)
//	derivative Savitzky–Golay derivative per axis unit (window, degree, order 1 or 2)
//	offset     minus the mean of a range (from, to), or minus the minimum
//	keep       only this range (from, to); several in a row keep all their ranges
//	leave-out  without this range (from, to)
//
// Windows and ranges are in the unit of the axis, so that they mean the same on every grid. What is left open is
// set by Fit from the axis, and Steps says to what. A Chain does not change after Fit and is safe for concurrent use.
package pretreat
