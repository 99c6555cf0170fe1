package history

import (
	"context"
	"database/sql"
	"fmt"
	"math"
	"strings"
)

// Append writes the batch in one transaction. After an error nothing of it is written, and the same batch may be given
// again. Adding a file version that is there already is an error: nothing can be counted twice by mistake.
func (d *DB) Append(ctx context.Context, b Batch) error {
	d.mu.Lock()
	defer d.mu.Unlock()
	if d.server != nil {
		return d.appendToServer(ctx, b)
	}
	if d.conn == nil || d.closed {
		return fmt.Errorf("%s: %w", d.path, ErrNotWatcher)
	}
	w := &writer{db: d, ctx: ctx, batch: &b, nextFile: d.nextFile}
	if err := w.transact(w.write); err != nil {
		return err
	}
	d.nextFile = w.nextFile
	d.tender.wrote()
	return nil
}

// transact does what is to be done whole or not at all.
func (w *writer) transact(do func() error) error {
	d := w.db
	if err := w.exec("BEGIN IMMEDIATE"); err != nil {
		return explain(d.path, err)
	}
	err := do()
	if err == nil {
		err = w.exec("COMMIT")
	}
	if err != nil {
		// The context may be what failed; the rollback has to run all the same.
		_, _ = d.conn.ExecContext(context.WithoutCancel(w.ctx), "ROLLBACK")
		clear(d.words) // some of what they hold was rolled back
		clear(d.lines)
		clear(d.axes)
		return explain(d.path, err)
	}
	return nil
}

// A writer writes one batch inside a transaction.
type writer struct {
	db       *DB
	ctx      context.Context
	batch    *Batch
	line     int64
	nextFile int64
	numbered []bool // files of the batch that are new and have their numbers already, as those that come out of an outbox
}

func (w *writer) write() (err error) {
	if w.line, err = w.lineID(w.batch.Line); err != nil {
		return err
	}
	fresh := make([]bool, len(w.batch.Files))
	for i := range fresh {
		fresh[i] = w.batch.Files[i].File.ID == 0
	}
	for _, step := range []func() error{w.files, w.records, w.own, w.unreadable, w.copies, w.episodes, w.groups, w.means, w.reference, w.state, w.checks, w.alarm} {
		if err := step(); err != nil {
			return err
		}
	}
	return w.post(fresh)
}

func (w *writer) stmt(query string) (*sql.Stmt, error) {
	if s := w.db.prepared[query]; s != nil {
		return s, nil
	}
	s, err := w.db.conn.PrepareContext(w.ctx, query)
	if err != nil {
		return nil, err
	}
	w.db.prepared[query] = s
	return s, nil
}

func (w *writer) exec(query string, args ...any) error {
	s, err := w.stmt(query)
	if err != nil {
		return err
	}
	_, err = s.ExecContext(w.ctx, args...)
	return err
}

// insertRows is how many rows one statement inserts: the gain is spent at a hundred.
const insertRows = 100

// insert writes rows of as many values as the table has columns, many at a time. next puts the values of one more row
// behind args, or returns nil where there are no more. Where a row may be refused, into begins with INSERT OR ROLLBACK:
// SQLite then keeps no journal of the single statement, which would cost a third of the time; the batch is lost either way.
// on says what becomes of a row that is there already.
func (w *writer) insert(into, on string, columns int, next func(args []any) ([]any, error)) error {
	if w.db.server != nil {
		return w.insertToServer(into, on, next)
	}
	row := "(" + strings.Repeat("?,", columns-1) + "?)"
	args := make([]any, 0, insertRows*columns)
	flush := func() error {
		if len(args) == 0 {
			return nil
		}
		err := w.exec(into+" VALUES "+row+strings.Repeat(","+row, len(args)/columns-1)+on, args...)
		args = args[:0]
		return err
	}
	for {
		more, err := next(args)
		if err != nil {
			return err
		}
		if more == nil {
			break
		}
		args = more
		if len(args) == insertRows*columns {
			if err := flush(); err != nil {
				return err
			}
		}
	}
	// What is left is written row by row, so that statements of few lengths are kept prepared.
	rest := args
	for len(rest) > 0 {
		if err := w.exec(into+" VALUES "+row+on, rest[:columns]...); err != nil {
			return err
		}
		rest = rest[columns:]
	}
	return nil
}

