// Package condition gives each named state of the line (rinse, start-up, air …) a class model of its own, in the
// pretreated space of the reference, so that a spectrum that is not usual can be called by the name of the place
// where it lies. It does not decide what is usual: a spectrum is placed against usual production first.
package condition
