package history

import (
	"context"
	"errors"
	"fmt"
	"time"
)

// A file of one spectrum costs 168 bytes by which it is known again, 5 GB a year at one a second, for as long as it may come back. Once its
// spectrum was taken out and the file is gone from its folder, its content alone is remembered, in 26 bytes (BenchmarkForget): whatever
// returns, under whatever name, is then known to have been judged. Tables are few, and stay: their rows are known by how the table begins.

// version6: what of a file is remembered that is gone. spent is up to which time spectra had been taken out when its own was; content has
// the digests of those that are forgotten, and taken the newest version of any, so that a name that is used again gets a later one than
// what a server has of it.
const version6 = `
ALTER TABLE file ADD COLUMN spent INTEGER NOT NULL DEFAULT 0;
CREATE INDEX file_spent ON file (line, id) WHERE spent > 0;
CREATE TABLE content (
	line INTEGER NOT NULL REFERENCES line, digest INTEGER NOT NULL, digest2 INTEGER NOT NULL,
	PRIMARY KEY (line, digest, digest2)) WITHOUT ROWID;
CREATE TABLE taken (line INTEGER PRIMARY KEY REFERENCES line, version INTEGER NOT NULL);
`

// TakenOut stands in the place of the name of a file that is forgotten, of which the content alone is known.
const TakenOut = "a file that was taken out of history"

const (
	// spentFor is how much later than its spectrum a file is forgotten: of an item, whose spectra lie hours apart at most, all are then gone.
	spentFor = 7 * 24 * time.Hour
	// goneRows is how many files are looked for in the folder at a time, and forgotten in one transaction.
	goneRows = 1000
	// stillThere is after how many files that are still in the folder no more are looked for: nobody takes them away.
	stillThere = 50_000
)

// ErrOnServer says that what is known of files is left as it is on a server, which sees no folder: another computer that takes the line
// over knows them by it.
var ErrOnServer = errors.New("what is known of files stays on a server")

// Forget takes out what is known of files of one spectrum each that was taken out at least a week ago, and that are gone from the folder.
// Their contents stay known. With dry it only counts. gone says which of the names are there no more; where it cannot be sure of
// one, it says that it is there.
func (d *DB) Forget(ctx context.Context, line string, k Keep, now time.Time, gone func(names []string) ([]bool, error), dry bool) (n int, err error) {
	if d.server != nil {
		return 0, fmt.Errorf("%s: %w", d.path, ErrOnServer)
	}
	if k.Spectra <= 0 {
		return 0, nil
	}
	until, err := nanos(now.Add(-k.Spectra - spentFor))
	if err != nil {
		return 0, err
	}
	for after, there := int64(0), 0; there < stillThere; {
		files, err := d.spent(ctx, line, until, after)
		if err != nil || len(files) == 0 {
			return n, explain(d.path, err)
		}
		after = files[len(files)-1].ID
		names := make([]string, len(files))
		for i, f := range files {
			names[i] = f.Name
		}
		is, err := gone(names)
		if err != nil {
			return n, err
		}
		left := files[:0]
		for i, f := range files {
			if is[i] {
				left = append(left, f)
			}
		}
		there += len(files) - len(left)
		n += len(left)
		if dry {
			continue
		}
		if err := d.forget(ctx, line, left); err != nil {
			return n - len(left), err
		}
	}
	return n, nil
}

// spent returns the next files whose spectra were taken out by then. The newest of all stays, so that its number is not given again,
// and so does one of which history still says that something in it could not be read, or was a copy.
func (d *DB) spent(ctx context.Context, line string, until, after int64) (files []File, err error) {
	rows, err := d.pool.QueryContext(ctx, "SELECT "+fileColumns+` FROM file f
		WHERE f.line = (SELECT id FROM line WHERE name = ?1) AND f.spent > 0 AND f.spent <= ?2 AND f.id > ?3 AND f.id < (SELECT max(id) FROM file)
			AND f.id NOT IN (SELECT file FROM unreadable WHERE line = (SELECT id FROM line WHERE name = ?1))
			AND NOT EXISTS (SELECT 1 FROM copy c WHERE c.file = f.id)
		ORDER BY f.id LIMIT ?4`, line, until, after, goneRows)
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	for rows.Next() {
		f, err := scanFile(rows.Scan)
		if err != nil {
			return nil, err
		}
		files = append(files, f)
	}
	return files, rows.Err()
}

// forget leaves the contents of files in the place of all that is known of them.
func (d *DB) forget(ctx context.Context, line string, files []File) error {
	d.mu.Lock()
	defer d.mu.Unlock()
	if d.conn == nil || d.closed {
		return fmt.Errorf("%s: %w", d.path, ErrNotWatcher)
	}
	return d.transactOn(ctx, line, func(w *writer) error {
		newest := 0
		for _, f := range files {
			newest = max(newest, f.Version)
			if err := w.exec("INSERT INTO content (line, digest, digest2) VALUES (?,?,?) ON CONFLICT DO NOTHING", w.line, f.Digest.half(0), f.Digest.half(1)); err != nil {
				return err
			}
			if err := w.exec("DELETE FROM file WHERE id = ? AND line = ?", f.ID, w.line); err != nil {
				return err
			}
		}
		return w.exec("INSERT INTO taken (line, version) VALUES (?,?) ON CONFLICT (line) DO UPDATE SET version = max(taken.version, excluded.version)",
			w.line, newest)
	})
}

// spend notes which files of one spectrum are about to lose it.
func (w *writer) spend(table string, line string, before, border int64) error {
	if table != "record" && table != "own" {
		return nil
	}
	return w.exec(fmt.Sprintf(`UPDATE file SET spent = ? WHERE spent = 0 AND partial = 0 AND rows = 1
		AND id IN (SELECT r.file FROM %s r WHERE r.line = (SELECT id FROM line WHERE name = ?) AND r.time < ? AND r.row = 0)`, table), border, line, before)
}

// lastTaken returns the newest version of any file of the line that is forgotten.
func (w *writer) lastTaken() (version int, err error) {
	if w.db.server != nil {
		return 0, nil // files come there with their version
	}
	s, err := w.stmt("SELECT coalesce(max(version), 0) FROM taken WHERE line = ?")
	if err != nil {
		return 0, err
	}
	return version, s.QueryRowContext(w.ctx, w.line).Scan(&version)
}
