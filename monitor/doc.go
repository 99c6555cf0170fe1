// Package monitor is the loop that watches a line: it takes files as they arrive, has their spectra judged, follows the
// verdict over time, and keeps all of it in history, each spectrum exactly once. It decides nothing about a spectrum
// itself, and it says nothing to a person but through the log and the board that it is given.
//
// # The way of a file
//
//	arrive.Scanner   says that it is complete
//	worker           reads and judges it, several files at a time
//	committer        takes the results in the order of arrival: leaves out what was judged before, follows the
//	                 course of the line (model.Course), and writes batches to history in one transaction each
//
// Files that wait together go in parcels: a worker reads those of one, and history is asked for all names and contents of it at once.
// A file that comes alone is a parcel of its own and waits for no other.
//
// # Exactly once
//
// What was judged and the state of the verdict are written together, so a process that is killed goes on where the last batch
// ended. Whether a spectrum was judged before is asked in the committer alone, one after another: by the file's name, size and
// time; by its content; by the spectrum's time and values, or where the rows of a table carry no time, by their values among the
// rows of those tables that it may have come from (tables.go). A table that grew is read from where it ended; one that was
// saved anew, whole, but only its new rows count.
//
// # The instrument's own spectra
//
// Where a line says how its darks, references and standards are told, workers only read, and the committer does the rest one
// spectrum after another: what a raw intensity becomes depends on the darks and references before it. Those are kept beside
// production and never counted as such; what they tell of the instrument is kept as rows, and where the checks stand together with
// the batch, so that they too go on where it ended. The course hears of it after each check. A check that is older than the
// newest is late: it serves absorbances, and is not checked.
//
// Where these lie in folders of their own besides the watched one, those are watched, too.
//
// # Single items
//
// Where a line says how single items are told apart, a spectrum is kept as one of an item or of the empty belt, and the item is
// judged when it ends, by the mean of its spectra: by the next one's beginning, by the belt, or by the clock where nothing comes for
// longer than the gap. Its record bears the name of its first spectrum, and says of how many it is the mean. An item that is open
// is kept with the state of the course, in the transaction of its spectra.
//
// # Time
//
// The verdict follows spectra in order of time. One that is older than the newest is late: it is judged and kept, marked as
// such, and does not take part in the verdict. Where the times of many spectra in a row, written one after another, all lie
// behind, the clock was put back and not the spectra are late: the verdict goes on from there, and the log says so.
//
// # The alarm
//
// Each line has one alarm, whose cause is that the process has changed; model/alarm has its states. What a person does about
// it comes from outside, through Ask: where no watch runs, straight into history; where one does, as a file in the folder
// HISTORY.requests beside it,
//
//	ID.json   {"id":"…","line":"…","act":"acknowledged","who":"…","why":"…","until":"…","at":"…"}
//
// put there whole and taken in within a second. History has what became of it, under the ID, before the file is taken
// away: so a request is done once, and whoever asked finds the answer there, also a refusal. A file that is no request is
// renamed to end in .refused. Who may write to that folder may acknowledge: its permissions are the lock.
package monitor
