// Command sitebench measures how quick a history on a PostgreSQL server stays with a year of ten lines in it.
//
//	go run ./cmd/sitebench -rows 30000000 -for 10m
//
// It starts a server of its own, on which what is confirmed is kept as on one in use, and fills it with records of the lines at one a
// second, in the order of time, lines in turn, by the server's own statements: so many rows as are asked for, or as fit into the
// time. Then it measures, by the program's own ways: how many spectra a second watchers of all lines bring to it at the same time,
// each kept in a file first, as they do; how long the records and the counts of a shift of eight hours take, in the middle of the
// fill and at its end, first and again; how long all lines for the page over the site; and how long it takes to take the oldest
// day of a line out. Before, the memory of the server is emptied, and that of the operating system, by dd of GNU. It needs PostgreSQL
// and about 300 bytes of disk a row, in the folder of temporary files.
//
// With -rows 100000000 -for 50m, on two cores that twenty to thirty other processes were using too, so that the fill ended before
// the rows were in, it printed, a year of ten lines being 315 million:
//
//	filled 65016000 records of 10 lines, 75.3 days, in 3012 s (21587 a second, by the server itself); they take 18 GB
//	10 watchers at the same time bring 50000 spectra that waited, a file each: 7838 a second
//	one spectrum kept and brought: 21.3 ms
//	a shift in the middle, first: 28800 records 3374 ms, counts of 28800 952 ms
//	a shift in the middle, again: 28800 records 2084 ms, counts of 28800 120 ms
//	a shift at the end, first: 28800 records 3276 ms, counts of 28800 1514 ms
//	a shift at the end, again: 28800 records 1660 ms, counts of 28800 113 ms
//	all 20 lines for the page over the site, first: 1052 ms
//	all 20 lines for the page over the site, again: 32 ms
//	the oldest day of a line taken out: 82801 spectra in 13671 ms
//
// With -rows 1000000, while the machine was quiet:
//
//	10 watchers at the same time bring 50000 spectra that waited, a file each: 57289 a second
//	a shift in the middle, first: 28800 records 618 ms, counts of 28800 117 ms
//	a shift in the middle, again: 28800 records 265 ms, counts of 28800 24 ms
//	all 20 lines for the page over the site, first: 159 ms
//	the oldest day of a line taken out: 82801 spectra in 3615 ms
//
// and while thirty to fifty others were at work:
//
//	10 watchers at the same time bring 50000 spectra that waited, a file each: 2427 a second
//	a shift in the middle, first: 28800 records 4243 ms, counts of 28800 849 ms
//	a shift in the middle, again: 28800 records 3606 ms, counts of 28800 246 ms
//
// So the other processes cost more than 64 million rows do; how much the rows alone cost these three do not tell. There is no
// partition a month so far: the primary key (line, time, file, row) leads to a shift through few pages more for many times the
// rows, and a day of a line, which a watch takes out once a day, is gone in seconds.
package main
