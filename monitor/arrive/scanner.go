package arrive

import (
	"context"
	"errors"
	"io/fs"
	"log/slog"
	"path"
	"sync"
	"sync/atomic"
	"time"
)

// Options say how a folder is watched. Tree is needed; the rest has useful zero values.
type Options struct {
	Tree     Tree
	Source   Source // nil: no notifications, only listings
	Patterns Patterns
	Order    Order
	After    string        // in the orders that go forward, the name of the file dealt with last: where to begin among many; "": at the first
	Haste    time.Duration // how long names are gone through before some of those found are handed on, in the order that is known by then; 0: all names
	Settle   time.Duration // how long size and time must stand still; 0: 1 s
	Poll     time.Duration // between listings where no notifications come; 0: 2 s
	Rescan   time.Duration // between listings where they do; 0: 1 min
	Growing  bool          // hand on a file that is written to without a pause, as one that grows, after some settle times and again and again
	Hold     int           // most files held at once; 0: 131,072
	Remember int           // most files remembered as handed on; others are looked up by Known at each listing; 0: a million
	// Known says which files were dealt with as they are now, by name, size and time; nil: none.
	Known func(ctx context.Context, files []File) ([]bool, error)
	Log   *slog.Logger // nil: nowhere
}

func (o Options) withDefaults() Options {
	set := func(d *time.Duration, to time.Duration) {
		if *d <= 0 {
			*d = to
		}
	}
	set(&o.Settle, time.Second)
	set(&o.Poll, 2*time.Second)
	set(&o.Rescan, time.Minute)
	if o.Hold <= 0 {
		o.Hold = 1 << 17
	}
	if o.Remember <= 0 {
		o.Remember = 1 << 20
	}
	if o.Known == nil {
		o.Known = func(_ context.Context, files []File) ([]bool, error) { return make([]bool, len(files)), nil }
	}
	if o.Log == nil {
		o.Log = slog.New(slog.DiscardHandler)
	}
	return o
}

// A Scanner hands on the files of one folder. Again, Forget, Behind, Settling and Trouble may be called at any time; Run and Once not at
// the same time.
type Scanner struct {
	opt     Options
	memo    *memo
	pending *pending
	emit    func(File) error

	nextScan time.Time
	took     time.Duration   // by the last listing
	proven   bool            // notifications come
	events   <-chan Event    // nil where none come, or none any more
	listed   bool            // the whole folder was
	first    time.Time       // the last of those that the first listing found has settled
	lost     bool            // some did not come, and no listing has made up for them
	gone     bool            // the folder is not there
	told     map[string]bool // troubles that were told and still stand
	behind   atomic.Int64
	settling atomic.Int64
	unseen   atomic.Int64 // a time.Duration
	health   health

	mu        sync.Mutex
	again     []*candidate
	forgotten []File
	wake      chan struct{}
}

// New returns a scanner.
func New(opt Options) (*Scanner, error) {
	if opt.Tree == nil {
		return nil, errors.New("no folder to watch was given")
	}
	if err := opt.Patterns.Check(); err != nil {
		return nil, err
	}
	opt = opt.withDefaults()
	return &Scanner{opt: opt, memo: newMemo(opt.Remember), pending: newPending(), told: map[string]bool{},
		wake: make(chan struct{}, 1)}, nil
}

// Behind returns how many files are known to wait: found and not handed on yet. One that Again asked for only after many settle times
// is not among them until it changes or comes. While Run has not seen the whole folder, one waits at least.
func (s *Scanner) Behind() int { return int(s.behind.Load()) }

// Settling returns how many of those only wait until they have stood still for the settle time.
func (s *Scanner) Settling() int { return int(s.settling.Load()) }

// Unseen returns for how long a file may lie in a folder without notifications before a listing finds it.
func (s *Scanner) Unseen() time.Duration { return max(s.opt.Poll, time.Duration(s.unseen.Load())) }

// Again asks for a file once more: after that time where it has not changed until then, or as soon as it has changed and settled.
func (s *Scanner) Again(f File, after time.Duration) {
	s.ask(f, after, candidate{idle: after > oldSettle*s.opt.Settle})
}

