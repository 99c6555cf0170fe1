package history

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"iter"
)

// Episodes yields the episodes that touch the period, in order of their beginning.
func (d *DB) Episodes(ctx context.Context, q Query) iter.Seq2[Episode, error] {
	const text = `SELECT e.start, e.stop, e.changed_since, e.spectra, e.peak, e.grp, e.instrument, e.reasons, w.text
		FROM episode e JOIN word w ON w.id = e.reference
		WHERE e.line = (SELECT id FROM line WHERE name = ?1) AND (e.stop IS NULL OR e.stop >= ?2) AND e.start < ?3 ORDER BY e.start`
	return query(ctx, d, text, q, func(rows *sql.Rows) (Episode, error) {
		e := Episode{Line: q.Line}
		var start, since int64
		var stop sql.NullInt64
		var reasons sql.RawBytes
		if err := rows.Scan(&start, &stop, &since, &e.Spectra, &e.Peak, &e.Group, &e.Instrument, &reasons, &e.Reference); err != nil {
			return e, err
		}
		e.From, e.ChangedSince = fromNanos(start), fromNanos(since)
		if stop.Valid {
			e.To = fromNanos(stop.Int64)
		}
		var err error
		if e.Reasons, err = unfind(reasons); err != nil {
			return e, fmt.Errorf("%s: episode of %s: %w", d.path, e.From, err)
		}
		return e, nil
	})
}

// Acts yields what became of the line's alarm in the period, also what was refused, in the order in which it was done.
func (d *DB) Acts(ctx context.Context, q Query) iter.Seq2[Act, error] {
	return d.acts(ctx, q, "")
}

// Answer returns the act that a request led to; ok is false where there is none yet.
func (d *DB) Answer(ctx context.Context, line, request string) (a Act, ok bool, err error) {
	for a, err := range d.acts(ctx, Query{Line: line}, "AND request = ?", request) {
		return a, err == nil, err
	}
	return Act{}, false, nil
}

func (d *DB) acts(ctx context.Context, q Query, and string, more ...any) iter.Seq2[Act, error] {
	text := `SELECT time, act, who, why, until, state, episode, refused, request FROM act
		WHERE line = (SELECT id FROM line WHERE name = ?) AND time >= ? AND time < ? ` + and + ` ORDER BY id`
	return query(ctx, d, text, q, func(rows *sql.Rows) (Act, error) {
		a := Act{Line: q.Line}
		var at int64
		var until, episode sql.NullInt64
		err := rows.Scan(&at, &a.Act, &a.Who, &a.Why, &until, &a.State, &episode, &a.Refused, &a.Request)
		a.Time = fromNanos(at)
		if until.Valid {
			a.Until = fromNanos(until.Int64)
		}
		if episode.Valid {
			a.Episode = fromNanos(episode.Int64)
		}
		return a, err
	}, more...)
}

// Alarm returns the line's alarm as its owner wrote it; nil where there was none yet.
func (d *DB) Alarm(ctx context.Context, line string) ([]byte, error) {
	var text []byte
	err := d.pool.QueryRowContext(ctx, "SELECT a.alarm FROM alarm a JOIN line l ON l.id = a.line WHERE l.name = ?", line).Scan(&text)
	if errors.Is(err, sql.ErrNoRows) {
		return nil, nil
	}
	return text, explain(d.path, err)
}

// State returns where the course of the line stands; its zero value where nothing was judged yet.
func (d *DB) State(ctx context.Context, line string) (State, error) {
	s, err := stateOf(ctx, d.pool, line)
	if err != nil && errors.Is(err, ErrDamaged) {
		return State{}, fmt.Errorf("%s: %w", d.path, err)
	}
	return s, explain(d.path, err)
}

// An asked is what can be asked: all connections, one of them, or a transaction.
type asked interface {
	QueryRowContext(ctx context.Context, text string, args ...any) *sql.Row
}

func stateOf(ctx context.Context, from asked, line string) (State, error) {
	var s State
	var newest sql.NullInt64
	var course, groups, past []byte
	err := from.QueryRowContext(ctx, `SELECT s.course, s.places, s.past, w.text, s.basis, s.newest FROM state s JOIN line l ON l.id = s.line
		JOIN word w ON w.id = s.reference WHERE l.name = ?`, line).Scan(&course, &groups, &past, &s.Reference, &s.Basis, &newest)
	if errors.Is(err, sql.ErrNoRows) {
		return State{}, nil
	}
	if err != nil {
		return State{}, err
	}
	if s.Course, err = inflate(course); err != nil {
		return State{}, err
	}
	if s.Groups, err = inflate(groups); err != nil {
		return State{}, err
	}
	if s.Past, err = inflate(past); err != nil {
		return State{}, err
	}
	if newest.Valid {
		s.Newest = fromNanos(newest.Int64)
	}
	return s, nil
}
