// Package fitness says whether a spectrum can be believed at all, before anybody asks what it shows.
// It does not compare the spectrum with a reference: a spectrum of a changed process is fit.
package fitness
