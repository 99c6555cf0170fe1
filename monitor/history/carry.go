package history

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"

	"github.com/jackc/pgx/v5"
)

// All that a history has of a line goes from a file to a server, or back, table by table: the schema of the file says which tables
// have a line, and which of their columns stand for a word, a file or an axis, whose numbers differ on the other side.

// A carriedTable is one that is carried.
type carriedTable struct {
	name    string
	columns []string
	refers  []string // to which table the number in a column refers; "" for a value
	order   string
}

// carriedTables returns the tables with a line, files first.
func carriedTables(ctx context.Context, c *sql.Conn) (all []carriedTable, err error) {
	names, err := textsOf(ctx, c, `SELECT m.name FROM sqlite_schema m JOIN pragma_table_info(m.name) i ON i.name = 'line'
		WHERE m.type = 'table' ORDER BY m.name <> 'file', m.name`)
	if err != nil {
		return nil, err
	}
	for _, name := range names {
		if slices.Contains(fileOnly, name) {
			continue
		}
		t := carriedTable{name: name}
		if t.columns, err = textsOf(ctx, c, "SELECT name FROM pragma_table_info(?) ORDER BY cid", name); err != nil {
			return nil, err
		}
		if i := slices.Index(t.columns, "id"); i >= 0 && name != "file" { // it is only the order in which they were kept
			t.columns, t.order = slices.Delete(t.columns, i, i+1), " ORDER BY id"
		}
		t.refers = make([]string, len(t.columns))
		for i, column := range t.columns {
			to, err := textsOf(ctx, c, `SELECT "table" FROM pragma_foreign_key_list(?) WHERE "from" = ?`, name, column)
			if err != nil {
				return nil, err
			}
			if len(to) > 0 {
				t.refers[i] = to[0]
			}
			if name == "file" && column == "id" {
				t.refers[i] = "file"
			}
		}
		all = append(all, t)
	}
	return all, nil
}

func textsOf(ctx context.Context, c *sql.Conn, text string, args ...any) (all []string, err error) {
	rows, err := c.QueryContext(ctx, text, args...)
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	for rows.Next() {
		var s string
		if err := rows.Scan(&s); err != nil {
			return nil, err
		}
		all = append(all, s)
	}
	return all, rows.Err()
}

// A carrier brings the rows of a line from one side to the other.
type carrier struct {
	ctx          context.Context
	from         *sql.Conn
	w            *writer // of the other side
	words, axes  map[int64]int64
	line, toLine int64
	shift        int64 // to be added to the number of a file
}

// learn gives the words and axes of the one side their numbers on the other.
func (c *carrier) learn() error {
	c.words, c.axes = map[int64]int64{}, map[int64]int64{}
	for _, kind := range []struct {
		text string
		into map[int64]int64
		id   func(first, second string) (int64, error)
	}{
		{"SELECT id, text, '' FROM word", c.words, func(text, _ string) (int64, error) { return c.w.wordID(text) }},
		{"SELECT id, fingerprint, axis FROM axis", c.axes, c.w.axisText},
	} {
		rows, err := c.from.QueryContext(c.ctx, kind.text)
		if err != nil {
			return err
		}
		defer rows.Close()
		for rows.Next() {
			var id int64
			var first, second string
			if err := rows.Scan(&id, &first, &second); err != nil {
				return err
			}
			if kind.into[id], err = kind.id(first, second); err != nil {
				return err
			}
		}
		if err := rows.Err(); err != nil {
			return err
		}
	}
	return nil
}

