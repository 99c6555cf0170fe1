// Package history keeps what was judged, in one SQLite file that a power cut does not harm and that any tool can open, or in a
// database on a PostgreSQL server that many lines share. It judges nothing, and it reads no spectra.
//
// # One transaction
//
// Append writes a batch whole or not at all: the files taken in, their records, what could not be read, copies, episodes,
// groups, mean spectra, the alarm and the state of the course. Whoever is killed between two batches goes on after the last one, with the
// files of the lost batch not yet known, so that nothing is lost and nothing counts twice.
//
// # What makes a spectrum the same
//
// A file is known by its name relative to the watched folder, and by its content (a digest). A name whose content
// changed gets a new version, and what is new in it is judged; a content under a second name is a copy. A row of a table is
// known by its time and the mark of its values, wherever it stands. Where rows carry no time, they are known by their marks among the
// rows that were judged under the table's name, and under those in which rows of it had been judged before: see RowsOf.
//
// # Schema, version 8
//
//	line        id, name                                one production line; several may share the file
//	word        id, text                                run, condition, verdict and reference names, once each
//	file        id, line, name, version, size, …        one row a version of a file; digest, bytes, rows, lines judged
//	content     line, digest, digest2                   of files that are forgotten: their spectra were taken out, and they are gone
//	taken       line, version                           the newest version of any of those
//	record      line, time, file, row, …                one row a spectrum: position, condition, verdict, scores, reasons
//	own         line, time, file, row, role, …          one row a dark, reference or standard of the instrument's own
//	measured    id, line, time, measure, about, …       what each of those told of the instrument, with limits and state
//	book        line, book                              where its checks stand, to go on from; deflated
//	unreadable  line, time, file, row, text_line, …     what could not be read, and why, and how many rows that is
//	copy        line, time, file, of, rows              what was not judged because it had been before
//	episode     line, start, stop, changed_since, …     stop is null while it lasts
//	grp         line, name, start, stop, spectra, …     uncharted spectra that lie together, and where they were seen before
//	grp_mean    line, name, stop, axis, count, mean     mean absorbance of such a group, as below
//	state       line, course, places, past, …           where the course of the line stands, to go on from; deflated
//	alarm       line, alarm                             how the line's alarm stands, as JSON
//	act         line, time, act, who, why, …            what became of the alarm, and what was asked and refused
//	mean        line, start, condition, axis, length, … mean absorbance of a stretch of that length, float32, little endian
//	axis        id, fingerprint, axis                   the grid of a mean spectrum, as JSON
//	reference   line, since, fingerprint, name          which reference judged from when on
//	store       id                                      names the file at a server, where it is carried to one
//	outbox      seq, line, spectra, at, parcel          what is on its way there: a batch in Go's gob, deflated
//	carried     line, seq, dropped, less                how far the line is known to have come there
//
// The view spectra joins record with its words and file names for other tools. Times are nanoseconds since 1970 in UTC.
// user_version holds the version of the schema, application_id says that the database is a history. A newer program brings
// an older file forward when it opens it to write; a file newer than the program is refused.
//
// WAL with synchronous NORMAL: a power cut may undo the last moments whole, never in part, and the files of those moments
// are then judged again. Of a file that is carried to a server each commit is on the disk (synchronous FULL) before it goes there.
//
// # On a server
//
// A server has the same tables by the same steps, in the schema asusual unless the address says another search_path, with
// columns that are no wider than they need to be, without the outbox, and with
//
//	asusual_schema  version                             as user_version of a file
//	watcher         line, name, store, pid, since, …    who holds the line, or held it last; who does has an advisory lock
//	delivery        line, store, seq, at                the parcel of that file up to which the line is here, kept at that time or before
//
// The number of a file is its line's, times 2⁴⁰, and its own in the line, so that many can add files without asking each other.
//
// A watch keeps what it judges in a file of its own first, whole, which stays what it goes on from. The same transaction puts a
// parcel into the outbox, and a transaction of the server that takes parcels in also writes up to which: so each comes there
// once, however often the way is cut. While the server is away parcels wait. A Far is that way.
//
// A connection asks for search_path, application_name, jit, lock_timeout and, over a network, tcp_keepalives_* as it begins: a pooler in
// between has to let all of them pass, or refuses it as one of an unsupported startup parameter, and the server counts as away.
package history
