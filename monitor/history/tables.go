package history

import (
	"context"
	"database/sql"
	"math"
	"slices"
	"strings"
)

// version8: where rows of a file had been judged before is asked of the file.
const version8 = `CREATE INDEX copy_file ON copy (file);`

// A TableHead is how a version of a table begins: the marks of those of its first rows that were judged in it, by their numbers.
type TableHead struct {
	Name  string
	Marks map[int]int64
	Of    []string // the names of those in which other rows of it had been judged before
}

// NewestTables returns the beginnings of the newest n versions of tables of the line, up to so many rows of each; the newest last.
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
		all = append(all, t)
	}
	slices.Reverse(all)
	return all, nil
}

func (d *DB) tableHead(ctx context.Context, file int64, most int) (t TableHead, err error) {
	if err := d.pool.QueryRowContext(ctx, "SELECT name FROM file WHERE id = ?", file).Scan(&t.Name); err != nil {
		return t, err
	}
	links, err := d.links(ctx, "c.file = ?", file)
	if err != nil {
		return t, err
	}
	for _, l := range links {
		t.Of = append(t.Of, l.of)
	}
	rows, err := d.pool.QueryContext(ctx, `SELECT r.row, r.mark FROM record r WHERE r.file = ?1 AND r.row > 0 AND r.row <= ?2
		UNION ALL SELECT o.row, o.mark FROM own o WHERE o.file = ?1 AND o.row > 0 AND o.row <= ?2`, file, most)
	if err != nil {
		return t, err
	}
	defer rows.Close()
	t.Marks = map[int]int64{}
	for rows.Next() {
		var row int
		var mark int64
		if err := rows.Scan(&row, &mark); err != nil {
			return t, err
		}
		t.Marks[row] = mark
	}
	return t, rows.Err()
}

// A TableRows is how often each mark stands in the rows that were judged under the name of a table.
type TableRows struct {
	Name  string
	Marks map[int64]int
}

// RowsMost is how many rows of a table are asked for that has more. In memory they take 40 bytes each.
const RowsMost = 1 << 19

const (
	tablesMost   = 64      // names that are followed
	versionsMost = 1 << 16 // versions of a name
	versionsPage = 64      // that one statement asks for, at most
)

// RowsOf returns the rows that were judged in tables of these names, under each name in which history says that rows of them had been
// judged before, and so on: all that was judged of what a table that is one of these may hold. Of a name in which rows had been judged
// before, these are the versions of then. A table of size rows has them from the newest versions that can make up as many, which are
// looked at several times over, each whole: so a name that was written to a million times costs no more than the table itself.
func (d *DB) RowsOf(ctx context.Context, line string, names []string, size int) ([]TableRows, error) {
	g := gathering{d: d, line: line, size: size, done: map[int64]bool{}}
	for _, name := range names {
		g.todo = append(g.todo, link{of: name, file: math.MaxInt64, received: math.MaxInt64})
	}
	for i := 0; i < len(g.todo) && i < tablesMost; i++ {
		if err := g.name(ctx, g.todo[i]); err != nil {
			return nil, explain(d.path, err)
		}
	}
	return g.found, nil
}

// A link says that rows of a version of a file had been judged before, in a file of that name, by the time it was received.
type link struct {
	of             string
	file, received int64
}

func (d *DB) links(ctx context.Context, where string, args ...any) (all []link, err error) {
	rows, err := d.pool.QueryContext(ctx, "SELECT c.of, c.file, max(c.received) FROM copy c WHERE "+where+" GROUP BY c.of, c.file ORDER BY c.file DESC", args...)
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	for rows.Next() {
		var l link
		if err := rows.Scan(&l.of, &l.file, &l.received); err != nil {
			return nil, err
		}
		all = append(all, l)
	}
	return all, rows.Err()
}

// A gathering of rows goes from name to name.
type gathering struct {
	d     *DB
	line  string
	size  int
	todo  []link // names to look at, and how far back
	done  map[int64]bool
	found []TableRows
}

// name adds the rows of the versions of a name that were there when the link to it was made.
func (g *gathering) name(ctx context.Context, l link) error {
	versions, err := g.versions(ctx, l)
	if err != nil {
		return err
	}
	i := slices.IndexFunc(g.found, func(t TableRows) bool { return t.Name == l.of })
	if i < 0 {
		i = len(g.found)
		g.found = append(g.found, TableRows{l.of, map[int64]int{}})
	}
	rows, page := 0, versionsPage/8
	for len(versions) > 0 && rows < min(4*g.size+4096, RowsMost) {
		n := min(page, len(versions))
		more, err := g.rows(ctx, versions[:n], g.found[i].Marks)
		if err != nil {
			return err
		}
		links, err := g.d.links(ctx, "c.file IN (?"+strings.Repeat(",?", n-1)+")", versions[:n]...)
		if err != nil {
			return err
		}
		for _, m := range links {
			known := func(o link) bool { return o.of == m.of && o.file >= m.file && o.received >= m.received }
			if !slices.ContainsFunc(g.todo, known) && len(g.todo) < tablesMost {
				g.todo = append(g.todo, m)
			}
		}
		rows += more
		versions = versions[n:]
		page = min(2*page, versionsPage)
	}
	return nil
}

// versions returns those of a name in which rows were judged, the newest first. A table of so many rows that is saved anew with each of
// them has as many, and they are twice as many where another one stands between each two.
func (g *gathering) versions(ctx context.Context, l link) (ids []any, err error) {
	rows, err := g.d.pool.QueryContext(ctx, `SELECT f.id FROM file f WHERE f.line = (SELECT id FROM line WHERE name = ?) AND f.name = ?
		AND f.rows > 0 AND (f.id < ? OR f.received <= ?) ORDER BY f.version DESC LIMIT ?`, g.line, l.of, l.file, l.received, min(2*g.size+64, versionsMost))
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	for rows.Next() {
		var id int64
		if err := rows.Scan(&id); err != nil {
			return nil, err
		}
		if !g.done[id] {
			g.done[id] = true
			ids = append(ids, id)
		}
	}
	return ids, rows.Err()
}

// rows adds the rows of versions to marks, and returns how many these are. The mean of an item and its first spectrum are one row.
func (g *gathering) rows(ctx context.Context, versions []any, marks map[int64]int) (n int, err error) {
	in := "(?" + strings.Repeat(",?", len(versions)-1) + ")"
	rows, err := g.d.pool.QueryContext(ctx, `SELECT r.mark, r.file, r.row FROM record r WHERE r.file IN `+in+` AND r.row > 0
		UNION SELECT o.mark, o.file, o.row FROM own o WHERE o.file IN `+in+` AND o.row > 0`, append(slices.Clone(versions), versions...)...)
	if err != nil {
		return 0, err
	}
	defer rows.Close()
	for rows.Next() {
		var mark, file int64
		var row int
		if err := rows.Scan(&mark, &file, &row); err != nil {
			return n, err
		}
		marks[mark]++
		n++
	}
	return n, rows.Err()
}
