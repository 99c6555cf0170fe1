package history

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"time"

	"asusual/monitor/keep"
)

// A Joined says what had to be done so that the two ends of a line are one history.
type Joined int

// What Join did.
const (
	InStep   Joined = iota // nothing: what waits is delivered
	Brought                // the server had nothing of the line, and has it from the file
	Taken                  // the file had nothing of the line, or less than another computer, and has it from the server
	CaughtUp               // the file was less than it had delivered, as an older copy that was put back, and has the line from the server
)

// A standing is how a line stands at both ends when it is joined.
type standing struct {
	store        string // of the file that the server has the line from; "" where no file brought it
	seq, at      int64  // up to which of its parcels, and not before when
	there, here  bool   // whether the end has anything of the line
	m            mark
	carried      bool // the file was carried there before
	inStep       bool // the server's parcel is one of this file, or the file knows to have gone further
	spectra, own int  // in parcels of the file that the server never had
	since        int64
}

// Join takes a line at the server and makes sure that the two ends are one history. A line that only the file knows is carried over
// whole; one that only the server knows is taken from there, so that another computer can go on with it, and so is one of which the
// file has less than it delivered, since an older copy of it was put back. It is to be called before the line is watched. Where
// another process has the line the error is a *keep.Held.
func (f *Far) Join(ctx context.Context, line string) (Joined, error) { return f.join(ctx, line, false) }

// JoinAgain is Join of a line that is watched meanwhile. Where it would have to be taken from the server the error is ErrStartAgain.
func (f *Far) JoinAgain(ctx context.Context, line string) error {
	_, err := f.join(ctx, line, true)
	return err
}

func (f *Far) join(ctx context.Context, line string, watched bool) (Joined, error) {
	if err := f.far.Hold(ctx, line); err != nil {
		return InStep, err
	}
	s, err := f.stand(ctx, line)
	if err != nil {
		return InStep, err
	}
	did, after := Taken, int64(0)
	switch {
	case s.store == f.near.store && s.seq < s.m.dropped:
		return InStep, fmt.Errorf("%s: line %q: %w: it stands at parcel %d, and those up to %d are gone here; bring back a newer copy of the server's history, or take out the line there, and it is carried over anew",
			f.far.path, line, ErrFarBehind, s.seq, s.m.dropped)
	case s.store == f.near.store && s.inStep:
		s.m.seq = s.seq
		return InStep, f.near.mark(ctx, line, s.m)
	case s.store == f.near.store && s.own > 0:
		return InStep, fmt.Errorf("line %q: %w: %s is an older copy that was put back, and %d spectra that were kept in it since %s are not at %s, which has others in their place; move that file away to go on from the server's history: what is still in the watched folder is then judged for it",
			line, ErrTwoHistories, f.near.path, s.spectra, fromNanos(s.since).Local().Format(time.DateTime), f.far.path)
	case s.store == f.near.store:
		did, after = CaughtUp, s.seq
	case !s.there:
		return Brought, f.seed(ctx, line)
	case s.here && !s.carried:
		return InStep, fmt.Errorf("line %q: %w: %s knows it, and so does %s, which was never carried there; give one of the lines another name",
			line, ErrTwoHistories, f.far.path, f.near.path)
	case s.here:
		left, err := f.near.Waiting(ctx, line)
		if err != nil {
			return InStep, err
		}
		if left.Batches > 0 {
			return InStep, fmt.Errorf("line %q: %w: another computer went on with it, and %d spectra since %s in %s were never carried to %s; move that file away to go on from the server's history",
				line, ErrTwoHistories, left.Spectra, left.Since.Local().Format(time.DateTime), f.near.path, f.far.path)
		}
	}
	if watched {
		return InStep, fmt.Errorf("line %q: %w: %s has more of it than %s", line, ErrStartAgain, f.far.path, f.near.path)
	}
	return did, f.fetch(ctx, line, after)
}

