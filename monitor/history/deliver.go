package history

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"time"
)

// Errors of what keeps a line's two ends, the file and the server, from being one history.
var (
	ErrTwoHistories = errors.New("the server has another history of this line") // each has spectra that the other does not
	ErrFarBehind    = errors.New("the server lost what it had confirmed")       // and it is not in the outbox any more
	ErrFirstStart   = errors.New("the line is not known here yet")              // whether the server knows it, it has to say
	ErrStartAgain   = errors.New("the watch has to be started again")           // what it goes on from has to be taken from the server
)

const (
	deliverSpectra = 5000 // about, in one transaction
	deliverParcels = 500  // at most
)

// A Far is the end of a history that is on a server: what is kept in a file is carried there.
type Far struct{ near, far *DB }

// OpenFar opens the server's history for what is kept in the file near, which from now on is carried there. watcher is the name
// that a second watcher is told.
func OpenFar(ctx context.Context, near *DB, address, watcher string) (*Far, error) {
	if err := near.Carry(ctx, true); err != nil {
		return nil, err
	}
	far, err := openToWrite(ctx, address, watcher)
	if err != nil {
		return nil, err
	}
	far.server.store = near.store // whoever holds a line in its name is an earlier session of it, for a file has one watcher
	return &Far{near, far}, nil
}

// Close gives the server's lines free.
func (f *Far) Close() error { return f.far.Close() }

// Path is the name of the server's history.
func (f *Far) Path() string { return f.far.path }

// A mark is how far a line has come.
type mark struct{ seq, dropped, less int64 }

// marked returns how far the file knows the line to have come; ok is false where it was never carried.
func (d *DB) marked(ctx context.Context, line string) (m mark, ok bool, err error) {
	err = d.pool.QueryRowContext(ctx, "SELECT c.seq, c.dropped, c.less FROM carried c JOIN line l ON l.id = c.line WHERE l.name = ?", line).
		Scan(&m.seq, &m.dropped, &m.less)
	if errors.Is(err, sql.ErrNoRows) {
		return m, false, nil
	}
	return m, err == nil, err
}

// mark notes how far the line has come, and takes away what was delivered long ago.
func (d *DB) mark(ctx context.Context, line string, m mark) error {
	d.mu.Lock()
	defer d.mu.Unlock()
	w := &writer{db: d, ctx: ctx}
	return w.transact(func() (err error) {
		if w.line, err = w.lineID(line); err != nil {
			return err
		}
		s, err := w.stmt("SELECT coalesce(max(seq), 0) FROM outbox WHERE line = ? AND seq <= ? AND at < ?")
		if err != nil {
			return err
		}
		var old int64
		if err := s.QueryRowContext(ctx, w.line, m.seq, time.Now().Add(-outboxKept).UnixNano()).Scan(&old); err != nil {
			return err
		}
		if old > 0 {
			if err := w.exec("DELETE FROM outbox WHERE line = ? AND seq <= ?", w.line, old); err != nil {
				return err
			}
		}
		return w.exec(`INSERT INTO carried (line, seq, dropped, less) VALUES (?,?,?,?) ON CONFLICT (line) DO UPDATE SET seq = excluded.seq,
			dropped = max(carried.dropped, excluded.dropped), less = excluded.less`, w.line, m.seq, max(old, m.dropped), m.less)
	})
}

// A delivery is what one transaction brings to the server.
type delivery struct {
	batch    Batch
	numbered []bool
	from, to int64 // the parcels after from, up to to
	at       int64 // when the last of them was kept
	spectra  int
}

// Deliver brings what waits of the line to the server, as much as one transaction should, and returns how many spectra those were,
// and whether there is more. It is brought once: where it came to is written in the same transaction.
func (f *Far) Deliver(ctx context.Context, line string) (spectra int, more bool, err error) {
	m, ok, err := f.near.marked(ctx, line)
	if err != nil || !ok {
		return 0, false, explain(f.near.path, errors.Join(err, ctx.Err()))
	}
	d, more, err := f.near.parcels(ctx, line, m.seq)
	if err != nil || d.to == m.seq {
		return 0, false, err
	}
	f.far.mu.Lock()
	err = f.far.onLine(ctx, line, func(id int64) error { return f.write(ctx, id, m, d) })
	f.far.mu.Unlock()
	if err != nil {
		return 0, false, err
	}
	m.seq = d.to
	return d.spectra, more, f.near.mark(ctx, line, m)
}

