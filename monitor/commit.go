package monitor

import (
	"context"
	"encoding/json"
	"fmt"
	"time"

	"asusual/monitor/arrive"
	"asusual/monitor/history"
)

// batchSpectra is how many spectra one transaction takes: at that size the cost of the transaction itself is spent.
const batchSpectra = 2000

// A committer takes what workers found in the order of arrival. It alone decides what was judged before, follows the verdict
// and writes history.
type committer struct {
	line    *Line
	scanner *arrive.Scanner
	all     bool
	flight  *flight
	waiting func() int // files that wait to be judged

	course course
	alarm  Alarm
	inbox  inbox
	unread map[string]bool // requests that cannot be read yet
	own    *own            // nil: all spectra are of production
	// elsewhere brings the instrument's own spectra from besides the watched folder; nil: none come.
	elsewhere <-chan arrival
	ref       *Reference
	signed    *Reference // the one whose approvals history has
	clock     clock
	newest    time.Time       // of all records kept or about to be
	tries     tries           // of files that could not be opened
	warned    string          // conditions of which it was said that the reference does not know them
	growing   map[string]bool // tables of which the log says that they have to stand still; a few
	flood     flood           // of what is unreadable

	batch    history.Batch
	spectra  int                       // in the batch
	digests  map[history.Digest]string // of whole new files in the batch, and their names
	looked   map[history.Digest]string // contents that were looked up in history, and the files that they were judged in, if in any
	marks    map[spot]string           // of the spectra in the batch, and their files
	recent   recent
	taking   *taking // the file whose pieces come
	means    means
	names    []string // of the files that the batch sets free
	lastSent time.Time
	stop     <-chan struct{} // no more waiting for a history that cannot be written

	status status
}

// A spot is what makes a spectrum the same wherever it stands.
type spot struct{ time, mark int64 }

func newCommitter(ctx context.Context, line *Line) (*committer, error) {
	c := &committer{line: line, unread: map[string]bool{}, tries: tries{}, growing: map[string]bool{}, digests: map[history.Digest]string{}, looked: map[history.Digest]string{}, marks: map[spot]string{}}
	if err := c.loadOwn(ctx); err != nil {
		return nil, err
	}
	if err := c.restore(ctx); err != nil {
		return nil, err
	}
	if _, last, ok, err := line.History.Span(ctx, line.Name); err != nil {
		return nil, err
	} else if ok {
		c.newest = last
	}
	newest, err := line.History.LastOwn(ctx, line.Name)
	if err != nil {
		return nil, err
	}
	if newest.After(c.newest) {
		c.newest = newest
	}
	if c.alarm, err = loadAlarm(ctx, line.History, line.Name); err != nil {
		return nil, err
	}
	c.inbox = inboxOf(line.History.Path())
	c.batch.Line = line.Name
	c.status = status{since: time.Now(), last: history.Record{Time: c.course.State.Verdict.Last}}
	took := history.Query{Line: line.Name}
	if at := c.clock.newest; !at.IsZero() { // what lies after it bears a time that was taken back
		took.To = at.Add(1)
	}
	for r, err := range line.History.Newest(ctx, took, 1) {
		if err != nil {
			return nil, err
		}
		c.status.last, c.status.judgedAt = r, r.Received
	}
	return c, c.before(ctx)
}

// run takes parcels until there are no more, and then keeps what is left.
func (c *committer) run(ctx context.Context, all <-chan *parcel) error {
	c.stop = ctx.Done()
	ctx = context.WithoutCancel(ctx) // what was judged when the watch is stopped is kept all the same
	timer := time.NewTimer(time.Hour)
	defer timer.Stop()
	tick := time.NewTicker(statusEvery)
	defer tick.Stop()
	due := time.NewTicker(attendEvery)
	defer due.Stop()
	defer func() { c.flood.end(c.line.Log) }()
	c.tell()
	var open <-chan []found // of the parcel that is taken; nil between two
	for {
		next := all
		if open != nil {
			next = nil
		}
		select {
		case p, more := <-next:
			if !more {
				if c.all { // nothing else comes
					if err := c.closeItem(ctx); err != nil {
						return err
					}
				}
				return c.flush(ctx)
			}
			open = p.out
		case found, more := <-open:
			if !more {
				open = nil
				continue
			}
			if err := c.take(ctx, found); err != nil {
				return err
			}
		case a := <-c.elsewhere:
			if err := c.fromElsewhere(ctx, a); err != nil {
				return err
			}
		case <-timer.C:
		case <-tick.C:
			c.tell()
			c.flood.ebb(c.line.Log, time.Now())
		case <-due.C:
			if err := c.attend(ctx); err != nil {
				return err
			}
			left := len(all)
			if open != nil {
				left++
			}
			if err := c.quiet(ctx, left); err != nil {
				return err
			}
		}
		if len(c.batch.Files) == 0 && len(c.batch.Checks) == 0 {
			continue
		}
		if now := time.Now(); c.course.news || c.full() || now.Sub(c.lastSent) >= c.line.Group {
			if err := c.flush(ctx); err != nil {
				return err
			}
		} else {
			timer.Reset(c.line.Group - now.Sub(c.lastSent))
		}
	}
}

