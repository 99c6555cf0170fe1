// Command soak plays files into a folder that asusual watches, and counts what became of each: a Markdown table, a row a job.
//
//	go run ./cmd/soak [-rate 50 -for 5m] [-bursts 20000,100000] [-standing 300000] [-stops 5] [-channels 64]
//	                  [-dir FOLDER] [-asusual FILE] [-inside] [-seed 1]
//
// The jobs, each in a folder of its own with a watch and a history of its own:
//
//	-rate, -for   so many files a second for that long
//	-bursts       that many files at once
//	-standing     the watch is started on a folder that holds that many files already
//	-stops        while the first burst's number of files comes at once, the watch is stopped by SIGTERM and started
//	              again, so many times, 1.5 s after it was up
//
// Each file holds one spectrum of the invented oat-drink line, two columns of text. All are written before, beside the
// folder; each comes into it under a temporary name and is renamed there, as a spectrometer's program should do it. (What
// is moved in from elsewhere looks like a file that was just begun, and waits the settle time, 1 s.) The watch is the real
// program in a process of its own (-asusual names it; without it, it is built); -inside takes the watch into this process,
// and its memory is then that of both.
//
// # What the table says
//
// A file is lost that has no record at the end, and doubled that has several. The delay runs from before the rename to the
// time that its record gives for the judgement; history keeps it within half a second after that, at once where the verdict
// changes. "First verdict" runs from the start of the process to the first record whose verdict is not "cannot say".
// Memory is what the process has resident (Linux only): when it was up and nothing had come yet, after a fifth of the job,
// when everything was judged, and at most. "To stop" is the time from SIGTERM to the end of the process, the longest one
// where there were several. Below the table stands the memory after each minute of the longer jobs, and the straight line
// through the second half of it. The load is that of the machine over the minute before the end of the job, on so many processors.
//
// Exit status: 0 done and nothing was lost or doubled, 1 something was, or it could not be done, 2 wrong command line.
package main
