// Command trust measures how far the verdict can be trusted, on simulated lines, and prints what it measured as
// Markdown tables.
//
//	go run ./cmd/trust [-seeds 60] [-fresh 40] [-changed 2] [-rivals 600] [-short] [-only TEXT] [-seed 1] [-promise "1 per 30 days"]
//
// With -compare it measures instead how often two periods of usual production are said to differ.
//
// Each line is learned from a few good runs, again and again with other runs (-seeds), and then watches new good runs
// (-fresh for each) and runs in which something changes (-changed for each change). Three detectors watch the same runs:
//
//	asusual    the limits of model/limits and the verdict of model/verdict, as a watch uses them; strays are not sifted, the number of
//	           components and the pretreatment are given
//	textbook   T² and Q of single spectra, limits moved until their false episodes are as many as promised
//	knowing    a likelihood ratio test that knows the change's direction, kind and size, the correlation of
//	           neighbours and the spread of runs, at the same false episodes; next to nothing real can do better
//
// The limits of the others are those that the share promised of -rivals good runs passes, or one run more: they are as quiet as
// promised or a little louder, and so quicker than at the false episodes that asusual has, which are fewer.
//
// A line's spectra are made either as scores and a Q residual (quick) or as whole spectra of p channels, which then go
// through PCA and holding out like real ones (marked "whole" in the tables).
//
// Exit status: 0 done, 1 could not be done, 2 wrong command line.
package main