// each calls add for every element of every file of the batch, one a call of the function that it returns.
func each[T any](files []Judged, of func(*Judged) []T, add func(args []any, f *File, v *T) ([]any, error)) func([]any) ([]any, error) {
	i, j := 0, 0
	return func(args []any) ([]any, error) {
		for ; i < len(files); i, j = i+1, 0 {
			if vs := of(&files[i]); j < len(vs) {
				j++
				return add(args, &files[i].File, &vs[j-1])
			}
		}
		return nil, nil
	}
}

func (w *writer) files() error {
	w.batch.Files = append([]Judged(nil), w.batch.Files...) // the caller's stay without the IDs of a batch that may fail
	taken, err := w.lastTaken()
	if err != nil {
		return err
	}
	i := 0
	next := func(args []any) ([]any, error) {
		for ; i < len(w.batch.Files); i++ {
			f := &w.batch.Files[i].File
			if f.ID != 0 && (i >= len(w.numbered) || !w.numbered[i]) {
				if err := w.forward(f); err != nil {
					return nil, err
				}
				continue
			}
			if f.ID == 0 {
				f.ID = w.nextFile
				f.Version = max(f.Version, taken+1)
				w.nextFile++
			}
			modified, err := nanos(f.Modified)
			if err != nil {
				return nil, fmt.Errorf("%s: modified %w", f.Name, err)
			}
			i++
			return append(args, f.ID, w.line, f.Name, f.Version, f.Size, modified, f.Digest.half(0), f.Digest.half(1), f.Bytes, f.Rows, f.Lines,
				f.Partial, f.Received.UnixNano()), nil
		}
		return nil, nil
	}
	w.db.blank.Store(false)
	return w.insert("INSERT OR ROLLBACK INTO file (id, line, name, version, size, modified, digest, digest2, bytes, rows, lines, partial, received)", "", 13, next)
}

// forward brings a version that is kept to where it now stands.
func (w *writer) forward(f *File) error {
	modified, err := nanos(f.Modified)
	if err != nil {
		return fmt.Errorf("%s: modified %w", f.Name, err)
	}
	return w.exec("UPDATE file SET size = ?, modified = ?, digest = ?, digest2 = ?, bytes = ?, rows = ?, lines = ?, partial = ? WHERE id = ? AND line = ?",
		f.Size, modified, f.Digest.half(0), f.Digest.half(1), f.Bytes, f.Rows, f.Lines, f.Partial, f.ID, w.line)
}

func (w *writer) records() error {
	const into = "INSERT OR ROLLBACK INTO record (line, time, file, row, received, run, condition, t2, q, distance, inside, late, verdict, scores, map, rough, grp, instrument, reasons, reference, mark)"
	return w.insert(into, "", 21, each(w.batch.Files, func(j *Judged) []Record { return j.Records }, w.record))
}

func (w *writer) record(args []any, f *File, r *Record) ([]any, error) {
	at, err := nanos(r.Time)
	if err != nil {
		return nil, fmt.Errorf("%s: row %d: %w", f.Name, r.Row, err)
	}
	var some [3]any // words that a record may do without
	for i, word := range []string{r.Run, r.Group, r.Instrument} {
		if word == "" {
			continue
		}
		if some[i], err = w.wordID(word); err != nil {
			return nil, err
		}
	}
	reasons, err := findings(r.Reasons)
	if err != nil {
		return nil, fmt.Errorf("%s: row %d: %w", f.Name, r.Row, err)
	}
	var ids [3]int64
	for i, word := range []string{r.Condition, r.Verdict, r.Reference} {
		if ids[i], err = w.wordID(word); err != nil {
			return nil, err
		}
	}
	return append(args, w.line, at, f.ID, r.Row, r.Received.UnixNano(), some[0], ids[0], number(r.T2), number(r.Q), number(r.Distance),
		r.Inside, r.Late, ids[1], float64s(r.Scores), pair(r.Map), pair(r.Rough), some[1], some[2], reasons, ids[2], r.Mark), nil
}