// rows returns what yields the rows of a table as they are on the other side; nil after the last.
func (c *carrier) rows(t carriedTable) (next func(args []any) ([]any, error), end func() error, err error) {
	rows, err := c.from.QueryContext(c.ctx, fmt.Sprintf("SELECT %s FROM %s WHERE line = ?%s", strings.Join(t.columns, ", "), t.name, t.order), c.line)
	if err != nil {
		return nil, nil, err
	}
	return func(args []any) ([]any, error) {
		if !rows.Next() {
			return nil, rows.Err()
		}
		row := make([]any, len(t.columns))
		into := make([]any, len(row))
		for i := range row {
			into[i] = &row[i]
		}
		if err := rows.Scan(into...); err != nil {
			return nil, err
		}
		for i, to := range t.refers {
			n, ok := row[i].(int64)
			if !ok {
				continue
			}
			switch to {
			case "line":
				row[i] = c.toLine
			case "file":
				row[i] = n + c.shift
			case "word":
				row[i] = c.words[n]
			case "axis":
				row[i] = c.axes[n]
			}
		}
		return append(args, row...), nil
	}, rows.Close, nil
}

// carry brings all tables over.
func (c *carrier) carry(tables []carriedTable) error {
	if err := c.learn(); err != nil {
		return err
	}
	for _, t := range tables {
		next, end, err := c.rows(t)
		if err != nil {
			return err
		}
		if c.w.db.server != nil {
			err = c.w.stream(t, next)
		} else {
			err = c.w.insert(fmt.Sprintf("INSERT INTO %s (%s)", t.name, strings.Join(t.columns, ", ")), "", len(t.columns), next)
		}
		if err = errors.Join(err, end()); err != nil {
			return fmt.Errorf("%s: %w", t.name, err)
		}
	}
	return nil
}

// stream brings rows to a server one after another, however many there are.
func (w *writer) stream(t carriedTable, next func([]any) ([]any, error)) error {
	return w.db.conn.Raw(func(raw any) error {
		_, err := raw.(*serverConn).Conn.Conn().CopyFrom(w.ctx, pgx.Identifier{t.name}, t.columns, pgx.CopyFromFunc(func() ([]any, error) {
			row, err := next(nil)
			for i := range row {
				row[i] = serverValue(row[i])
			}
			return row, err
		}))
		return err
	})
}

// snapshot reads what a file holds at one moment.
func (d *DB) snapshot(ctx context.Context, read func(c *sql.Conn) error) (err error) {
	c, err := d.pool.Conn(ctx)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, c.Close()) }()
	if _, err := c.ExecContext(ctx, "BEGIN"); err != nil {
		return err
	}
	err = read(c)
	_, end := c.ExecContext(context.WithoutCancel(ctx), "ROLLBACK") // nothing was written
	return errors.Join(err, end)
}

// seed brings all that the file has of the line to the server, in one transaction there, and notes that the line stands there as the
// file did at that moment.
func (f *Far) seed(ctx context.Context, line string) error {
	var m mark
	err := f.near.snapshot(ctx, func(c *sql.Conn) error {
		tables, err := carriedTables(ctx, c)
		if err != nil {
			return err
		}
		var at int64 // of the newest parcel
		if err := c.QueryRowContext(ctx, `SELECT max(coalesce(max(o.seq), 0), coalesce((SELECT seq FROM carried WHERE line = l.id), 0)), coalesce(max(o.at), 0)
			FROM (SELECT (SELECT id FROM line WHERE name = ?) AS id) AS l LEFT JOIN outbox o ON o.line = l.id`, line).Scan(&m.seq, &at); err != nil {
			return err
		}
		var here sql.NullInt64
		if err := c.QueryRowContext(ctx, "SELECT id FROM line WHERE name = ?", line).Scan(&here); err != nil && !errors.Is(err, sql.ErrNoRows) {
			return err
		}
		f.far.mu.Lock()
		defer f.far.mu.Unlock()
		return f.far.onLine(ctx, line, func(id int64) error {
			w := &writer{db: f.far, ctx: ctx, batch: &Batch{Line: line}, line: id}
			move := &carrier{ctx: ctx, from: c, w: w, line: here.Int64, toLine: id, shift: id << fileShift}
			return w.transact(func() error {
				if err := move.carry(tables); err != nil {
					return err
				}
				return f.standAt(ctx, id, m.seq, at)
			})
		})
	})
	if err != nil {
		return fmt.Errorf("bringing line %q to %s: %w", line, f.far.path, err)
	}
	return f.near.mark(ctx, line, m)
}

