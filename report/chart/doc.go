// Package chart draws the pictures of a report: plain numbers in, the bytes of a PNG out. It reads no file and no clock,
// and computes nothing that a picture does not need.
//
// All pictures share one visual language, fixed in style.go: ink on paper. What is usual is a grey density and is drawn
// first; the period that the report is about has the one dark hue, its newest spectra strongest; a limit is a thin line
// with its name written on it. Names stand at the things they name, and shape says what colour only repeats, so that a
// picture printed in grey loses nothing: a disc lies inside, a ring outside, a cross in a named condition.
//
// The same struct gives the same bytes. A number that is not finite is an error that names the picture and the number.
package chart
