// Package fourier turns the interferograms that Fourier-transform instruments record into spectra of light over wavenumber, for
// whoever makes absorbances of them. It does not average scans, and knows no instrument.
//
// The way of one interferogram:
//
//  1. centre    its mean is taken off, and its largest excursion is where both arms are equally long
//  2. phase     of the short stretch on both sides of the centre, smooth over wavenumber
//  3. weights   the stretch that lies on both sides counts half, by a ramp; the rest fades by the apodization
//  4. transform after zeros are filled in, so that channels lie closer than the resolution
//  5. correct   by the phase, multiplied over wavenumber (Mertz, Auxiliary computation for Fourier spectrometry, Infrared Physics 7,
//     1967, 17–23)
//
// Correction by convolution over path difference (Forman, Steel and Vanasse, Correction of asymmetric interferograms obtained in
// Fourier spectroscopy, Journal of the Optical Society of America 56, 1966, 59–63) gives the same where the phase is smooth, and
// costs more. All is described in Griffiths and de Haseth, Fourier Transform Infrared Spectrometry, 2nd edition, 2007, chapters
// 2 and 4.
package fourier
