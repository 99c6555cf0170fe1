package arrive

import (
	"cmp"
	"fmt"
	"io/fs"
	"path"
	"strings"
	"time"
)

// A File is a file that is ready to be read, or one that never will be.
type File struct {
	Rel      string // its name relative to the folder, with slashes
	Size     int64
	Modified time.Time
	Refused  string // why it is not to be opened; "" for one that is
	Quiet    bool   // it comes as Rest asked, and did not change meanwhile
	Growing  bool   // it did not stand still: only what is whole in its first Size bytes counts
}

// An Order is the order in which a backlog is taken.
type Order uint8

// The orders of a backlog.
const (
	ByTime      Order = iota // the oldest first, by the time of last change
	ByName                   // by the name with its folder
	NewestFirst              // the newest first; the verdict over time then does not take part in the backlog
)

// ParseOrder reads an order: time, name, or newest first.
func ParseOrder(s string) (Order, error) {
	for o, name := range [...]string{"time", "name", "newest first"} {
		if s == name {
			return Order(o), nil
		}
	}
	return 0, fmt.Errorf("%q is not an order of files; they are time, name, newest first", s)
}

func (o Order) compare(a, b File) int {
	switch o {
	case ByName:
		return cmp.Compare(a.Rel, b.Rel)
	case NewestFirst:
		a, b = b, a
	}
	return cmp.Or(a.Modified.Compare(b.Modified), cmp.Compare(a.Rel, b.Rel))
}

// leftovers are endings of names under which programs write files that they rename when they are complete, or keep what
// nobody asked for. Common practice, no source.
var leftovers = []string{"~", ".tmp", ".temp", ".part", ".partial", ".filepart", ".crdownload", ".download", ".swp", ".lock", ".bak"}

// system names files that an operating system leaves in folders.
var system = []string{"thumbs.db", "desktop.ini"}

// Leftover reports whether a file or folder of that base name is none of the user's: hidden, unfinished, or a system's.
func Leftover(name string) bool {
	if strings.HasPrefix(name, ".") || strings.HasPrefix(name, "~$") {
		return true
	}
	name = strings.ToLower(name)
	for _, end := range leftovers {
		if strings.HasSuffix(name, end) {
			return true
		}
	}
	for _, s := range system {
		if name == s {
			return true
		}
	}
	return false
}

// Patterns are shapes of names in the syntax of path.Match, without regard to case. One with a slash is held against the
// name with its folder, one without against the base name. No pattern at all takes every name.
type Patterns []string

// Check returns an error for a pattern that is none.
func (p Patterns) Check() error {
	for _, s := range p {
		if _, err := path.Match(s, ""); err != nil {
			return fmt.Errorf("file pattern %q: %w", s, err)
		}
	}
	return nil
}

// Take reports whether the patterns take a file.
func (p Patterns) Take(rel string) bool {
	if len(p) == 0 {
		return true
	}
	rel = strings.ToLower(rel)
	for _, s := range p {
		name := rel
		if !strings.Contains(s, "/") {
			name = path.Base(rel)
		}
		if ok, _ := path.Match(strings.ToLower(s), name); ok {
			return true
		}
	}
	return false
}

// refuse says why a file of that mode is not to be opened. Opening a pipe would wait for ever, and a device may do
// anything.
func refuse(mode fs.FileMode) string {
	switch {
	case mode.IsRegular():
		return ""
	case mode&fs.ModeNamedPipe != 0:
		return "is a named pipe, not a file"
	case mode&fs.ModeSocket != 0:
		return "is a socket, not a file"
	case mode&(fs.ModeDevice|fs.ModeCharDevice) != 0:
		return "is a device, not a file"
	case mode.IsDir():
		return "is a link to a folder; only real folders are gone through"
	}
	return fmt.Sprintf("is no regular file (%v)", mode.Type())
}