// standAt notes at the server that it has all of the line up to a parcel of the file, which was kept then.
func (f *Far) standAt(ctx context.Context, id, seq, at int64) error {
	_, err := f.far.conn.ExecContext(ctx, `INSERT INTO delivery (line, store, seq, at) VALUES (?,?,?,?)
		ON CONFLICT (line) DO UPDATE SET store = excluded.store, seq = excluded.seq, at = excluded.at`, id, f.near.store, seq, max(time.Now().UnixNano(), at))
	return err
}

// fetch makes what the file has of the line what the server has of it, so that this computer goes on with it. The file's next parcel
// has a number after the given one, also where it does not know that such parcels were given before.
func (f *Far) fetch(ctx context.Context, line string, after int64) error {
	f.far.mu.Lock()
	defer f.far.mu.Unlock()
	f.near.mu.Lock()
	var m mark
	err := f.near.transactOn(ctx, line, func(w *writer) error {
		tables, err := carriedTables(ctx, f.near.conn)
		if err != nil {
			return err
		}
		for _, t := range tables {
			if err := w.exec(fmt.Sprintf("DELETE FROM %s WHERE line = ?", t.name), w.line); err != nil {
				return err
			}
		}
		seq, err := w.numbersAfter(after)
		if err != nil {
			return err
		}
		id, err := f.far.holding(ctx, line)
		if err != nil {
			return err
		}
		m = mark{seq: seq, dropped: seq, less: f.near.nextFile - 1}
		move := &carrier{ctx: ctx, from: f.far.conn, w: w, line: id, toLine: w.line, shift: m.less - id<<fileShift}
		if err := move.carry(tables); err != nil {
			return err
		}
		if err := w.exec("DELETE FROM outbox WHERE line = ?", w.line); err != nil {
			return err
		}
		return w.exec(`INSERT INTO carried (line, seq, dropped, less) VALUES (?,?,?,?) ON CONFLICT (line) DO UPDATE SET seq = excluded.seq,
			dropped = excluded.dropped, less = excluded.less`, w.line, m.seq, m.dropped, m.less)
	})
	if err == nil {
		err = f.near.conn.QueryRowContext(ctx, "SELECT coalesce(max(id), 0) + 1 FROM file").Scan(&f.near.nextFile)
	}
	f.near.mu.Unlock()
	if err == nil {
		err = f.far.onLine(ctx, line, func(id int64) error { return f.standAt(ctx, id, m.seq, 0) })
	}
	if err != nil {
		return fmt.Errorf("taking line %q from %s: %w", line, f.far.path, err)
	}
	return nil
}

// numbersAfter has the next parcel get a number after the given one, and after all that were given, also to parcels that are gone. It
// returns the last that is not to be given.
func (w *writer) numbersAfter(after int64) (seq int64, err error) {
	s, err := w.stmt("SELECT max(?, (SELECT coalesce(max(seq), 0) FROM outbox), coalesce((SELECT seq FROM sqlite_sequence WHERE name = 'outbox'), 0))")
	if err != nil {
		return 0, err
	}
	if err := s.QueryRowContext(w.ctx, after).Scan(&seq); err != nil {
		return 0, err
	}
	if err := w.exec("DELETE FROM sqlite_sequence WHERE name = 'outbox'"); err != nil {
		return 0, err
	}
	return seq, w.exec("INSERT INTO sqlite_sequence (name, seq) VALUES ('outbox', ?)", seq)
}

// transactOn does something with a line of a file, whole or not at all.
func (d *DB) transactOn(ctx context.Context, line string, do func(w *writer) error) error {
	w := &writer{db: d, ctx: ctx, batch: &Batch{Line: line}}
	return w.transact(func() (err error) {
		if w.line, err = w.lineID(line); err != nil {
			return err
		}
		return do(w)
	})
}
