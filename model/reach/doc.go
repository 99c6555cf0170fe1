// Package reach says what a reference can see: the smallest change that would be seen nine times in ten within a stated
// number of spectra, under its promise. It shows an owner what it cannot see, which no limit does, and it is what the
// pretreatment is chosen by.
//
// It is measured, not derived. Held-out good spectra are changed from many moments on, by a small band, an offset, a slope,
// a scale, a shift of the axis or more noise, and given to the memories of limits, which stand where they stood at that
// moment. The size is sought at which nine in ten of the moments end in an episode in time.
//
// A change is made in the raw absorbance and goes through the pretreatment, linearised about the mean spectrum at the size
// that was found; in the model it moves the scores by a·Pd and the residual by Q → Q + 2a·e·d + a²‖r‖², r = d − PᵀPd, so that
// nothing is projected anew while the size is sought. A test compares this with the whole way. Whether a spectrum passes a threshold
// is asked of limits.Ahead, which knows what came after a moment and how a change moves it; where that is not sure, spectra are given
// one after another to limits.Passing.
//
// It does not say what would cause such a change, nor how much of a constituent it is.
package reach
