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

// A Query says what to read: one line, and the period From ≤ time < To. A zero From or To leaves that end open.
type Query struct {
	Line     string
	From, To time.Time
}

// bounds returns the period in nanoseconds. An end beyond the times that a history can hold is beyond every record.
func (q Query) bounds() (from, to int64) {
	from, to = math.MinInt64, math.MaxInt64
	if !q.From.IsZero() {
		from = nanoseconds(q.From)
	}
	if !q.To.IsZero() {
		to = nanoseconds(q.To)
	}
	return from, to
}

func nanoseconds(t time.Time) int64 {
	switch {
	case t.Before(firstTime):
		return math.MinInt64
	case !t.Before(lastTime):
		return math.MaxInt64
	}
	return t.UnixNano()
}

// query yields what scan makes of each row of the text, whose parameters are the line and the two ends of the period, then
// more. It holds one row at a time. The last pair has the error, if there is one.
func query[T any](ctx context.Context, d *DB, text string, q Query, scan func(*sql.Rows) (T, error), more ...any) iter.Seq2[T, error] {
	return func(yield func(T, error) bool) {
		var none T
		from, to := q.bounds()
		rows, err := d.pool.QueryContext(ctx, text, append([]any{q.Line, from, to}, more...)...)
		if err != nil {
			yield(none, explain(d.path, err))
			return
		}
		defer rows.Close()
		for rows.Next() {
			v, err := scan(rows)
			if err != nil {
				yield(none, explain(d.path, err))
				return
			}
			if !yield(v, nil) {
				return
			}
		}
		if err := rows.Err(); err != nil {
			yield(none, explain(d.path, err))
		}
	}
}

// Spectra yields the records of the period in order of time, then file and row.
func (d *DB) Spectra(ctx context.Context, q Query) iter.Seq2[Record, error] {
	return d.spectra(ctx, q, "", math.MaxInt64)
}

// Newest yields the last n records of the period, the newest first.
func (d *DB) Newest(ctx context.Context, q Query, n int) iter.Seq2[Record, error] {
	return d.spectra(ctx, q, "DESC", n)
}

func (d *DB) spectra(ctx context.Context, q Query, order string, n int) iter.Seq2[Record, error] {
	return d.records(ctx, q, "", order, n)
}

// OfGroup yields the records that were found to be of the uncharted group, in order of time.
func (d *DB) OfGroup(ctx context.Context, q Query, group string) iter.Seq2[Record, error] {
	return d.records(ctx, q, "AND r.grp = (SELECT id FROM word WHERE text = ?)", "", group, math.MaxInt64)
}

func (d *DB) records(ctx context.Context, q Query, and, order string, more ...any) iter.Seq2[Record, error] {
	// The line's number comes from a subquery, so that the primary key serves both the period and the order.
	text := fmt.Sprintf(`SELECT r.time, f.name, r.row, r.received, run.text, c.text, r.t2, r.q, r.distance, r.inside, r.late, v.text,
			r.scores, r.map, r.rough, g.text, i.text, r.reasons, ref.text, r.mark
		FROM record r JOIN file f ON f.id = r.file JOIN word c ON c.id = r.condition JOIN word v ON v.id = r.verdict
			JOIN word ref ON ref.id = r.reference LEFT JOIN word run ON run.id = r.run
			LEFT JOIN word g ON g.id = r.grp LEFT JOIN word i ON i.id = r.instrument
		WHERE r.line = (SELECT id FROM line WHERE name = ?) AND r.time >= ? AND r.time < ? %[2]s
		ORDER BY r.time %[1]s, r.file %[1]s, r.row %[1]s LIMIT ?`, order, and)
	return query(ctx, d, text, q, func(rows *sql.Rows) (Record, error) {
		r := Record{Line: q.Line}
		var at, received int64
		var run, group, instrument sql.NullString
		var t2, qr, dist sql.NullFloat64
		var scores, place, rough, reasons sql.RawBytes
		if err := rows.Scan(&at, &r.File, &r.Row, &received, &run, &r.Condition, &t2, &qr, &dist, &r.Inside, &r.Late,
			&r.Verdict, &scores, &place, &rough, &group, &instrument, &reasons, &r.Reference, &r.Mark); err != nil {
			return r, err
		}
		r.Time, r.Received, r.Run = fromNanos(at), fromNanos(received), run.String
		r.T2, r.Q, r.Distance, r.Scores = t2.Float64, qr.Float64, dist.Float64, unpack64(scores)
		r.Map, r.Rough, r.Group, r.Instrument = unpair(place), unpair(rough), group.String, instrument.String
		var err error
		if r.Reasons, err = unfind(reasons); err != nil {
			return r, fmt.Errorf("%s: %s: %w", d.path, r.File, err)
		}
		return r, nil
	}, more...)
}

