package history

import (
	"context"
	"database/sql"
	"time"
)

// The roles of an Own besides those of the instrument's checks: spectra that were taken while single items are gathered. What was
// judged is the item, which has a Record of its own.
const (
	OfItem     = "item"         // one of the spectra of an item
	LateOfItem = "late of item" // it is of an item that was closed before it came
	EmptyBelt  = "empty belt"   // it shows no item
)

// Gathered returns the roles of spectra that were taken while single items are gathered: all that are not of a check.
func Gathered() []string { return []string{OfItem, LateOfItem, EmptyBelt} }

// Roles counts the spectra of the period that were not judged themselves, by what they are.
func (d *DB) Roles(ctx context.Context, q Query) (map[string]int, error) {
	const text = `SELECT w.text, o.n FROM (
			SELECT role, count(*) AS n FROM own WHERE line = (SELECT id FROM line WHERE name = ?) AND time >= ? AND time < ? GROUP BY role
		) AS o JOIN word w ON w.id = o.role`
	type count struct {
		role string
		n    int
	}
	all := map[string]int{}
	for c, err := range query(ctx, d, text, q, func(rows *sql.Rows) (c count, err error) {
		err = rows.Scan(&c.role, &c.n)
		return c, err
	}) {
		if err != nil {
			return nil, err
		}
		all[c.role] = c.n
	}
	return all, nil
}

// StateSince returns when the first record of the line came from which on the instrument stood so until the time at, looking no further
// back than from: the first of all there are then, where none says otherwise. It is zero where there is none.
func (d *DB) StateSince(ctx context.Context, line, state string, from, at time.Time) (time.Time, error) {
	const text = `SELECT r.time, coalesce(i.text, '') FROM record r LEFT JOIN word i ON i.id = r.instrument
		WHERE r.line = (SELECT id FROM line WHERE name = ?) AND r.time >= ? AND r.time < ? ORDER BY r.time DESC, r.file DESC, r.row DESC`
	type stood struct {
		at    time.Time
		state string
	}
	var since time.Time
	for r, err := range query(ctx, d, text, Query{Line: line, From: from, To: at.Add(1)}, func(rows *sql.Rows) (r stood, err error) {
		var n int64
		err = rows.Scan(&n, &r.state)
		r.at = fromNanos(n)
		return r, err
	}) {
		switch {
		case err != nil:
			return time.Time{}, err
		case r.state == state:
			since = r.at
		case r.state != "": // one that was not judged says nothing
			return since, nil
		}
	}
	return since, nil
}