// full reports whether the batch is to be kept now: files in which nothing can be read take room, too.
func (c *committer) full() bool {
	return c.spectra >= batchSpectra || len(c.batch.Files) >= batchSpectra
}

// take takes what a worker found, the pieces of each file one after another.
func (c *committer) take(ctx context.Context, found []found) error {
	if err := c.look(ctx, found); err != nil {
		return err
	}
	for i := range found {
		f := &found[i]
		if c.taking == nil || c.taking.job != f.job {
			c.taking = &taking{c: c, job: f.job}
		}
		t := c.taking
		if err := t.piece(ctx, f.piece); err != nil {
			return err
		}
		t.ended = f.piece.last
		if c.full() {
			if err := c.flush(ctx); err != nil {
				return err
			}
		}
		if !f.piece.last {
			continue
		}
		if t.entry < 0 || !t.begun {
			c.flight.land(f.job.file.Rel)
		} else {
			c.names = append(c.names, f.job.file.Rel)
		}
	}
	return nil
}

// look looks up in history which of the contents were judged before, all at once.
func (c *committer) look(ctx context.Context, found []found) error {
	if c.line.Copies {
		return nil
	}
	var digests []history.Digest
	for i := range found {
		if p := &found[i].piece; p.counts() && (c.taking == nil || c.taking.job != found[i].job) {
			digests = append(digests, p.file.Digest)
		}
	}
	var same map[history.Digest]history.File
	err := c.read(func() (err error) {
		same, err = c.line.History.SameContents(ctx, c.line.Name, digests)
		return err
	})
	if err != nil {
		return err
	}
	for _, d := range digests {
		c.looked[d] = ""
		if f := same[d]; f.Rows > 0 {
			c.looked[d] = f.Name
		}
	}
	return nil
}

// flush keeps the batch. Where that cannot be now it tries again until it can, or until the watch is stopped: then the
// files of the batch are not known to history, and are judged again at the next start.
func (c *committer) flush(ctx context.Context) error {
	if len(c.batch.Files) == 0 && len(c.batch.Episodes) == 0 && len(c.batch.Acts) == 0 && len(c.batch.Checks) == 0 {
		return nil
	}
	if t := c.taking; t != nil && t.entry >= 0 && !t.ended {
		t.tell(&c.batch.Files[t.entry])
	}
	if err := c.complete(); err != nil {
		return err
	}
	if err := c.write(func() error { return c.line.History.Append(ctx, c.batch) }); err != nil {
		return err
	}
	c.kept()
	if c.taking != nil { // the batch that comes knows nothing of its file
		return c.taking.flushed(ctx)
	}
	return nil
}

// complete adds to the batch what belongs in its transaction besides the files.
func (c *committer) complete() error {
	c.batch.Means = c.means.take()
	if len(c.batch.Acts) > 0 {
		text, err := json.Marshal(&c.alarm)
		if err != nil {
			return fmt.Errorf("the alarm: %w", err)
		}
		c.batch.Alarm = text
	}
	if err := c.tellOwn(); err != nil {
		return err
	}
	if c.ref == nil {
		return nil // nothing was judged yet
	}
	return c.tellCourse()
}

// kept forgets the batch that was kept.
func (c *committer) kept() {
	for _, name := range c.names {
		c.flight.land(name)
	}
	c.names = c.names[:0]
	c.batch = history.Batch{Line: c.line.Name}
	c.course.kept()
	if c.own != nil {
		c.own.news = false
	}
	c.spectra = 0
	c.lastSent = time.Now()
	clear(c.digests)
	clear(c.looked) // history has more now
	clear(c.marks)
	c.tell()
}

func (c *committer) tell() {
	s := c.status.now(c)
	c.line.Board.Set(s)
	c.line.Kept(s)
}
