package history

import (
	"context"
	"database/sql"
	"encoding/binary"
	"fmt"
	"iter"
	"math"
)

// Glances yields the records of the period in order of time, but of each only what pictures of weeks need: Time, Condition, Q,
// Distance, Inside, Late, Scores, Reference, and the Reasons of those that are not inside. Scores are valid until the next record.
func (d *DB) Glances(ctx context.Context, q Query) iter.Seq2[Record, error] {
	// Names are looked up here, once each: joined, they would cost more than all the rest.
	const text = `SELECT r.time, r.condition, r.q, r.distance, r.inside, r.late, r.scores, r.reasons, r.reference FROM record r
		WHERE r.line = (SELECT id FROM line WHERE name = ?) AND r.time >= ? AND r.time < ? ORDER BY r.time, r.file, r.row`
	var at, condition, inside, late, reference int64
	var qr, distance sql.NullFloat64
	var scores, reasons sql.RawBytes
	into := []any{&at, &condition, &qr, &distance, &inside, &late, &scores, &reasons, &reference}
	words := map[int64]string{}
	var values []float64
	return query(ctx, d, text, q, func(rows *sql.Rows) (r Record, err error) {
		if err := rows.Scan(into...); err != nil {
			return r, err
		}
		r = Record{Line: q.Line, Time: fromNanos(at), Q: qr.Float64, Distance: distance.Float64, Inside: inside != 0, Late: late != 0}
		values = values[:0]
		for ; len(scores) >= 8; scores = scores[8:] {
			values = append(values, math.Float64frombits(binary.LittleEndian.Uint64(scores)))
		}
		r.Scores = values
		if r.Condition, err = d.word(ctx, words, condition); err != nil {
			return r, err
		}
		if r.Reference, err = d.word(ctx, words, reference); err != nil || r.Inside {
			return r, err
		}
		if r.Reasons, err = unfind(reasons); err != nil {
			return r, fmt.Errorf("%s: the record of %s: %w", d.path, r.Time, err)
		}
		return r, nil
	})
}

// word returns the text that a number stands for, and remembers it in known.
func (d *DB) word(ctx context.Context, known map[int64]string, id int64) (string, error) {
	text, ok := known[id]
	if ok {
		return text, nil
	}
	if err := d.pool.QueryRowContext(ctx, "SELECT text FROM word WHERE id = ?", id).Scan(&text); err != nil {
		return "", err
	}
	known[id] = text
	return text, nil
}
