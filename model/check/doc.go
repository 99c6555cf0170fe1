// Package check tests an instrument by its own dark, reference and standard spectra, against how it was at first and against
// published or stated limits. It does not look at spectra of production: package fitness does.
//
// What is measured, each a Result with value, limit, unit and what it means for the instrument:
//
//	dark level         median of a dark spectrum, percent away from the first ones
//	dark noise         of two darks in a row, as a multiple of the first
//	light level        of a reference above the dark, percent away from the first, a region
//	100 % line         noise of two references in a row, absorbance, a region
//	channels           saturated, dead, hot and stuck ones, percent of all
//	repeatability      repeats of a standard against their mean, absorbance
//	band position      of a standard's bands, against its certificate
//
// A Book keeps what is needed over time. All limits are settings. Those of the 100 % line and of band positions are
// quoted from memory, from USP <1119> Near-infrared spectroscopy, edition not checked: set those of the edition in force. They
// are laboratory limits: the chapter itself warns that on a line they may have to be set otherwise. The others are common
// practice without a source, and each says so.
package check
