package monitor

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"log/slog"
	"time"

	"asusual/monitor/history"
	"asusual/monitor/keep"
)

// A Server says where what is kept at the lines is carried to, and how.
type Server struct {
	Address string // of a database on a PostgreSQL server
	Watcher string // the name that a second watch of a line is told
	Lines   []string
	Board   *Board       // where it is shown how the server stands; nil: nowhere
	Log     *slog.Logger // nil: nowhere
}

// A ServerStatus says how the way to the server stands.
type ServerStatus struct {
	Name    string    `json:"name"`
	Away    time.Time `json:"away,omitzero"` // since when it cannot be reached; zero where it can
	Trouble string    `json:"trouble,omitempty"`
	Waiting int       `json:"waiting"` // spectra that are kept here and not known to be there
}

// A Carrying brings what a history in a file keeps to a server. The lines are watched all the same while the server is away.
type Carrying struct {
	Server
	near *history.DB
	far  *history.Far
	away time.Time // since when
}

const (
	carryEvery  = time.Second // a parcel waits for so long at most while the server is there
	carryPause  = time.Second // before the first new attempt after a failed one, then twice as long each time
	carryMost   = 10 * time.Second
	carryAnswer = time.Minute // of one delivery, which takes a second
	carryLast   = time.Second // for what waits when the watch is stopped
)

// NewCarrying joins each line of the file with what the server has of it: to be called before the lines are watched. Where another
// process watches one of them the error is a *keep.Held. Where the server is away, or cannot be written for what may pass, such as a full disk, a right that is missing or a newer program on another computer, lines that were
// carried to it before go on all the same; one that the file does not know might be the server's, and has to wait for it.
func NewCarrying(ctx context.Context, near *history.DB, s Server) (*Carrying, error) {
	if s.Log == nil {
		s.Log = slog.New(slog.DiscardHandler)
	}
	c := &Carrying{Server: s, near: near}
	s.Log.Info("the server is asked for the lines", "server", history.ServerName(s.Address), "lines", len(s.Lines)) // which may take a while
	err := c.join(ctx, c.joinFirst)
	if err == nil {
		s.Log.Info("what is kept is carried to a server", "server", c.far.Path())
		return c, nil
	}
	if final(err) || ctx.Err() != nil {
		return nil, errors.Join(err, c.Close())
	}
	for _, line := range s.Lines {
		known, err2 := near.Known(ctx, line)
		if err2 != nil {
			return nil, errors.Join(err2, c.Close())
		}
		if !known {
			return nil, errors.Join(fmt.Errorf("line %q: %w: %w", line, history.ErrFirstStart, err), c.Close())
		}
	}
	c.gone(ctx, err)
	return c, nil
}

// join opens the server and takes all lines there.
func (c *Carrying) join(ctx context.Context, join func(ctx context.Context, line string) error) (err error) {
	if c.far == nil {
		if c.far, err = history.OpenFar(ctx, c.near, c.Address, c.Watcher); err != nil {
			if errors.Is(err, history.ErrNewer) { // that keeps this one from going on, but not from seeing who has a line
				err = cmp.Or(history.HeldElsewhere(ctx, c.near, c.Address, c.Lines), err)
			}
			return err
		}
	}
	for _, line := range c.Lines {
		if err := join(ctx, line); err != nil {
			return err
		}
	}
	return nil
}

// joinFirst takes a line before it is watched, and says what that changed.
func (c *Carrying) joinFirst(ctx context.Context, line string) error {
	did, err := c.far.Join(ctx, line)
	if err != nil {
		return err
	}
	switch did {
	case history.InStep:
	case history.Brought:
		c.Log.Info("the server had nothing of the line, and all that is kept here was brought to it", "line", line)
	case history.Taken:
		c.Log.Info("the line goes on from what the server has of it, which was taken from there", "line", line)
	case history.CaughtUp:
		c.Log.Warn("what is kept here was older than what the server has from it, as after a backup was put back; the line was taken from the server and goes on from there", "line", line)
	}
	return nil
}

// joinAgain takes a line that is watched.
func (c *Carrying) joinAgain(ctx context.Context, line string) error {
	return c.far.JoinAgain(ctx, line)
}

// gone says once that the server cannot be reached, and ends a session that would not have it otherwise.
func (c *Carrying) gone(ctx context.Context, why error) {
	if c.away.IsZero() {
		c.away = time.Now()
		c.Log.Warn("the server of the history cannot be written; the lines are watched all the same, and what they find waits here", "reason", why)
	}
	if errors.Is(why, history.ErrReadOnly) || errors.Is(why, history.ErrNoEntry) {
		_ = c.Close() // a session stays as the server allowed at its beginning, or on a computer that another one stands in for; a password is read anew
	}
	c.show(ctx, why.Error())
}

