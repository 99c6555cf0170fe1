package history

import (
	"context"
	"database/sql"
	"errors"
	"slices"
)

// SetBusy makes writes wait for another program's lock for so many milliseconds only.
func (d *DB) SetBusy(ctx context.Context, millis string) error {
	_, err := d.conn.ExecContext(ctx, "PRAGMA busy_timeout = "+millis)
	return err
}

// Synchronous returns SQLite's setting of the connection that writes.
func (d *DB) Synchronous(ctx context.Context) (mode int, err error) {
	d.mu.Lock()
	defer d.mu.Unlock()
	err = d.conn.QueryRowContext(ctx, "PRAGMA synchronous").Scan(&mode)
	return mode, err
}

// HoldSchema keeps other programs from bringing the schema of a server forward until release is called, and returns how long a session waits
// for a lock.
func HoldSchema(ctx context.Context, address string) (wait string, release func() error, err error) {
	d, err := openServer(address)
	if err != nil {
		return "", nil, err
	}
	c, err := d.pool.Conn(ctx)
	if err == nil {
		_, err = c.ExecContext(ctx, "SELECT pg_advisory_lock(?)", int64(applicationID))
	}
	if err == nil {
		err = c.QueryRowContext(ctx, "SHOW lock_timeout").Scan(&wait)
	}
	if err != nil {
		return "", nil, errors.Join(err, d.pool.Close())
	}
	return wait, func() error {
		_, err := c.ExecContext(ctx, "SELECT pg_advisory_unlock_all()")
		return errors.Join(err, c.Close(), d.pool.Close())
	}, nil
}

// SeedOld brings what a history of an old version in a file has of a line to a server whose schema is of that version, as the
// program did then.
func SeedOld(ctx context.Context, path, address, line string, version int) (err error) {
	near, err := open(path, "ro")
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, near.pool.Close()) }()
	far, err := openServer(address)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, far.Close()) }()
	far.server.watcher, far.server.store = "test", "test"
	if err := far.migrateServer(ctx, version); err != nil {
		return err
	}
	return near.snapshot(ctx, func(c *sql.Conn) error {
		tables, err := carriedTables(ctx, c)
		if err != nil {
			return err
		}
		return far.onLine(ctx, line, func(id int64) error {
			w := &writer{db: far, ctx: ctx, line: id}
			move := &carrier{ctx: ctx, from: c, w: w, line: 1, toLine: id, shift: id << fileShift}
			return w.transact(func() error { return move.carry(tables) })
		})
	})
}

// Columns returns the columns of each table that a file and a server both have, by name.
func (d *DB) Columns(ctx context.Context) (map[string][]string, error) {
	text := "SELECT m.name, i.name FROM sqlite_schema m JOIN pragma_table_info(m.name) i WHERE m.type = 'table' AND m.name NOT LIKE 'sqlite%' ORDER BY 1, 2"
	if d.server != nil {
		text = "SELECT table_name, column_name FROM information_schema.columns WHERE table_schema = current_schema() AND table_name <> 'spectra' ORDER BY 1, 2"
	}
	rows, err := d.pool.QueryContext(ctx, text)
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	all := map[string][]string{}
	for rows.Next() {
		var table, column string
		if err := rows.Scan(&table, &column); err != nil {
			return nil, err
		}
		if !slices.Contains(fileOnly, table) && !slices.Contains([]string{"asusual_schema", "watcher", "delivery"}, table) {
			all[table] = append(all[table], column)
		}
	}
	return all, rows.Err()
}

// Run runs statements as they are, several at a time.
func Run(ctx context.Context, address, statements string) error {
	d, err := openServer(address)
	if err != nil {
		return err
	}
	defer d.pool.Close()
	c, err := d.pool.Conn(ctx)
	if err != nil {
		return err
	}
	defer c.Close()
	return c.Raw(func(raw any) error {
		_, err := raw.(*serverConn).Conn.Conn().PgConn().Exec(ctx, statements).ReadAll()
		return err
	})
}

// Pages returns how many pages a file has, how many of them are free, and how large one is.
func (d *DB) Pages(ctx context.Context, pages, free, bytes *float64) error {
	for _, one := range []struct {
		pragma string
		into   *float64
	}{{"page_count", pages}, {"freelist_count", free}, {"page_size", bytes}} {
		if err := d.conn.QueryRowContext(ctx, "PRAGMA "+one.pragma).Scan(one.into); err != nil {
			return err
		}
	}
	return nil
}

// ExplainServer is explainServer, for what no server says at will.
var ExplainServer = explainServer
