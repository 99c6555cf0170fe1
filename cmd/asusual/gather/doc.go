// Package gather finds the files that paths on a command line mean and reads the spectra in them, several files at a
// time and in the order of their names, for the commands that read spectra once. It keeps no spectrum and changes no
// file; what a watched folder needs, files that are still growing, is the work of monitor/arrive.
package gather
