package arrive

import (
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"math"
	"path"
	"slices"
	"time"
)

const (
	chunk     = 4096               // names read and looked up at once
	described = 256                // of those, described before notifications are attended to
	maxDepth  = 32                 // folders below folders
	fresh     = 7 * 24 * time.Hour // a folder untouched for longer sends no notifications worth asking for; listings still see it
	oldSettle = 10                 // settle times after which a file is old
	oldLeast  = time.Minute        // … but at least this: a file server's clock is rarely further off
)

// scan lists the folder once, and sets when to do it next.
func (s *Scanner) scan(ctx context.Context) error {
	began := time.Now()
	s.nextScan = began.Add(math.MaxInt64) // a notification may ask for another one while this one goes on
	more, err := s.list(ctx, false)
	if ctx.Err() != nil {
		return ctx.Err()
	}
	var stop *emitError
	if errors.As(err, &stop) {
		return stop.err
	}
	now, asked := time.Now(), s.nextScan
	s.health.listed(err, now)
	s.took = now.Sub(began)
	s.unseen.Store(int64(s.pause(s.opt.Poll) + s.took))
	every := s.opt.Poll
	if s.proven {
		every = s.opt.Rescan
	}
	switch {
	case s.lost && err == nil:
		s.nextScan = now
	case err != nil:
		s.trouble("listing", "the folder cannot be listed; trying again", err)
		s.nextScan = now.Add(s.opt.Poll)
	case more:
		s.nextScan = now
	default:
		s.settled("listing", "the folder can be listed again")
		s.nextScan = now.Add(s.pause(every))
	}
	if soon := now.Add(s.pause(0)); asked.Before(soon) {
		asked = soon
	}
	if asked.Before(s.nextScan) {
		s.nextScan = asked
	}
	return nil
}

// An emitError is an error of the taker of files: it ends the run, where others are waited out.
type emitError struct{ err error }

func (e *emitError) Error() string { return e.err.Error() }
func (e *emitError) Unwrap() error { return e.err }

// A listing is one pass over the folder.
type listing struct {
	s       *Scanner
	ctx     context.Context
	all     bool // every file counts as complete
	hinted  bool // of a folder of which a notification spoke
	only    bool // what has to settle is left to another one
	lost    bool // notifications were lost while it went on
	began   time.Time
	batch   []File
	newest  time.Time // when a file of the folder that is listed was written to last
	backlog backlog
}

// list goes over the whole folder and hands on what is complete. more is true where there was no room for all of it.
func (s *Scanner) list(ctx context.Context, all bool) (more bool, err error) {
	if err := s.renew(); err != nil {
		if !s.gone { // nothing there can settle
			for rel := range s.pending.by {
				s.memo.forget(rel) // it may have waited for another try
			}
			s.pending = newPending()
		}
		s.gone = true
		return false, err
	}
	s.gone = false
	s.memo.pass++
	l := &listing{s: s, ctx: ctx, all: all, began: time.Now(), backlog: backlog{order: s.opt.Order, hold: s.opt.Hold}}
	if err := l.folder(".", 0); err != nil {
		return false, err
	}
	if err := l.sift(); err != nil {
		return false, err
	}
	if l.backlog.dropped == 0 {
		s.lost, s.listed = l.lost, true
		s.memo.prune()
	}
	return l.backlog.dropped > 0, l.hand()
}

func (l *listing) hand() error {
	files := l.backlog.sorted()
	for i, f := range files {
		if l.attends() && l.s.memo.has(f) {
			continue // a notification spoke of it meanwhile
		}
		l.s.countBehind(len(files) - i + l.backlog.dropped)
		if err := l.s.hand(f); err != nil {
			return &emitError{err}
		}
	}
	return nil
}

// newFolder lists a folder of which a notification spoke: files may have come before notifications were asked for.
func (s *Scanner) newFolder(ctx context.Context, rel string) error {
	l := &listing{s: s, ctx: ctx, hinted: true, began: time.Now(), backlog: backlog{order: s.opt.Order, hold: s.opt.Hold}}
	err := l.folder(rel, 0)
	if err == nil {
		err = l.sift()
	}
	if err != nil || l.backlog.dropped > 0 {
		s.nextScan = time.Time{}
	}
	return errors.Unwrap(l.hand())
}

