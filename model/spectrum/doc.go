// Package spectrum turns the files that spectrometers write into spectra, for everything that judges
// them. It does not decide whether a spectrum is fit to judge, and it mends nothing: values are changed
// only by factors that the file states, and by 1/100 where they stand in percent.
//
// A Spectrum is one measurement: p values on an Axis of p channels, with a time and the place it came
// from. Files are read by Read, whatever their format; what cannot be read comes back as an *Unreadable
// that names the file, the line and the trouble, and the rest of the file goes on.
//
// # Columns: one spectrum, a line a channel
//
//	# time: 2026-11-25T06:34:12+01:00
//	# axis: nm
//	# quantity: absorbance
//	900,0.412
//	901.5,0.409
//
// Between the columns stands a comma, a semicolon, a tab or blanks; except after the comma, the decimal
// mark may be a comma too. Lines that begin with #, %, // or ! are comments, and those of the form
// "key: value" are read, as are such lines without a mark before the numbers. The keys, whatever their
// case: time, date and their kin; axis (nm, um, cm-1, index); quantity; run, batch or lot; label,
// condition, class or title; number of channels. A line of names right above the numbers may say the
// unit and the quantity: "Wavelength (nm);Transmittance (%)".
//
// With the columns sample, dark and reference, named so, the spectrum is the absorbance of the three.
//
// # Tables: a row a spectrum
//
//	time,run,label,900,901.5,903
//	2026-11-25T06:34:12Z,lot 7,usual,0.412,0.409,0.404
//
// Columns whose names are positions, such as 900, X900 or "900 nm", are the channels; the others are
// found by their names, and those that nothing is read from are listed in Info. Comments and lines above
// the table say the same as in columns, for all rows. A bad row is left out with its reason.
//
// # JCAMP-DX
//
// Versions 4.24 and 5.01: AFFN, PAC, SQZ, DIF and DUP ordinates, (X++(Y..Y)) and (XY..XY), LINK blocks.
// All checks that the format has are made, and a block that fails one is refused.
//
// # What is guessed
//
// Where neither the options nor the file say it: the unit, by GuessUnit, and the quantity, by
// GuessQuantity. Info says what was guessed.
//
// # Limits
//
// A file has up to 1 GiB (Options.MaxBytes), a line 16 MiB, a spectrum 1,048,576 channels. Memory is
// bounded by one line or one spectrum, whatever the length of the file.
package spectrum
