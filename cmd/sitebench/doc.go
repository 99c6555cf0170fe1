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
//
// With -for 5m on two cores that others used too it printed, a year of ten lines being 315 million:
//
//	filled 22896000 records of 10 lines, 26.5 days, in 300 s (76251 a second, by the server itself); they take 6343 MB
//	10 watchers at the same time bring 50000 spectra that waited, a file each: 48734 a second
//	one spectrum kept and brought: 2.1 ms
//	a shift in the middle, first: 28800 records 604 ms, counts of 28800 88 ms
//	a shift in the middle, again: 28800 records 239 ms, counts of 28800 23 ms
//	all 20 lines for the page over the site, first: 73 ms
//	all 20 lines for the page over the site, again: 10 ms
//
// A partition a month was not needed for that: the primary key (line, time, file, row) leads to a shift through few pages more for
// ten times the rows. What it would make quicker is taking out old months.
package main
