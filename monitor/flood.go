package monitor

import (
	"log/slog"
	"time"
)

// unreadableMost is how many lines the log has within unreadableOver of what is unreadable: an instrument that writes nothing else would
// fill the disk that history lies on.
const (
	unreadableMost = 20
	unreadableOver = time.Hour
)

// A flood is what is unreadable, as the log has it: the first of it one by one, of the rest how many. History has each.
type flood struct {
	since time.Time // of the first line
	lines int
	more  int    // what no line was about
	file  string // the last of it
}

// lets reports whether the log has a line of what is unreadable in that file, n in number.
func (f *flood) lets(now time.Time, file string, n int) bool {
	if f.lines == 0 {
		f.since = now
	}
	if f.lines < unreadableMost {
		f.lines++
		return true
	}
	f.more, f.file = f.more+max(n, 1), file
	return false
}

// ebb says, once the hour is over, what the log has no line of, and begins anew.
func (f *flood) ebb(log *slog.Logger, now time.Time) {
	if now.Sub(f.since) >= unreadableOver {
		f.end(log)
	}
}

// end says what the log has no line of, and begins anew.
func (f *flood) end(log *slog.Logger) {
	if f.more > 0 {
		log.Warn("unreadable, and more than is said one by one; history has each", "more", f.more, "since", f.since.Format(time.DateTime), "last", f.file)
	}
	*f = flood{}
}
