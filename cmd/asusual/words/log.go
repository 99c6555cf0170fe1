package words

import (
	"cmp"
	"context"
	"log/slog"
	"strings"

	"asusual/cmd/asusual/config"
)

// triesOfLog is what to try after a warning or an error of the log, by how its message begins; "" where there is nothing to try: it is
// said so that it is known, passes by itself, or says it in the message, unless its reason has a hint. What is known of the reason itself goes before, but for hints that
// only go by what the system said.
var triesOfLog = []struct{ begins, try string }{
	{"report written, but not all that belongs to it", "close what has that file open, such as a spreadsheet; it is written with the next report, or by asusual handover"},
	{"the state file cannot be written", "the right to write there and room on that disk, or another path as state under [signal] in " + config.Name},
	{"the command is not run again", "the same command by hand, as the user who runs the watch; it is run again when the verdict changes or the watch is started again"},
	{"the command was stopped", "a longer command-limit under [signal] in " + config.Name + ", or a command that ends sooner"},
	{"the command did not do its work", "the same command by hand, as the user who runs the watch; its path and arguments stand under [signal] in " + config.Name},
	{"the password of the broker goes over the network", "mqtts:// in broker under [signal.mqtt] in " + config.Name + ", where the broker speaks TLS; trust, if this computer does not know its certificate"},
	{"the password for the history's server may go over the network", "sslmode=verify-full in the address of the server under [history] in " + config.Name + ", where the server speaks TLS; with sslrootcert=FILE too, if this computer does not know its certificate"},
	{"trust says nothing of a broker", "mqtts:// in broker under [signal.mqtt] in " + config.Name + ", where the broker speaks TLS; else take trust out"},
	{"which lines of the history nothing names was not found out", "asusual doctor, which looks at the history"},
	{"the broker is away", "look whether the broker runs and answers this computer, and at its address under [signal.mqtt] in " + config.Name + "; asusual doctor tries it"},
	{"the broker does not take a message", "the right to write to that topic, at the broker"},
	{"a table begins with the rows of another one", ""},
	{"what is kept here was older", ""},
	{"this history was carried to a server, and none is named any more", "server under [history] in " + config.Name + ", as it was; nothing, where the line is to be kept in the file alone from now on"},
	{"what waited for a server that is not named any more is dropped", "nothing, where the line is to be kept in the file alone; else have the line taken out on the server, which then gets it whole"},
	{"the server of the history cannot be written", "asusual doctor, which asks the server"},
	{"not all was brought to the server", "asusual watch again, once the server is there; nothing is lost until then"},
	{"history cannot be", "the right to write the history and its folder, and room on that disk; asusual doctor looks at both"},
	{"asked of the alarm and refused", "asusual status, to see how the alarm stands"},
	{"unreadable", "asusual inspect on that file, which says what it was taken for"},
	{"a file was gone before it could be read", "have whatever moves or deletes files there leave them alone for a minute; nothing, if it was a temporary one"},
	{"a table is written to without a pause", "a column of times in the table, or a shorter settle in [[line]] of " + config.Name},
	{"a file cannot be read to its end", "look whether its disk or share is sound; asusual watch again reads the rest"},
	{"a file that is written to without a pause cannot be read now", "look who has it open, and whether the watch has the right to read it"},
	{"a file cannot be read yet", "nothing for a minute; then look who has it open, and whether the watch has the right to read it"},
	{"a file was written to after it was judged", "have the instrument's program write under a temporary name and rename the file, or a longer settle in [[line]] of " + config.Name},
	{"judged before, left out", ""},
	{"the clock was put back", "clocks that are set from the network, at the instrument and here"},
	{"the process has changed", "asusual status, and the live page or asusual handover, which show what moved and where"},
	{"spectra are not as usual", "the instrument first: asusual handover shows what of it is not as it was"},
	{"uncharted spectra lie together", "asusual conditions name GROUP NAME, if that is a known state of the line"},
	{"a condition of the configuration is not known", "its name as the reference has it, in [[line.condition]] of " + config.Name + "; asusual learn, where it has from and is new"},
	{"a condition outside its times", "expected in its [[line.condition]] of " + config.Name + ", if that is as it should be"},
	{"the instrument is ", "what the reasons name, at the lamp, the window or the fibre; then, where the line has dark and reference spectra, new ones, and where lamp or detector was changed, since under [line.instrument] in " + config.Name + "; " + LightSource},
	{"the instrument's checks begin anew", ""},
	{"since of the instrument is still to come", "the date of since under [line.instrument] in " + config.Name + ": when lamp or detector was changed; where that is yet to be done, a new start of the watch after it"},
	{"the folder cannot be listed", "look whether the folder is there, its share is mounted, and the watch has the right to read it"},
	{"a subfolder cannot be read", "the right to read it, for the user who runs the watch"},
	{"folders are nested too deep", "spectra in folders that are less deep, or another watch in [[line]] of " + config.Name},
	{"no notifications", "nothing, for the listing finds every file; on Linux a larger fs.inotify.max_user_watches brings them"},
	{"notifications were lost", ""},
	{"no notification came", "nothing, for the listing finds every file; poll in [[line]] of " + config.Name + " says how often"},
	{"history has a line that no [[line]] names", "its name as it was, in [[line]] of " + config.Name + ", if it got another one by mistake: what is known of it stays under the old name"},
	{"the watch before was killed", "the system's log, which says who ended it"},
	{"the reference file is gone", "a copy of it, put back, or asusual learn"},
	{"the new reference cannot be read yet", "the right to read it, for the user who runs the watch"},
	{"the new reference is not approved", "look at its card, then: asusual approve --by NAME --note TEXT"},
	{"the reference in force is not kept for the next start", "the right to write in that folder, for the user who runs the watch"},
	{"the new reference is refused", "asusual learn, or a copy from before"},
	{"a folder of the instrument's own spectra is not watched", "look whether that folder is there, and at from under [line.instrument] in " + config.Name},
	{"a file of the instrument's own spectra cannot be read yet", "nothing for a minute; then look who has it open, and whether the watch has the right to read it"},
	{"a file of the instrument's own spectra cannot be read", "asusual inspect on that file, which says what it was taken for"},
	{"the instrument's own spectra of before cannot be read", "asusual instrument, which reads them all"},
	{"the instrument's own spectra cannot be read yet", "look whether that folder is there, and at from under [line.instrument] in " + config.Name},
	{"a spectrum of the instrument's own cannot be used", "asusual inspect on that file; the next dark or reference spectrum takes its place"},
	{"the folder of requests cannot be made", "the right to write the folder of the history, for the user who runs the watch"},
	{"the folder of requests cannot be listed", "the right to read that folder, for the user who runs the watch"},
	{"a request cannot be read yet", "asusual acknowledge or shelve as the user who runs the watch, or the right to read for that user"},
	{"a file among the requests is none", "asusual acknowledge or shelve, which write requests; other files belong elsewhere"},
	{"the page and its token go over the network", ""},
	{"the live page and its token go over the network", ""},
	{"what is too old could not be taken out", "asusual doctor, which looks at the history and its server"},
	{"what waits for a server that is not named any more could not be looked at", "asusual doctor, which looks at the history"},
	{"the live page cannot show the groups", ""},
	{"the new certificate of the live page cannot be used", "a certificate and a key that belong together, and the right to read both, for the user who runs the watch"},
	{"what a power cut left of files cannot be taken away", "the right to write in that folder, for the user who runs the watch"},
	{"the live page cannot be opened", "another address under [live] in " + config.Name + ", if that one is taken, or the right to read token, certificate and key; asusual doctor tries them"},
	{"the live page ended", "another address under [live] in " + config.Name + ", if that one is taken; then asusual watch again"},
	{"the line is not watched", "asusual doctor, which looks at all that the line needs"},
	{"files wait still", ""},
	{"which shifts have no report cannot be found out", "asusual handover --shift NAME --date DAY, which writes one"},
	{"the report of the shift could not be written", "the right to write in the folder of the reports and room on that disk; then asusual handover --shift NAME --date DAY"},
	{"the page could not be made", ""},
	{"the live page", ""},
}