// show shows how the server stands.
func (c *Carrying) show(ctx context.Context, trouble string) {
	s := ServerStatus{Name: history.ServerName(c.Address), Away: c.away.Round(0), Trouble: trouble}
	for _, line := range c.Lines {
		if w, err := c.near.Waiting(context.WithoutCancel(ctx), line); err == nil {
			s.Waiting += w.Spectra
		}
	}
	c.Board.setServer(s)
}

// final reports whether an error does not pass by itself: somebody has to decide. A server that another computer's newer program brought
// forward is as one that is away: this program is brought forward, too, some day, and until then a line that nobody else has is watched here.
func final(err error) bool {
	var held *keep.Held
	return errors.As(err, &held) || errors.Is(err, history.ErrTwoHistories) || errors.Is(err, history.ErrStartAgain)
}

// Run brings to the server what is kept until the context ends, and then what is left, if the server is there. Its error is one
// for which the watch has to end: another one has the line, or went on with it.
func (c *Carrying) Run(ctx context.Context) (err error) {
	defer func() { err = errors.Join(err, c.Close()) }()
	wait, pause := carryEvery, carryPause
	if !c.away.IsZero() {
		wait = pause
	}
	c.show(ctx, "")
	for {
		timer := time.NewTimer(wait)
		select {
		case <-ctx.Done():
			timer.Stop()
			return c.last(ctx)
		case <-timer.C:
		}
		was := c.away
		switch n, err := c.round(ctx); {
		case ctx.Err() != nil:
			return c.last(ctx)
		case err == nil:
			wait, pause = carryEvery, carryPause
			if !was.IsZero() {
				c.away = time.Time{}
				c.Log.Info("the server of the history is there again, and has what waited", "spectra", n, "away", time.Since(was).Round(time.Second))
			}
			if !was.IsZero() || n > 0 {
				c.show(ctx, "")
			}
		case final(err):
			return err
		default:
			c.gone(ctx, err)
			wait, pause = pause, min(2*pause, carryMost)
		}
	}
}

// round delivers all that waits. What is the matter with one line keeps no other from being delivered.
func (c *Carrying) round(ctx context.Context) (spectra int, err error) {
	if !c.away.IsZero() {
		if err := c.join(ctx, c.joinAgain); err != nil {
			return 0, err
		}
	}
	var all error
	for _, line := range c.Lines {
		n, err := c.roundOf(ctx, line)
		spectra += n
		if all = errors.Join(all, err); final(err) || errors.Is(err, history.ErrAway) || ctx.Err() != nil {
			break
		}
	}
	return spectra, all
}

// roundOf delivers all that waits of a line.
func (c *Carrying) roundOf(ctx context.Context, line string) (spectra int, err error) {
	for more := true; more; {
		var n int
		n, more, err = c.deliver(ctx, line)
		if errors.Is(err, history.ErrNotInStep) { // an answer was lost; where it stands, the server knows
			if err = c.joinAgain(ctx, line); err == nil {
				n, more, err = c.deliver(ctx, line)
			}
		}
		if err != nil {
			return spectra, fmt.Errorf("line %q: %w", line, err)
		}
		spectra += n
	}
	return spectra, nil
}

// deliver delivers once. A server that says nothing, as one whose computer is gone, is away.
func (c *Carrying) deliver(ctx context.Context, line string) (n int, more bool, err error) {
	limited, cancel := context.WithTimeout(ctx, carryAnswer)
	defer cancel()
	n, more, err = c.far.Deliver(limited, line)
	if errors.Is(err, context.DeadlineExceeded) && ctx.Err() == nil {
		err = fmt.Errorf("%w: no answer within %v", history.ErrAway, carryAnswer)
	}
	return n, more, err
}

// last brings what is left when the watch is stopped. What then still waits goes with the next one.
func (c *Carrying) last(ctx context.Context) error {
	if !c.away.IsZero() {
		return nil
	}
	ctx, cancel := context.WithTimeout(context.WithoutCancel(ctx), carryLast)
	defer cancel()
	if _, err := c.round(ctx); err != nil {
		c.Log.Warn("not all was brought to the server; the next watch does it", "reason", err)
	}
	c.show(ctx, "")
	return nil
}

// Close gives the lines at the server free. A second call, and one of nil, does nothing.
func (c *Carrying) Close() error {
	if c == nil || c.far == nil {
		return nil
	}
	far := c.far
	c.far = nil
	return far.Close()
}
