// Package light makes absorbances of raw intensities, for instruments that write counts and leave dark and reference
// spectra beside them. It does not judge the instrument, which is what package check does with the same spectra.
//
// A detector's signal at a channel, after an integration time t, is modelled as
//
//	S = b + t·(c + I)
//
// with an offset b, a dark current c and the light I (common practice for linear detectors, no source). A dark spectrum of the same
// integration time takes b and c away, whatever they are; what is left, divided by t, is light, and
//
//	A = −log₁₀(I_sample / I_reference)
//
// so that sample, dark and reference may each have an integration time of their own, as long as each of the two has a
// dark of its own time, or darks of a shorter and a longer one, between which b + t·c is a straight line.
package light
