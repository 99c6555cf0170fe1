package history

import (
	"context"
	"database/sql"
	"time"
)

// Counts says how complete a period is.
type Counts struct {
	Received   int // judged, unreadable and copies
	Judged     int // spectra with a record, also those that were not fit
	Inside     int
	Unfit      int
	Late       int
	Unreadable int            // rows, and files that could not be read at all
	Own        int            // of the instrument's own, which are not among the received
	Copies     int            // spectra left out because they had been judged before
	Conditions map[string]int // records by condition
	Gaps       []Gap
}

// A Gap is a time without spectra, between two that are there.
type Gap struct{ From, To time.Time }

// Counts counts the period. Times between two neighbouring records longer than gap are gaps; a gap of 0 looks for none.
func (d *DB) Counts(ctx context.Context, q Query, gap time.Duration) (Counts, error) {
	c := Counts{Conditions: map[string]int{}}
	from, to := q.bounds()
	if err := d.countRecords(ctx, q, &c); err != nil {
		return Counts{}, explain(d.path, err)
	}
	err := d.pool.QueryRowContext(ctx, `SELECT
		(SELECT coalesce(sum(count), 0) FROM unreadable WHERE line = l.id AND time >= ?2 AND time < ?3),
		(SELECT coalesce(sum(rows), 0) FROM copy WHERE line = l.id AND time >= ?2 AND time < ?3),
		(SELECT count(*) FROM own WHERE line = l.id AND time >= ?2 AND time < ?3) FROM line l WHERE l.name = ?1`,
		q.Line, from, to).Scan(&c.Unreadable, &c.Copies, &c.Own)
	if err != nil && err != sql.ErrNoRows {
		return Counts{}, explain(d.path, err)
	}
	c.Received = c.Judged + c.Unreadable + c.Copies
	if gap > 0 {
		if c.Gaps, err = d.gaps(ctx, q, gap); err != nil {
			return Counts{}, err
		}
	}
	return c, nil
}

func (d *DB) countRecords(ctx context.Context, q Query, c *Counts) error {
	from, to := q.bounds()
	rows, err := d.pool.QueryContext(ctx, `SELECT w.text, c.n, c.inside, c.late FROM (
			SELECT condition, count(*) AS n, sum(inside) AS inside, sum(late) AS late FROM record
			WHERE line = (SELECT id FROM line WHERE name = ?) AND time >= ? AND time < ? GROUP BY condition) AS c JOIN word w ON w.id = c.condition`,
		q.Line, from, to)
	if err != nil {
		return err
	}
	defer rows.Close()
	for rows.Next() {
		var condition string
		var n, inside, late int
		if err := rows.Scan(&condition, &n, &inside, &late); err != nil {
			return err
		}
		c.Conditions[condition] = n
		c.Judged += n
		c.Inside += inside
		c.Late += late
	}
	c.Unfit = c.Conditions["unfit"]
	return rows.Err()
}

func (d *DB) gaps(ctx context.Context, q Query, gap time.Duration) ([]Gap, error) {
	const text = `SELECT before, time FROM (SELECT time, lag(time) OVER (ORDER BY time) AS before FROM record
		WHERE line = (SELECT id FROM line WHERE name = ?) AND time >= ? AND time < ?) AS pair WHERE time - before > ? ORDER BY time`
	var gaps []Gap
	for g, err := range query(ctx, d, text, q, func(rows *sql.Rows) (Gap, error) {
		var from, to int64
		err := rows.Scan(&from, &to)
		return Gap{fromNanos(from), fromNanos(to)}, err
	}, int64(gap)) {
		if err != nil {
			return nil, err
		}
		gaps = append(gaps, g)
	}
	return gaps, nil
}
