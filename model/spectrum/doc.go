// Package spectrum turns the files that spectrometers write into spectra, for everything that judges them.
// It does not decide whether a spectrum is fit to judge, and it never changes a value that it read.
//
// A Spectrum is one measurement: p values on an Axis of p channels, with a time and the place it came from.
// Files are read by Read, whatever their format; what cannot be read comes back as an *Unreadable that names
// the file, the line and the trouble, and the rest of the file goes on.
package spectrum
