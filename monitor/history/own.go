package history

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"iter"
	"math"
	"time"
)

func (w *writer) own() error {
	const into = "INSERT OR ROLLBACK INTO own (line, time, file, row, role, late, received, mark)"
	return w.insert(into, "", 8, each(w.batch.Files, func(j *Judged) []Own { return j.Own },
		func(args []any, f *File, o *Own) ([]any, error) {
			at, err := nanos(o.Time)
			if err != nil {
				return nil, fmt.Errorf("%s: row %d: %w", f.Name, o.Row, err)
			}
			role, err := w.wordID(o.Role)
			return append(args, w.line, at, f.ID, o.Row, role, o.Late, o.Received.UnixNano(), o.Mark), err
		}))
}

func (w *writer) checks() error {
	for _, c := range w.batch.Checks {
		at, err := nanos(c.Time)
		if err != nil {
			return fmt.Errorf("%s: %w", c.Measure, err)
		}
		measure, err := w.wordID(c.Measure)
		if err != nil {
			return err
		}
		reasons, err := findings(c.Reasons)
		if err != nil {
			return fmt.Errorf("%s: %w", c.Measure, err)
		}
		if err := w.exec("INSERT INTO measured (line, time, measure, about, value, ageing, unfit, unit, state, reasons) VALUES (?,?,?,?,?,?,?,?,?,?)",
			w.line, at, measure, c.About, number(c.Value), finite(c.Ageing), finite(c.Unfit), c.Unit, c.State, reasons); err != nil {
			return err
		}
	}
	if w.batch.Book == nil {
		return nil
	}
	book, err := w.db.deflate(w.batch.Book)
	if err != nil {
		return fmt.Errorf("the book of checks: %w", err)
	}
	return w.exec("INSERT INTO book (line, book) VALUES (?,?) ON CONFLICT (line) DO UPDATE SET book = excluded.book", w.line, book)
}

// Own yields the spectra of the instrument's own of the period, in order of time, then file and row.
func (d *DB) Own(ctx context.Context, q Query) iter.Seq2[Own, error] {
	const text = `SELECT o.time, f.name, o.row, w.text, o.late, o.received, o.mark FROM own o JOIN file f ON f.id = o.file JOIN word w ON w.id = o.role
		WHERE o.line = (SELECT id FROM line WHERE name = ?) AND o.time >= ? AND o.time < ? ORDER BY o.time, o.file, o.row`
	return query(ctx, d, text, q, func(rows *sql.Rows) (Own, error) {
		o := Own{Line: q.Line}
		var at, received int64
		err := rows.Scan(&at, &o.File, &o.Row, &o.Role, &o.Late, &received, &o.Mark)
		o.Time, o.Received = fromNanos(at), fromNanos(received)
		return o, err
	})
}

// Checks yields what the instrument's own spectra of the period told of it, in order of time, then as they were measured.
func (d *DB) Checks(ctx context.Context, q Query) iter.Seq2[Check, error] {
	const text = `SELECT m.time, w.text, m.about, m.value, m.ageing, m.unfit, m.unit, m.state, m.reasons FROM measured m JOIN word w ON w.id = m.measure
		WHERE m.line = (SELECT id FROM line WHERE name = ?) AND m.time >= ? AND m.time < ? ORDER BY m.time, m.id`
	return query(ctx, d, text, q, func(rows *sql.Rows) (Check, error) {
		c := Check{Line: q.Line, Value: math.NaN()}
		var at int64
		var value sql.NullFloat64
		var reasons sql.RawBytes
		if err := rows.Scan(&at, &c.Measure, &c.About, &value, &c.Ageing, &c.Unfit, &c.Unit, &c.State, &reasons); err != nil {
			return c, err
		}
		c.Time = fromNanos(at)
		if value.Valid {
			c.Value = value.Float64
		}
		var err error
		if c.Reasons, err = unfind(reasons); err != nil {
			return c, fmt.Errorf("%s: %s: %w", d.path, c.Measure, err)
		}
		return c, nil
	})
}

// LastOwn returns the time of the line's newest spectrum of the instrument's own; zero where there is none.
func (d *DB) LastOwn(ctx context.Context, line string) (time.Time, error) {
	var at sql.NullInt64
	err := d.pool.QueryRowContext(ctx, "SELECT max(time) FROM own WHERE line = (SELECT id FROM line WHERE name = ?)", line).Scan(&at)
	if err != nil || !at.Valid {
		return time.Time{}, explain(d.path, err)
	}
	return fromNanos(at.Int64), nil
}

// Book returns where the checks of the line's instrument stand, as its owner wrote it; nil where there were none.
func (d *DB) Book(ctx context.Context, line string) ([]byte, error) {
	text, err := bookOf(ctx, d.pool, line)
	if err != nil && errors.Is(err, ErrDamaged) {
		return nil, fmt.Errorf("%s: %w", d.path, err)
	}
	return text, explain(d.path, err)
}

func bookOf(ctx context.Context, from asked, line string) ([]byte, error) {
	var text []byte
	err := from.QueryRowContext(ctx, "SELECT b.book FROM book b JOIN line l ON l.id = b.line WHERE l.name = ?", line).Scan(&text)
	if errors.Is(err, sql.ErrNoRows) {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	return inflate(text)
}
