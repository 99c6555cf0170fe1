// Command sitebench measures how quick a history on a PostgreSQL server stays with a year of ten lines in it.
//
//	go run ./cmd/sitebench -rows 30000000 -for 10m
//
// It starts a server of its own, on which what is confirmed is kept as on one in use, and fills it with records of the lines at one a
// second, in the order of time, lines in turn, by the server's own statements: so many rows as are asked for, or as fit into the
// time. Then it measures, by the program's own ways: how many spectra a second watchers of all lines bring to it at the same time,
// each kept in a file first, as they do; how long the records and the counts of a shift of eight hours take, in the middle of the
// fill and at its end, first and again; and how long all lines for the page over the site. The server's memory is forgotten before,
// that of the operating system is not. It needs PostgreSQL and about 300 bytes of disk a row, in the folder of temporary files.
package main
