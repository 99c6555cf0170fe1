package history

import (
	"context"
	"database/sql"
	"fmt"
	"time"
)

// A Stand is how a line stands by what its history has.
type Stand struct {
	Line      string
	Course    []byte    // where its course stands; nil where nothing was judged yet
	Reference string    // by which it was judged
	Book      []byte    // of the checks of its instrument; nil where there were none
	Alarm     []byte    // nil where it never had one
	Last      Record    // of its last record that took part in the verdict the time, distance, condition and the state of the instrument, and nothing else
	Watcher   string    // who writes it now; "" for nobody
	Watched   time.Time // since when
	Unasked   bool      // who writes it is not known: a file cannot say
}

// Stands returns how all lines stand, by name. However many lines there are, a server is asked twice: each answer may take it long
// where it has much to do.
func (d *DB) Stands(ctx context.Context) (all []Stand, err error) {
	// Each value of the last record by a subquery of its own, for SQLite has no other way to take the last of each line by its key
	// alone; the page of the key is at hand after the first.
	// What lies after the newest that took part in the verdict bears a time that was taken back.
	const last = ` FROM record r WHERE r.line = l.id AND r.time <= COALESCE(s.newest, 9223372036854775807) ORDER BY r.time DESC, r.file DESC, r.row DESC LIMIT 1)`
	rows, err := d.pool.QueryContext(ctx, `SELECT l.name, s.course, w.text, a.alarm, b.book, (SELECT r.time`+last+`, (SELECT r.distance`+last+`,
			(SELECT text FROM word WHERE id = (SELECT r.condition`+last+`), (SELECT text FROM word WHERE id = (SELECT r.instrument`+last+`)
		FROM line l LEFT JOIN state s ON s.line = l.id LEFT JOIN word w ON w.id = s.reference LEFT JOIN alarm a ON a.line = l.id
		LEFT JOIN book b ON b.line = l.id ORDER BY l.name`)
	if err != nil {
		return nil, explain(d.path, err)
	}
	defer rows.Close()
	for rows.Next() {
		one := Stand{Unasked: d.server == nil}
		var course, checks []byte
		var at sql.NullInt64
		var distance sql.NullFloat64
		var reference, condition, instrument sql.NullString
		if err := rows.Scan(&one.Line, &course, &reference, &one.Alarm, &checks, &at, &distance, &condition, &instrument); err != nil {
			return nil, explain(d.path, err)
		}
		if one.Course, err = inflate(course); err != nil {
			return nil, fmt.Errorf("%s: the state of line %q: %w", d.path, one.Line, err)
		}
		if one.Book, err = inflate(checks); err != nil {
			return nil, fmt.Errorf("%s: the checks of line %q: %w", d.path, one.Line, err)
		}
		one.Reference, one.Last = reference.String, Record{Line: one.Line, Distance: distance.Float64, Condition: condition.String, Instrument: instrument.String}
		if at.Valid {
			one.Last.Time = fromNanos(at.Int64)
		}
		all = append(all, one)
	}
	if err := rows.Err(); err != nil || d.server == nil {
		return all, explain(d.path, err)
	}
	return all, explain(d.path, d.watchers(ctx, all))
}

// heldNow has the lines of a server that somebody writes now, and who.
const heldNow = `FROM watcher w JOIN line l ON l.id = w.line
	JOIN pg_locks k ON k.locktype = 'advisory' AND k.granted AND k.classid = 'line'::regclass::oid AND k.objid::bigint = l.id AND k.objsubid = 2
	AND k.database = (SELECT oid FROM pg_database WHERE datname = current_database())`

// watchers fills in who writes each line now.
func (d *DB) watchers(ctx context.Context, all []Stand) error {
	rows, err := d.pool.QueryContext(ctx, "SELECT l.name, w.name, w.since "+heldNow)
	if err != nil {
		return err
	}
	defer rows.Close()
	for rows.Next() {
		var line, name string
		var since int64
		if err := rows.Scan(&line, &name, &since); err != nil {
			return err
		}
		for i := range all {
			if all[i].Line == line {
				all[i].Watcher, all[i].Watched = name, fromNanos(since)
			}
		}
	}
	return rows.Err()
}