// Unreadable yields what could not be read, by the time at which the files were written.
func (d *DB) Unreadable(ctx context.Context, q Query) iter.Seq2[Unreadable, error] {
	const text = `SELECT u.time, f.name, u.row, u.text_line, u.reason, u.received, u.count, EXISTS (SELECT 1 FROM file g
			WHERE g.line = f.line AND g.name = f.name AND g.version > f.version
			AND NOT EXISTS (SELECT 1 FROM unreadable v WHERE v.line = g.line AND v.time = g.modified AND v.file = g.id AND v.row = 0))
		FROM unreadable u JOIN file f ON f.id = u.file
		WHERE u.line = (SELECT id FROM line WHERE name = ?) AND u.time >= ? AND u.time < ? ORDER BY u.time, f.name, u.row, u.text_line`
	return query(ctx, d, text, q, func(rows *sql.Rows) (Unreadable, error) {
		u := Unreadable{Line: q.Line}
		var at, received int64
		err := rows.Scan(&at, &u.File, &u.Row, &u.TextLine, &u.Reason, &received, &u.Count, &u.Mended)
		u.Time, u.Received = fromNanos(at), fromNanos(received)
		return u, err
	})
}

// Copies yields what was left out because it had been judged before, by the time at which the files were written.
func (d *DB) Copies(ctx context.Context, q Query) iter.Seq2[Copy, error] {
	const text = `SELECT c.time, f.name, c.of, c.rows, c.received FROM copy c JOIN file f ON f.id = c.file
		WHERE c.line = (SELECT id FROM line WHERE name = ?) AND c.time >= ? AND c.time < ? ORDER BY c.time, f.name`
	return query(ctx, d, text, q, func(rows *sql.Rows) (Copy, error) {
		c := Copy{Line: q.Line}
		var at, received int64
		err := rows.Scan(&at, &c.File, &c.Of, &c.Rows, &received)
		c.Time, c.Received = fromNanos(at), fromNanos(received)
		return c, err
	})
}

// References yields the references in use during the period: those that came into use in it, and the one before.
func (d *DB) References(ctx context.Context, q Query) iter.Seq2[Reference, error] {
	const text = `SELECT since, fingerprint, name FROM reference WHERE line = (SELECT id FROM line WHERE name = ?1)
		AND since >= coalesce((SELECT max(since) FROM reference WHERE line = (SELECT id FROM line WHERE name = ?1) AND since <= ?2), ?2)
		AND since < ?3 ORDER BY since`
	return query(ctx, d, text, q, func(rows *sql.Rows) (Reference, error) {
		r := Reference{Line: q.Line}
		var since int64
		err := rows.Scan(&since, &r.Fingerprint, &r.Name)
		r.Since = fromNanos(since)
		return r, err
	})
}

// Lines returns the names of the lines that the history has, sorted.
func (d *DB) Lines(ctx context.Context) ([]string, error) {
	var names []string
	rows, err := d.pool.QueryContext(ctx, "SELECT name FROM line ORDER BY name")
	if err != nil {
		return nil, explain(d.path, err)
	}
	defer rows.Close()
	for rows.Next() {
		var name string
		if err := rows.Scan(&name); err != nil {
			return nil, explain(d.path, err)
		}
		names = append(names, name)
	}
	return names, explain(d.path, rows.Err())
}

// Span returns the times of the line's first and last record; ok is false where there is none.
func (d *DB) Span(ctx context.Context, line string) (first, last time.Time, ok bool, err error) {
	var from, to sql.NullInt64
	// Two subqueries, for a minimum and a maximum in one would read the whole line.
	err = d.pool.QueryRowContext(ctx, `SELECT (SELECT min(time) FROM record WHERE line = l.id), (SELECT max(time) FROM record WHERE line = l.id)
		FROM line l WHERE l.name = ?`, line).Scan(&from, &to)
	if errors.Is(err, sql.ErrNoRows) || err == nil && !from.Valid {
		return first, last, false, nil
	}
	if err != nil {
		return first, last, false, explain(d.path, err)
	}
	return fromNanos(from.Int64), fromNanos(to.Int64), true, nil
}

// Came returns the times of the first and the last of what came of the line: spectra with a record, and what could not be read; ok is false
// where nothing did.
func (d *DB) Came(ctx context.Context, line string) (first, last time.Time, ok bool, err error) {
	first, last, ok, err = d.Span(ctx, line)
	if err != nil {
		return first, last, ok, err
	}
	var from, to sql.NullInt64
	err = d.pool.QueryRowContext(ctx, `SELECT (SELECT min(time) FROM unreadable WHERE line = l.id), (SELECT max(time) FROM unreadable WHERE line = l.id)
		FROM line l WHERE l.name = ?`, line).Scan(&from, &to)
	if errors.Is(err, sql.ErrNoRows) || err == nil && !from.Valid {
		return first, last, ok, nil
	}
	if err != nil {
		return first, last, false, explain(d.path, err)
	}
	if at := fromNanos(from.Int64); !ok || at.Before(first) {
		first = at
	}
	if at := fromNanos(to.Int64); !ok || at.After(last) {
		last = at
	}
	return first, last, true, nil
}