// TryAfter returns what to try after a message of the log with that reason, nil for none; known is false for a message of which nothing is
// said, not even that there is nothing to try.
func TryAfter(message string, reason error) (try string, known bool) {
	for _, t := range triesOfLog {
		if strings.HasPrefix(message, t.begins) {
			try, known = t.try, true
			break
		}
	}
	if reason == nil {
		return try, known
	}
	return cmp.Or(ofReason(reason), try, Hint(reason)), known
}

// An Advising is a log whose warnings and errors say what to try, where there is something to try.
type Advising struct{ slog.Handler }

var _ slog.Handler = Advising{}

// Handle writes a record.
func (a Advising) Handle(ctx context.Context, r slog.Record) error {
	if r.Level < slog.LevelWarn {
		return a.Handler.Handle(ctx, r)
	}
	var reason error
	r.Attrs(func(at slog.Attr) bool {
		if at.Key == "reason" {
			reason, _ = at.Value.Any().(error)
		}
		return reason == nil
	})
	if try, _ := TryAfter(r.Message, reason); try != "" {
		r = r.Clone()
		r.AddAttrs(slog.String("try", try))
	}
	return a.Handler.Handle(ctx, r)
}

// WithAttrs returns the log with more said in each line.
func (a Advising) WithAttrs(attrs []slog.Attr) slog.Handler {
	return Advising{a.Handler.WithAttrs(attrs)}
}

// WithGroup returns the log with the rest of each line in a group.
func (a Advising) WithGroup(name string) slog.Handler { return Advising{a.Handler.WithGroup(name)} }
