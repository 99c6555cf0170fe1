package history

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"time"

	"asusual/monitor/keep"
)

// A Keep says for how long things are kept, counted from a moment back. Zero is for ever.
type Keep struct {
	Spectra  time.Duration // records, spectra of the instrument's own, what could not be read, copies
	Means    time.Duration // mean spectra
	Episodes time.Duration // that have ended, groups, what became of the alarm, and checks of the instrument
}

// A Pruned says how much was taken out, or would be.
type Pruned struct {
	Spectra, Own, Unreadable, Copies, Means, Episodes, Groups, Acts, Checks int
	Files                                                                   int // that are forgotten: see Forget
}

// ErrExists says that something is in the place of a backup.
var ErrExists = errors.New("something is there; a backup writes over nothing")

// pruneRows is how many rows one transaction takes out, so that a watch that writes meanwhile hardly waits.
const pruneRows = 5000

// Prune takes out of the line what is older than is to be kept at the time now. With dry it only counts. Files stay known, so
// that none of them is judged again, until Forget leaves their contents alone; but rows of a table whose records were taken out are, where
// it is saved anew. The
// history's file does not shrink: what comes next fills the room. A Backup is as small as can be.
func (d *DB) Prune(ctx context.Context, line string, k Keep, now time.Time, dry bool) (p Pruned, err error) {
	var means int // of groups; they go with these
	for _, what := range []struct {
		table, time string
		keep        time.Duration
		n           *int
	}{
		{"record", "time", k.Spectra, &p.Spectra},
		{"own", "time", k.Spectra, &p.Own},
		{"unreadable", "time", k.Spectra, &p.Unreadable},
		{"copy", "time", k.Spectra, &p.Copies},
		{"mean", "start", k.Means, &p.Means},
		{"episode", "stop", k.Episodes, &p.Episodes},
		{"grp_mean", "stop", k.Episodes, &means},
		{"grp", "stop", k.Episodes, &p.Groups},
		{"act", "time", k.Episodes, &p.Acts},
		{"measured", "time", k.Episodes, &p.Checks},
	} {
		if what.keep <= 0 {
			continue
		}
		before, err := nanos(now.Add(-what.keep))
		if err != nil {
			return p, err
		}
		for {
			var n int
			if dry {
				n, err = d.older(ctx, line, what.table, what.time, before)
			} else {
				n, err = d.prune(ctx, line, what.table, what.time, before)
			}
			if err != nil {
				return p, err
			}
			*what.n += n
			if dry || n == 0 {
				break
			}
		}
	}
	return p, nil
}

// older counts. The names of table and column are those above, and nobody else's.
func (d *DB) older(ctx context.Context, line, table, column string, before int64) (n int, err error) {
	err = d.pool.QueryRowContext(ctx, fmt.Sprintf("SELECT count(*) FROM %s WHERE line = (SELECT id FROM line WHERE name = ?) AND %s < ?",
		table, column), line, before).Scan(&n)
	return n, explain(d.path, err)
}

// prune takes out about pruneRows of the oldest, and returns how many; 0 where none is left. Rows of one time go together.
func (d *DB) prune(ctx context.Context, line, table, column string, before int64) (n int, err error) {
	d.mu.Lock()
	defer d.mu.Unlock()
	defer func() {
		if err != nil && d.server != nil && d.broken() {
			d.dropSession()
		}
	}()
	if d.server != nil && d.server.watcher != "" {
		if err := d.session(ctx); err != nil {
			return 0, err
		}
	}
	if d.conn == nil || d.closed {
		return 0, fmt.Errorf("%s: %w", d.path, ErrNotWatcher)
	}
	border := before
	of := fmt.Sprintf("%s WHERE line = (SELECT id FROM line WHERE name = ?) AND %s < ?", table, column)
	var last int64
	err = d.conn.QueryRowContext(ctx, fmt.Sprintf("SELECT %s FROM %s ORDER BY %[1]s LIMIT 1 OFFSET %[3]d", column, of, pruneRows), line, before).Scan(&last)
	switch {
	case errors.Is(err, sql.ErrNoRows):
	case err != nil:
		return 0, explain(d.path, err)
	default:
		before = min(before, last+1)
	}
	w := &writer{db: d, ctx: ctx}
	err = w.transact(func() error {
		if err := w.spend(table, line, before, border); err != nil {
			return err
		}
		res, err := d.conn.ExecContext(ctx, "DELETE FROM "+of, line, before)
		if err != nil {
			return err
		}
		gone, err := res.RowsAffected()
		n = int(gone)
		return err
	})
	return n, err
}

// Backup writes a copy of the history to the path, where nothing may be yet, also while a watch is writing: the copy is how
// the history stood at one moment, whole, and as small as can be.
func (d *DB) Backup(ctx context.Context, path string) (err error) {
	if d.server != nil {
		return fmt.Errorf("%s: a server's history is copied by the server's own means, such as pg_dump", d.path)
	}
	if _, err := os.Lstat(path); !errors.Is(err, os.ErrNotExist) {
		return errors.Join(fmt.Errorf("%s: %w", path, ErrExists), err)
	}
	folder, err := os.MkdirTemp(filepath.Dir(path), keep.Prefix)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, os.RemoveAll(folder)) }()
	made := filepath.Join(folder, "history")
	if _, err := d.pool.ExecContext(ctx, "VACUUM INTO ?", made); err != nil {
		return explain(path, err)
	}
	return keep.Rename(made, path)
}
