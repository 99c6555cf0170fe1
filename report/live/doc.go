// Package live shows how lines stand while they are watched, on a page in a browser. It keeps the last hour of each line in
// memory, as the watch tells it; it judges nothing and knows no history.
//
// # What goes where
//
//	Site        all lines; makes the pages and streams
//	Line        told by the watch: Know the reference, Add a spectrum, Set how it stands
//	Door        where to listen, and who may come in
//	html.go     the pages as they are loaded
//	static      their style and scripts: no other script runs, and nothing is asked of any other address
//
// # Addresses
//
//	/                        the line where there is one, else a list of all
//	/lines.json  /events     how all lines stand, once and as they change
//	/line/{id}               the page of a line
//	/line/{id}/data.json     every figure on it
//	/line/{id}/readings.csv  the readings of the last hour
//	/line/{id}/events        what changes, as server-sent events
//	/line/{id}/acknowledge   POST {"who","why"}: somebody takes notice of the alarm
//	/line/{id}/name          POST {"group","name"}: a group becomes a condition
//
// # The stream
//
// Everything that can change carries the number of the change that brought it. An event holds what changed since a number, and
// its id is the start of the server and that number; so a page that comes back is told what it missed, a page of an earlier
// start is told everything, and no queue is kept for anybody. A beat without a number says every two seconds that the watch is
// alive. Who does not read is dropped, and may come again.
package live
