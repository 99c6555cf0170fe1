// Package archive writes what history holds of a month as plain CSV files that any program reads, and reads them back into a
// history, so that reports can be made of it years later. It judges nothing, and it takes nothing out of a history.
//
// # The folder, version 1
//
//	2026-11/archive.json     what it is: format, version, month, time zone, lines, and of each table its rows and SHA-256
//	2026-11/spectra.csv      one row a spectrum, in the order of time within each line
//	2026-11/episodes.csv     those that touch the month
//	2026-11/groups.csv       uncharted groups that touch the month
//	2026-11/means.csv        mean spectra; axes.csv has the axes that they lie on
//	2026-11/own.csv          dark, reference and standard spectra of the instrument's own
//	2026-11/checks.csv       what those told of the instrument
//	2026-11/unreadable.csv   what could not be read, and why
//	2026-11/copies.csv       what was not judged because it had been before
//	2026-11/acts.csv         what became of the alarm, and approvals
//	2026-11/references.csv   which reference judged from when on
//
// Times are RFC 3339 in UTC with all their digits; numbers have as many digits as reading them back exactly takes; an empty
// cell is a value that there is none of. Columns named findings hold JSON; reasons, beside them, say the same in words.
// The folder is put there whole: what an interrupted export left begins with keep.Prefix.
//
// What is read back is what was written, but for how far each file was judged: nobody watches an archive. Read refuses an
// archive that is not as it was written, and a history that has spectra of the same line and time already.
package archive
