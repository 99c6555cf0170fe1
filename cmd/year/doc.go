// Command year plays a year of the invented oat-drink line through the real watch, and prints a table of what it saw, what it
// missed and what it called a change that was none, month by month.
//
//	go run ./cmd/year [-seed 1] [-every 1m] [-channels 128] [-days 365] [-upsets 40] [-season 0.02] [-promise "1 per 30 days"]
//	                  [-dir FOLDER]
//
// # The year
//
// One instrument, three products, each a line with a reference, a folder and history of its own, as three lines of one
// configuration would be. Each is made in one run of five hours a day, of a lot of its own, a table of a row a spectrum. The
// season moves the composition over the year and back. The lamp ages, is replaced after four months and again after eight; the
// empty beam that absorbances are made with is measured anew each Monday and with each new lamp. After ten months the detector
// is exchanged for one whose axis lies elsewhere and which is noisier. Upsets are spread over the year by chance, of each kind
// equally many: the seven kinds that package oatline knows, and another product than the one that is due. Their sizes are half
// of, one and two times the usual.
//
// # What the engineer does
//
// The references are learned from ten good runs before the year. On the first of each month the references are extended by
// every second run of the month before in which nothing happened that the plant knows of or was told: the same as asusual
// learn --extend, which adds to what was learned from before. When the detector is exchanged, one day is watched with the old
// references; then come ten days for learning anew, which nobody watches.
//
// # What the table says
//
// An upset is seen when an episode begins between its start and half an hour after its end. The delay runs from the start of an
// upset to the time at which the verdict said that the process has changed. Of what was seen, the table says how often it was
// laid at the right door: an instrument that was not fit, or a change that moves as one of the instrument's would, for the kinds
// that lie in the instrument. An episode that overlaps neither an upset nor the detector's day is counted by itself. Laid at the
// process it is false, or of the season, for which the promise was not made: -season 0 tells how many are of it. Runs without an upset
// in which nothing could be said, for the instrument was called unfit, are counted by the minute.
//
// Exit status: 0 done, 1 it could not be done, 2 wrong command line.
package main