func (l *listing) folder(dir string, depth int) error {
	if err := l.ctx.Err(); err != nil {
		return err
	}
	unused := l.unused(dir)
	if !unused {
		l.follow(dir)
	}
	answered := l.s.health.asks()
	f, err := l.s.opt.Tree.Open(dir)
	answered()
	if err != nil {
		return l.missing(dir, err)
	}
	l.newest = time.Time{}
	below, err := l.entries(f, dir)
	if err := errors.Join(err, f.Close()); err != nil {
		return l.missing(dir, err)
	}
	switch {
	case !unused:
	case l.began.Sub(l.newest) <= fresh: // a table there grows, which the folder's own time does not tell
		l.follow(dir)
	case len(below) == 0: // the system has so many notifications to give, and with a folder a run there would be ever more to ask for
		l.s.opt.Source.Unfollow(dir)
	}
	l.s.settled(dir, "the subfolder can be read again")
	if depth == maxDepth && len(below) > 0 {
		l.s.trouble(dir, "folders are nested too deep; those below are left out", fmt.Errorf("%d levels", maxDepth))
		return nil
	}
	slices.Sort(below)
	for _, sub := range below {
		if err := l.folder(sub, depth+1); err != nil {
			return err
		}
	}
	return nil
}

// missing decides what a folder that cannot be read means: the end of the listing for the folder itself, and one told
// trouble for one below it.
func (l *listing) missing(dir string, err error) error {
	var stop *emitError
	switch {
	case dir == "." || l.ctx.Err() != nil || errors.As(err, &stop) || errors.Is(err, errKnown):
		return err
	case !errors.Is(err, fs.ErrNotExist): // one that vanished while it was listed is no trouble
		l.s.trouble(dir, "a subfolder cannot be read; the others go on", err)
	}
	return nil
}

// unused reports whether nothing was put into a folder below for long.
func (l *listing) unused(dir string) bool {
	if dir == "." || l.s.opt.Source == nil || l.all {
		return false
	}
	info, err := l.s.opt.Tree.Stat(dir)
	return err != nil || l.began.Sub(info.ModTime()) > fresh
}

// follow asks for the notifications of a folder that is in use.
func (l *listing) follow(dir string) {
	s := l.s
	if s.opt.Source == nil || l.all {
		return
	}
	if err := s.opt.Source.Follow(dir); err != nil {
		s.proven = false
		s.trouble("notifications", "no notifications; listing the folder often", err)
	}
}

// entries reads the names of one folder and returns the folders in it.
func (l *listing) entries(dir fs.File, name string) (below []string, err error) {
	d, ok := dir.(fs.ReadDirFile)
	if !ok {
		return nil, fmt.Errorf("%s is not a folder", name)
	}
	next, end, err := l.reader(d, name)
	if err != nil {
		return nil, err
	}
	defer end()
	for {
		if err := l.attend(); err != nil {
			return nil, err
		}
		answered := l.s.health.asks()
		found, err := next()
		answered()
		for _, info := range found {
			if info == nil || Leftover(info.Name()) {
				continue // nil: it vanished since its name was read
			}
			rel := path.Join(name, info.Name())
			if info.IsDir() {
				below = append(below, rel)
				continue
			}
			if l.s.opt.Patterns.Take(rel) {
				l.entry(rel, info)
				if at := info.ModTime(); at.After(l.newest) {
					l.newest = at
				}
			}
			if len(l.batch) == chunk {
				if err := l.sift(); err != nil {
					return nil, err
				}
			}
		}
		if errors.Is(err, io.EOF) || err == nil && len(found) == 0 {
			return below, l.ctx.Err()
		}
		if err != nil {
			return nil, err
		}
	}
}