// Rest asks for a file once more, as Again does. Where it has not changed until then it is marked Quiet.
func (s *Scanner) Rest(f File, after time.Duration) { s.ask(f, after, candidate{rest: true}) }

func (s *Scanner) ask(f File, after time.Duration, c candidate) {
	f.Quiet, f.Growing = false, false
	c.file, c.due, c.again = f, time.Now().Add(after), true
	s.mu.Lock()
	s.again = append(s.again, &c)
	s.mu.Unlock()
	s.rouse()
}

// Forget takes back that a file was handed on: it was gone before it could be read. Where the folder has it still, or again, a
// listing soon finds it.
func (s *Scanner) Forget(f File) {
	s.mu.Lock()
	s.forgotten = append(s.forgotten, f)
	s.mu.Unlock()
	s.rouse()
}

func (s *Scanner) rouse() {
	select {
	case s.wake <- struct{}{}:
	default:
	}
}

// Once hands on every file that the folder has now, taking each as complete, and returns.
func (s *Scanner) Once(ctx context.Context, emit func(File) error) error {
	s.emit = emit
	for {
		more, err := s.list(ctx, true)
		if err != nil || !more {
			return err
		}
	}
}

// Run hands on files until the context ends, whose error it returns, or until emit returns an error. A folder that is gone is
// waited for.
func (s *Scanner) Run(ctx context.Context, emit func(File) error) error {
	s.emit = emit
	if s.opt.Source != nil {
		s.events = s.opt.Source.Events()
	}
	s.countBehind(0)
	if err := s.open(ctx); err != nil {
		return err
	}
	timer := time.NewTimer(0)
	defer timer.Stop()
	for {
		select {
		case <-ctx.Done():
			return ctx.Err()
		case e, ok := <-s.events:
			if !ok {
				s.events, s.proven = nil, false
				continue
			}
			if err := s.hint(ctx, e); err != nil {
				return err
			}
		case <-s.wake:
			s.takeAgain()
			s.takeForgotten()
		case <-timer.C:
		}
		if err := s.takeDue(ctx); err != nil {
			return err
		}
		if !time.Now().Before(s.nextScan) {
			if err := s.scan(ctx); err != nil {
				return err
			}
		}
		s.countBehind(0)
		timer.Reset(time.Until(s.wakeAt()))
	}
}

func (s *Scanner) wakeAt() time.Time {
	if due, ok := s.pending.next(); ok && due.Before(s.nextScan) {
		return due
	}
	return s.nextScan
}

// hint looks at what a notification hints at. Whatever it says, what counts is what is there.
func (s *Scanner) hint(ctx context.Context, e Event) error {
	if e.Hint == Lost || e.Rel == "." {
		if e.Hint == Lost {
			s.lost = true
			s.opt.Log.Warn("notifications were lost; listing the folder")
		}
		s.nextScan = time.Time{}
		return nil
	}
	if Leftover(path.Base(e.Rel)) {
		return nil
	}
	f, dir, err := s.look(e.Rel)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		s.pending.drop(e.Rel)
		s.memo.forget(e.Rel) // it may have waited for another try
		return nil
	case err != nil:
		s.nextScan = time.Time{} // the listing will say what is the matter
		return nil
	case dir:
		return s.newFolder(ctx, e.Rel)
	case !s.opt.Patterns.Take(e.Rel):
		return nil
	}
	s.proven = true
	if c := s.pending.by[e.Rel]; c != nil && e.Hint != Complete {
		s.touch(c, f)
		return nil
	}
	if s.memo.has(f) {
		return nil
	}
	others := s.pending.settling()
	if s.pending.by[e.Rel] != nil {
		others--
	}
	overtakes := others > 0 && time.Now().Before(s.first) // it settles as they do, and stays behind them
	if e.Hint == Complete && !overtakes || f.Refused != "" {
		s.pending.drop(e.Rel)
		return s.hand(f)
	}
	s.wait(f, false, time.Now())
	return nil
}

// touch notes what was seen of a candidate of which a notification spoke.
func (s *Scanner) touch(c *candidate, f File) {
	c.found = false
	if same(c.file, f) && c.again {
		return
	}
	now, before := time.Now(), c.due
	if c.again {
		c.since = now
	}
	c.again, c.rest = false, false
	s.pending.stir(c)
	c.file = f
	s.settle(c, now)
	if c.due.Before(before) {
		s.pending.put(c)
	} // else the queue finds out when its old place comes up
}