// HeldElsewhere returns a *keep.Held where another than the file near writes one of the lines at the server of that address now; nil
// where nobody does, or that cannot be told. It asks for the locks alone, which also a server has that a newer program brought forward.
func HeldElsewhere(ctx context.Context, near *DB, address string, lines []string) error {
	d, err := openServer(address)
	if err != nil {
		return nil
	}
	defer d.pool.Close()
	for _, line := range lines {
		held := &keep.Held{Path: fmt.Sprintf("%s: line %q", d.path, line)}
		var since int64
		if d.pool.QueryRowContext(ctx, "SELECT w.name, w.pid, w.since "+heldNow+" WHERE l.name = ? AND w.store <> ?", line, near.store).
			Scan(&held.By.Name, &held.By.PID, &since) == nil {
			held.By.Since = fromNanos(since)
			return held
		}
	}
	return nil
}

// stand finds out how the line stands.
func (f *Far) stand(ctx context.Context, line string) (s standing, err error) {
	id, there, err := f.farLine(ctx, line)
	if err != nil {
		return s, explain(f.far.path, err)
	}
	s.there = there
	err = f.far.pool.QueryRowContext(ctx, "SELECT store, seq, at FROM delivery WHERE line = ?", id).Scan(&s.store, &s.seq, &s.at)
	if err != nil && !errors.Is(err, sql.ErrNoRows) {
		return s, explain(f.far.path, err)
	}
	if s.m, s.carried, err = f.near.marked(ctx, line); err == nil {
		s.here, err = f.near.knows(ctx, line)
	}
	if err == nil && s.store == f.near.store {
		err = f.near.compare(ctx, line, &s)
	}
	return s, explain(f.near.path, err)
}

// compare finds out whether what the server took last from this file is in it, as it is after every cut of the way, also where the
// file does not know of it yet. An older copy of the file that was put back lacks it, and gives its number to another parcel, which
// was then kept later than the server took its own.
func (d *DB) compare(ctx context.Context, line string, s *standing) error {
	if s.inStep = s.seq <= s.m.seq; s.inStep {
		return nil
	}
	return d.pool.QueryRowContext(ctx, `SELECT coalesce(max(p.seq = ?1 AND p.at <= ?2), 0), coalesce(sum(p.seq > ?1 OR p.at > ?2), 0),
			coalesce(sum(CASE WHEN p.seq > ?1 OR p.at > ?2 THEN p.spectra END), 0), coalesce(min(CASE WHEN p.seq > ?1 OR p.at > ?2 THEN p.at END), 0)
		FROM outbox p WHERE p.line = (SELECT id FROM line WHERE name = ?3) AND p.seq > ?4`, s.seq, s.at, line, s.m.seq).
		Scan(&s.inStep, &s.own, &s.spectra, &s.since)
}

// farLine returns the number of the line at the server, and whether it has anything of it.
func (f *Far) farLine(ctx context.Context, line string) (id int64, there bool, err error) {
	f.far.mu.Lock()
	defer f.far.mu.Unlock()
	if id, err = f.far.named(ctx, f.far.lines, "line", "name", line); err != nil {
		return 0, false, err
	}
	err = f.far.pool.QueryRowContext(ctx, "SELECT EXISTS (SELECT 1 FROM file WHERE id > ? AND id < ?) OR EXISTS (SELECT 1 FROM state WHERE line = ?)",
		id<<fileShift, (id+1)<<fileShift, id).Scan(&there)
	return id, there, err
}

// knows reports whether the file has anything of the line.
func (d *DB) knows(ctx context.Context, line string) (is bool, err error) {
	err = d.pool.QueryRowContext(ctx, `SELECT EXISTS (SELECT 1 FROM line l WHERE l.name = ? AND (EXISTS (SELECT 1 FROM file WHERE line = l.id)
		OR EXISTS (SELECT 1 FROM state WHERE line = l.id) OR EXISTS (SELECT 1 FROM act WHERE line = l.id)))`, line).Scan(&is)
	return is, err
}

// Known reports whether the line can go on here while the server is away: whether it was carried there before.
func (d *DB) Known(ctx context.Context, line string) (bool, error) {
	_, ok, err := d.marked(ctx, line)
	return ok, explain(d.path, err)
}