// attends reports whether notifications are attended to while the listing goes on: a folder of many files takes long, and those
// that come meanwhile must not wait for it. Where some were lost, or nothing was listed yet, what the listing finds is older and
// goes first.
func (l *listing) attends() bool {
	s := l.s
	return s.listed && s.proven && !s.lost && !l.hinted && !l.all && !l.only
}

// attend deals with the notifications that came, and with what has settled.
func (l *listing) attend() error {
	for l.attends() {
		select {
		case e, ok := <-l.s.events:
			if !ok {
				l.s.events, l.s.proven = nil, false
				return nil
			}
			if e.Hint == Lost || e.Rel == "." {
				l.lost = true // another listing is to follow
				continue
			}
			if err := l.s.hint(l.ctx, e); err != nil {
				return &emitError{err}
			}
		default:
			if err := l.s.takeDue(l.ctx); err != nil {
				return &emitError{err}
			}
			return nil
		}
	}
	return nil
}

// entry puts a file that is not known yet into the batch.
func (l *listing) entry(rel string, info fs.FileInfo) {
	f := l.s.file(rel, info)
	if c := l.s.pending.by[rel]; c != nil {
		if c.again && !same(c.file, f) {
			l.s.touch(c, f)
		}
		return
	}
	if !l.s.memo.has(f) {
		l.batch = append(l.batch, f)
	}
}

// file describes a file as its listing does, following a link.
func (s *Scanner) file(rel string, info fs.FileInfo) File {
	f := File{Rel: rel, Size: info.Size(), Modified: info.ModTime()}
	mode := info.Mode()
	if mode&fs.ModeSymlink != 0 {
		to, err := s.opt.Tree.Stat(rel)
		if err != nil {
			f.Refused = "is a link that leads out of the folder or to nothing"
			return f
		}
		f.Size, f.Modified, mode = to.Size(), to.ModTime(), to.Mode()
	}
	f.Refused = refuse(mode)
	return f
}

// look describes the file of that name as it is now; dir is true for a folder.
func (s *Scanner) look(rel string) (f File, dir bool, err error) {
	answered := s.health.asks()
	info, err := s.opt.Tree.Lstat(rel)
	answered()
	if err != nil {
		return File{}, false, err
	}
	if info.IsDir() {
		return File{}, true, nil
	}
	return s.file(rel, info), false, nil
}

var errKnown = errors.New("looking up which files were dealt with")

// sift parts the batch: known files are remembered, complete ones join the backlog, others have to settle.
func (l *listing) sift() error {
	if len(l.batch) == 0 {
		return nil
	}
	known, err := l.s.opt.Known(l.ctx, l.batch)
	if err != nil {
		return fmt.Errorf("%w: %w", errKnown, err)
	}
	old := l.old()
	now := time.Now() // the same for all, so that they go on in the order of writing
	for i, f := range l.batch {
		switch age := l.began.Sub(f.Modified); {
		case known[i]:
			l.s.memo.put(f)
		case l.attends() && (l.s.memo.has(f) || l.s.pending.by[f.Rel] != nil): // a notification spoke of it meanwhile
		case l.all || f.Refused != "" || age >= old && (f.Size > 0 || age >= oldLeast):
			l.backlog.add(f)
		case !l.only:
			l.s.wait(f, !l.hinted, now)
		}
	}
	l.batch = l.batch[:0]
	return nil
}

// old returns the age from which a file is taken at once. Where its time is by another computer's clock, that is far more than
// the settle time. Where it is by this one's, a file that nobody wrote to for the settle time has stood still; only where
// notifications have come it still waits for one, so that it is found out when they come no more.
//
// While notifications come, none is: that of a file may be on its way, and those of older files before it, which it must not
// overtake, however old its time.
func (l *listing) old() time.Duration {
	s := l.s
	if s.proven && !s.lost && !l.hinted && !l.all {
		return math.MaxInt64
	}
	if d, ok := s.opt.Tree.(interface{ OneClock() bool }); ok && (l.hinted || !s.proven) && d.OneClock() {
		return s.opt.Settle
	}
	return max(oldSettle*s.opt.Settle, oldLeast)
}
