// Package intake takes spectra as an instrument gives them and hands out those that are to be judged, in one place for all
// that judge: darks, references and standards go to the checks, interferograms are transformed, raw intensities become absorbances
// with the darks and references before them, and the spectra of each item become one. It does not judge.
//
// The way of one spectrum, each step only where it is asked for:
//
//  1. role       check    dark, reference and standard spectra are told apart, checked and kept
//  2. transform  fourier  an interferogram becomes an intensity
//  3. absorbance light    an intensity becomes an absorbance
//  4. item      item     the empty belt is left out, and several spectra of one item are averaged
package intake
