package history

import (
	"context"
	"database/sql"
)

// The roles of an Own besides those of the instrument's checks: spectra that were taken while single items are gathered. What was
// judged is the item, which has a Record of its own.
const (
	OfItem    = "item"       // one of the spectra of an item
	EmptyBelt = "empty belt" // it shows no item
)

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