// write writes a delivery to the line of that number.
func (f *Far) write(ctx context.Context, id int64, m mark, d *delivery) error {
	for i := range d.batch.Files {
		d.batch.Files[i].File.ID += id<<fileShift - m.less
	}
	w := &writer{db: f.far, ctx: ctx, batch: &d.batch, numbered: d.numbered}
	return w.transact(func() error {
		res, err := f.far.conn.ExecContext(ctx, "UPDATE delivery SET seq = ?, at = ? WHERE line = ? AND store = ? AND seq = ?",
			d.to, max(time.Now().UnixNano(), d.at), id, f.near.store, d.from)
		if err != nil {
			return err
		}
		if n, err := res.RowsAffected(); err != nil || n != 1 {
			return errors.Join(err, fmt.Errorf("%w: it does not stand where this file left it", ErrNotInStep))
		}
		return w.write()
	})
}

// ErrNotInStep says that the server stands elsewhere than the file believes, as after a commit whose answer was lost: Join finds out.
var ErrNotInStep = errors.New("the two ends of the history are not in step")

// parcels returns what waits of the line after a parcel, as one batch, with where the line stands if that is all of it.
func (d *DB) parcels(ctx context.Context, line string, after int64) (del *delivery, more bool, err error) {
	del = &delivery{from: after, to: after, batch: Batch{Line: line}}
	err = d.snapshot(ctx, func(c *sql.Conn) error {
		rows, err := c.QueryContext(ctx, "SELECT o.seq, o.at, o.parcel FROM outbox o WHERE o.line = (SELECT id FROM line WHERE name = ?) AND o.seq > ? ORDER BY o.seq LIMIT ?",
			line, after, deliverParcels+1)
		if err != nil {
			return err
		}
		defer rows.Close()
		places := map[int64]int{}
		for n := 0; rows.Next(); n++ {
			if more = n == deliverParcels || del.spectra >= deliverSpectra; more {
				return nil
			}
			var seq, at int64
			var blob []byte
			if err := rows.Scan(&seq, &at, &blob); err != nil {
				return err
			}
			p, err := unpackParcel(blob)
			if err != nil {
				return err
			}
			if more = p.Reference != nil && del.batch.Reference != nil; more { // a batch has one
				return nil
			}
			if err := del.add(&p, places); err != nil {
				return err
			}
			del.to, del.at = seq, max(del.at, at)
		}
		if err := rows.Err(); err != nil || del.to == after {
			return err
		}
		if del.batch.State, err = stateOf(ctx, c, line); err != nil {
			return err
		}
		del.batch.Book, err = bookOf(ctx, c, line)
		return err
	})
	return del, more, explain(d.path, err)
}

// add puts a parcel behind those before it. places are those of files in the batch.
func (d *delivery) add(p *parcel, places map[int64]int) error {
	for i, j := range p.Files {
		d.spectra += len(j.Records)
		at, ok := places[j.File.ID]
		if !ok {
			places[j.File.ID] = len(d.batch.Files)
			d.batch.Files = append(d.batch.Files, j)
			d.numbered = append(d.numbered, p.New[i])
			continue
		}
		all := &d.batch.Files[at]
		all.File = j.File
		all.Records = append(all.Records, j.Records...)
		all.Own = append(all.Own, j.Own...)
		all.Unreadable = append(all.Unreadable, j.Unreadable...)
		all.Copies = append(all.Copies, j.Copies...)
	}
	means, groups, err := p.open()
	if err != nil {
		return err
	}
	b := &d.batch
	b.Episodes, b.Groups, b.Means = append(b.Episodes, p.Episodes...), append(b.Groups, groups...), append(b.Means, means...)
	b.Checks, b.Acts = append(b.Checks, p.Checks...), append(b.Acts, p.Acts...)
	if p.Reference != nil {
		b.Reference = p.Reference
	}
	if p.Alarm != nil {
		b.Alarm = p.Alarm
	}
	return nil
}
