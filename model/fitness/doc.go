// Package fitness says whether a spectrum can be believed at all, before anybody asks what it shows.
// Check looks at one spectrum alone: a spectrum of a changed process is fit. A Doctor follows the instrument through spectra of
// production, and compares them with the Baseline of those that were learned from.
package fitness
