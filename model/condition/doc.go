// Package condition says what a spectrum looks like that does not look usual: like a named state of the line (rinse,
// start-up, air …), like uncharted spectra that came before it, or like nothing so far. It does not decide what is
// usual: a spectrum is placed against usual production first, and comes here only if it lies outside.
//
// # Named conditions
//
// Each named condition is a Class: a one-class model of its own, learned from its own spectra alone in the pretreated
// space of the reference, with limits from its own runs held out (Wold, Pattern recognition by means of disjoint
// principal components models, Pattern Recognition 8, 1976, 127–139). So a class can be added or forgotten without the
// others changing. A class accepts a spectrum x whose distance
//
//	d = max(√(T²/T² limit), √(Q/Q limit), gate)
//
// is at most 1; T² and Q are those of the class, and the gate is the distance of what pretreatment takes out of a
// spectrum (Look). Of several classes that accept it, it goes to the one under which it is likeliest, and where none does it
// is uncharted. A Confusion counts where held-out spectra of each condition go, and a Map shows all conditions on one
// plane.
//
// # Uncharted groups
//
// Uncharted spectra are gathered, while they arrive, by the place of their Signature: a short vector in which usual spectra
// have a variance of 1. Groups holds what lies together, in bounded memory, and knows a place that it has seen before.
package condition
