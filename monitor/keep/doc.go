// Package keep puts files on disk so that nobody ever sees half of one, and holds what only one process may hold. It
// knows nothing of spectra, and it touches no file but those it is asked to write.
package keep
