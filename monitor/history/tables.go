package history

import (
	"context"
	"database/sql"
	"math"
	"slices"
)

// A TableHead is how a table begins: the marks of its first rows, by their numbers.
type TableHead struct {
	Name  string
	Marks map[int]int64
}

// NewestTables returns the beginnings of the newest n tables of the line, up to so many rows of each; the newest last.
func (d *DB) NewestTables(ctx context.Context, line string, n, rows int) (all []TableHead, err error) {
	for file := int64(math.MaxInt64); len(all) < n; {
		// The sign keeps the index of times out of it, which would go through all spectra of the line.
		var before sql.NullInt64
		err := d.pool.QueryRowContext(ctx, `SELECT max(file) FROM (
				SELECT max(r.file) AS file FROM record r WHERE r.row > 0 AND r.file < ?1 AND +r.line = (SELECT id FROM line WHERE name = ?2)
				UNION ALL
				SELECT max(o.file) AS file FROM own o WHERE o.row > 0 AND o.file < ?1 AND +o.line = (SELECT id FROM line WHERE name = ?2)
			) AS newest`, file, line).Scan(&before)
		if err != nil {
			return nil, explain(d.path, err)
		}
		if !before.Valid {
			break
		}
		file = before.Int64
		t, err := d.tableHead(ctx, file, rows)
		if err != nil {
			return nil, explain(d.path, err)
		}
		if len(t.Marks) > 0 { // or it was pruned
			all = append(all, t)
		}
	}
	slices.Reverse(all)
	return all, nil
}

func (d *DB) tableHead(ctx context.Context, file int64, most int) (t TableHead, err error) {
	rows, err := d.pool.QueryContext(ctx, `SELECT f.name, r.row, r.mark FROM record r JOIN file f ON f.id = r.file WHERE r.file = ?1 AND r.row > 0 AND r.row <= ?2
		UNION ALL SELECT f.name, o.row, o.mark FROM own o JOIN file f ON f.id = o.file WHERE o.file = ?1 AND o.row > 0 AND o.row <= ?2`, file, most)
	if err != nil {
		return t, err
	}
	defer rows.Close()
	t.Marks = map[int]int64{}
	for rows.Next() {
		var row int
		var mark int64
		if err := rows.Scan(&t.Name, &row, &mark); err != nil {
			return t, err
		}
		t.Marks[row] = mark
	}
	return t, rows.Err()
}