// wait makes a file settle that was looked at by now. Where too many do, it is left to the next listing.
func (s *Scanner) wait(f File, found bool, now time.Time) {
	if len(s.pending.by) >= s.opt.Hold {
		s.nextScan = time.Now().Add(s.opt.Settle)
		return
	}
	c := &candidate{file: f, since: now, found: found}
	s.settle(c, now)
	s.pending.put(c)
	if found && !s.listed {
		s.first = c.due
	}
}

// growing is after how many settle times a file that never stood still is one that grows: chosen so that what is written in one go, also
// over a slow network, mostly has settled by then.
const growing = 5

// settle sets when a candidate that was written to just now will have stood still for long enough, and when it is due. An empty file has
// only just been made, and its writer may be slow.
func (s *Scanner) settle(c *candidate, now time.Time) {
	c.still = now.Add(s.opt.Settle)
	if c.file.Size == 0 {
		c.still = now.Add(oldSettle * s.opt.Settle)
	}
	c.due = c.still
	if g := c.since.Add(growing * s.opt.Settle); s.opt.Growing && c.file.Size > 0 && g.Before(c.due) {
		c.due = g
	}
}

func (s *Scanner) countBehind(more int) {
	if !s.listed && !s.gone {
		more = max(more, 1)
	}
	settling := s.pending.settling()
	s.settling.Store(int64(settling))
	s.behind.Store(int64(settling + more))
}

func same(a, b File) bool { return a.Size == b.Size && a.Modified.Equal(b.Modified) }

// takeDue hands on the candidates that stood still until they were due.
func (s *Scanner) takeDue(ctx context.Context) error {
	for {
		now := time.Now()
		c := s.pending.take(now)
		if c == nil {
			return ctx.Err()
		}
		f, dir, err := s.look(c.file.Rel)
		if err != nil || dir {
			s.memo.forget(c.file.Rel) // once it is there again it is handed on again
			if err != nil && !errors.Is(err, fs.ErrNotExist) {
				s.nextScan = time.Time{}
			}
			continue
		}
		if !same(f, c.file) || now.Before(c.still) {
			if c.again {
				c.since = now
			}
			if f.Growing = s.opt.Growing && f.Size > 0 && f.Refused == "" && now.Sub(c.since) >= growing*s.opt.Settle; !f.Growing {
				next := &candidate{file: f, since: c.since, found: c.found}
				s.settle(next, now)
				s.pending.put(next)
				continue
			}
		}
		if c.found && s.proven && s.opt.Source != nil {
			s.proven = false
			s.nextScan = time.Now().Add(s.opt.Poll)
			s.opt.Log.Warn("no notification came for a new file; listing the folder often", "file", f.Rel, "every", s.opt.Poll)
		}
		f.Quiet = c.rest && same(f, c.file)
		if err := s.hand(f); err != nil {
			return err
		}
	}
}

func (s *Scanner) takeAgain() {
	s.mu.Lock()
	again := s.again
	s.again = nil
	s.mu.Unlock()
	for _, c := range again {
		if s.pending.by[c.file.Rel] != nil {
			continue // it changed already
		}
		if len(s.pending.by) >= s.opt.Hold {
			s.memo.forget(c.file.Rel) // the next listing brings it back
			continue
		}
		s.pending.put(c)
	}
}

func (s *Scanner) takeForgotten() {
	s.mu.Lock()
	forgotten := s.forgotten
	s.forgotten = nil
	s.mu.Unlock()
	for _, f := range forgotten {
		if !s.memo.has(f) {
			continue // it came back already, as another one
		}
		s.memo.forget(f.Rel)
		if soon := time.Now().Add(s.pause(s.opt.Poll)); soon.Before(s.nextScan) {
			s.nextScan = soon
		}
	}
}

// pause returns the time from one listing to the next: a folder that takes long to list is not listed all the time.
func (s *Scanner) pause(every time.Duration) time.Duration { return max(every, 5*s.took) }

func (s *Scanner) hand(f File) error {
	s.memo.put(f)
	return s.emit(f)
}
