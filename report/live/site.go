package live

import (
	"context"
	"crypto/rand"
	"encoding/hex"
	"fmt"
	"log/slog"
	"slices"
	"strings"
	"sync"
	"time"
	"unicode"

	"asusual/report"
)

// Options say what a site is. Lines is needed; the rest has useful zero values.
type Options struct {
	Site     string
	Zone     *time.Location   // nil: UTC
	Language *report.Language // nil: English
	Lines    []string         // their names, in the order in which they are shown
	Log      *slog.Logger     // nil: nowhere
	Now      func() time.Time // nil: time.Now

	// Acknowledge is called when somebody takes notice of the alarm of a line, and says who it is and why. nil: the page does not
	// offer it.
	Acknowledge func(ctx context.Context, line, who, why string) error
	// Name is called to make a condition of a group. What has to be said to who asked comes back, "" for nothing. nil: the page
	// does not offer it.
	Name func(ctx context.Context, line, group, name string) (said string, err error)
}

// The paces of a stream.
const (
	beatEvery = 2 * time.Second        // the page takes three missed beats for a lost connection
	pace      = 500 * time.Millisecond // changes that come within it go out together
	patience  = 10 * time.Second       // for a reader that does not read
	most      = 64                     // streams at the same time
)

// A Site is the live pages of all lines. It is safe for concurrent use.
type Site struct {
	opt   Options
	lang  *report.Language
	start string // tells one start of the server from another
	lines []*Line

	mu      sync.Mutex // guards all below, and all lines
	seq     uint64     // number of the latest change
	readers map[chan struct{}]bool
	closed  bool
	done    chan struct{} // closed when the streams shall end
}

// New returns a site about whose lines nothing is known yet.
func New(o Options) (*Site, error) {
	if len(o.Lines) == 0 {
		return nil, fmt.Errorf("a live page without a line")
	}
	if o.Zone == nil {
		o.Zone = time.UTC
	}
	if o.Now == nil {
		o.Now = time.Now
	}
	if o.Log == nil {
		o.Log = slog.New(slog.DiscardHandler)
	}
	s := &Site{opt: o, lang: o.Language, readers: map[chan struct{}]bool{}, done: make(chan struct{})}
	if s.lang == nil {
		s.lang = report.English()
	}
	var start [6]byte
	rand.Read(start[:]) // never fails
	s.start = hex.EncodeToString(start[:])
	for i, name := range o.Lines {
		id := slug(name)
		if id == "" || slices.ContainsFunc(s.lines, func(l *Line) bool { return l.id == id }) {
			id = fmt.Sprintf("line-%d", i+1)
		}
		s.lines = append(s.lines, &Line{site: s, name: name, id: id})
	}
	return s, nil
}

// slug makes of a name what can stand in an address.
func slug(name string) string {
	return strings.Join(strings.FieldsFunc(strings.ToLower(name), func(r rune) bool {
		return r > unicode.MaxASCII || !unicode.IsLetter(r) && !unicode.IsDigit(r)
	}), "-")
}

// Line returns the line of that name, or nil where the site has none.
func (s *Site) Line(name string) *Line {
	for _, l := range s.lines {
		if l.name == name {
			return l
		}
	}
	return nil
}

// changed counts a change and wakes the readers. The site is locked.
func (s *Site) changed() uint64 {
	s.seq++
	for wake := range s.readers {
		select {
		case wake <- struct{}{}:
		default:
		}
	}
	return s.seq
}

// join takes a reader in; ok is false where there are too many or the streams have ended.
func (s *Site) join() (wake chan struct{}, ok bool) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.closed || len(s.readers) >= most {
		return nil, false
	}
	wake = make(chan struct{}, 1)
	s.readers[wake] = true
	return wake, true
}

func (s *Site) leave(wake chan struct{}) {
	s.mu.Lock()
	defer s.mu.Unlock()
	delete(s.readers, wake)
}

// end ends the streams, and lets no new one begin.
func (s *Site) end() {
	s.mu.Lock()
	defer s.mu.Unlock()
	if !s.closed {
		s.closed = true
		close(s.done)
	}
}