func (w *writer) unreadable() error {
	const into = "INSERT INTO unreadable (line, time, file, row, text_line, reason, received, count)"
	const on = " ON CONFLICT (line, time, file, row, text_line) DO UPDATE SET reason = excluded.reason, received = excluded.received, count = excluded.count"
	return w.insert(into, on, 8, each(w.batch.Files, func(j *Judged) []Unreadable { return j.Unreadable },
		func(args []any, f *File, u *Unreadable) ([]any, error) {
			at, err := nanos(u.Time)
			return append(args, w.line, at, f.ID, u.Row, u.TextLine, u.Reason, u.Received.UnixNano(), max(u.Count, 1)), err
		}))
}

func (w *writer) copies() error {
	const into = "INSERT INTO copy (line, time, file, of, rows, received)"
	const on = " ON CONFLICT (line, time, file, received) DO UPDATE SET of = excluded.of, rows = excluded.rows"
	return w.insert(into, on, 6, each(w.batch.Files, func(j *Judged) []Copy { return j.Copies },
		func(args []any, f *File, c *Copy) ([]any, error) {
			at, err := nanos(c.Time)
			return append(args, w.line, at, f.ID, c.Of, c.Rows, c.Received.UnixNano()), err
		}))
}

func (w *writer) reference() error {
	r := w.batch.Reference
	if r == nil {
		return nil
	}
	since, err := nanos(r.Since)
	if err != nil {
		return fmt.Errorf("reference: %w", err)
	}
	return w.exec(`INSERT INTO reference (line, since, fingerprint, name) VALUES (?,?,?,?)
		ON CONFLICT (line, since) DO UPDATE SET fingerprint = excluded.fingerprint, name = excluded.name`, w.line, since, r.Fingerprint, r.Name)
}

// lineID and wordID return the number that stands for a text, and make one where there is none.
func (w *writer) lineID(name string) (int64, error) {
	if w.db.server != nil {
		return w.db.named(w.ctx, w.db.lines, "line", "name", name)
	}
	return w.id(w.db.lines, "SELECT id FROM line WHERE name = ?", "INSERT INTO line (name) VALUES (?) RETURNING id", name)
}

func (w *writer) wordID(text string) (int64, error) {
	if w.db.server != nil {
		return w.db.named(w.ctx, w.db.words, "word", "text", text)
	}
	return w.id(w.db.words, "SELECT id FROM word WHERE text = ?", "INSERT INTO word (text) VALUES (?) RETURNING id", text)
}

// maxWords bounds the words remembered: a year of runs is a few thousand.
const maxWords = 1 << 16

func (w *writer) id(known map[string]int64, find, add, text string) (int64, error) {
	if id, ok := known[text]; ok {
		return id, nil
	}
	if len(known) >= maxWords {
		clear(known)
	}
	for _, query := range []string{find, add} {
		s, err := w.stmt(query)
		if err != nil {
			return 0, err
		}
		var id int64
		err = s.QueryRowContext(w.ctx, text).Scan(&id)
		if err == nil {
			known[text] = id
			return id, nil
		}
		if err != sql.ErrNoRows {
			return 0, err
		}
	}
	return 0, fmt.Errorf("%q was not kept", text)
}

// number returns v for a column that may be empty: a value that is none is kept as nothing, never as a NaN.
func number(v float64) any {
	if math.IsNaN(v) {
		return nil
	}
	return finite(v)
}

// finite brings an overflow back to the largest number there is, so that no report divides by infinity.
func finite(v float64) float64 {
	if math.IsNaN(v) {
		return 0
	}
	return min(max(v, -math.MaxFloat64), math.MaxFloat64)
}
