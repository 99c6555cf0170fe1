package history

import (
	"context"
	"crypto/rand"
	"database/sql"
	"database/sql/driver"
	"encoding/hex"
	"errors"
	"fmt"
	"net"
	"os"
	"strconv"
	"strings"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgconn"
	"github.com/jackc/pgx/v5/stdlib"

	"asusual/monitor/keep"
)

// IsServer reports whether what a history is opened by means a database on a PostgreSQL server, and not a file.
func IsServer(where string) bool {
	return strings.HasPrefix(where, "postgres://") || strings.HasPrefix(where, "postgresql://")
}

// A server is what a DB on a PostgreSQL server has besides. Its lines are written by one process each: whoever writes a line
// holds an advisory lock of the session that writes, so that the lock and what is written under it end together.
type server struct {
	watcher string
	store   string          // stands for who writes; a file that is carried to the server has one for good
	held    map[int64]int64 // the lines that this session holds, and the number of their next file
}

const (
	serverSchema = "asusual" // where the tables stand, unless the address says another search_path
	fileShift    = 40        // the number of a file on a server is its line's, times two to this, and its own in the line
	// A session whose computer is gone is ended by the server after about a minute, and its lines are free.
	keepaliveIdle, keepaliveEvery, keepaliveCount = "30", "10", "3"
	connectWait                                   = 10 * time.Second
	lockWait                                      = "10s" // for what another program holds; then the server counts as one that cannot be written now
)

// openServer returns a pool of connections to the database of that address.
func openServer(address string) (*DB, error) {
	cfg, err := pgx.ParseConfig(address)
	if err != nil {
		return nil, fmt.Errorf("the address of the history's server: %w", hideSecrets(err))
	}
	if cfg.RuntimeParams["search_path"] == "" {
		cfg.RuntimeParams["search_path"] = serverSchema
	}
	if cfg.RuntimeParams["application_name"] == "" {
		cfg.RuntimeParams["application_name"] = "asusual"
	}
	if cfg.RuntimeParams["jit"] == "" {
		cfg.RuntimeParams["jit"] = "off" // compiling a query takes longer here than running it
	}
	if cfg.RuntimeParams["lock_timeout"] == "" {
		cfg.RuntimeParams["lock_timeout"] = lockWait // else a table that is being copied keeps a watch from starting
	}
	if !strings.HasPrefix(cfg.Host, "/") { // a socket has no keepalives
		for name, value := range map[string]string{"tcp_keepalives_idle": keepaliveIdle, "tcp_keepalives_interval": keepaliveEvery, "tcp_keepalives_count": keepaliveCount} {
			cfg.RuntimeParams[name] = value
		}
	}
	if cfg.ConnectTimeout == 0 {
		cfg.ConnectTimeout = connectWait
	}
	pool := sql.OpenDB(serverDriver{stdlib.GetConnector(*cfg)})
	pool.SetMaxIdleConns(2)
	pool.SetMaxOpenConns(8) // many watchers share what a server allows, 100 as it comes
	pool.SetConnMaxIdleTime(5 * time.Minute)
	d := newDB(nameOf(cfg), pool)
	d.server = &server{held: map[int64]int64{}}
	return d, nil
}

// nameOf is the address without user and password.
func nameOf(cfg *pgx.ConnConfig) string {
	if strings.HasPrefix(cfg.Host, "/") {
		return fmt.Sprintf("postgres:///%s?host=%s&port=%d", cfg.Database, cfg.Host, cfg.Port)
	}
	return fmt.Sprintf("postgres://%s/%s", net.JoinHostPort(cfg.Host, strconv.Itoa(int(cfg.Port))), cfg.Database)
}

// ServerName returns the address of a server's history as it may be shown: without user and password.
func ServerName(address string) string {
	cfg, err := pgx.ParseConfig(address)
	if err != nil {
		return "postgres://"
	}
	return nameOf(cfg)
}

// CheckServer returns why the address is not one of a database on a PostgreSQL server; nil where it is. It asks no server.
func CheckServer(address string) error {
	_, err := pgx.ParseConfig(address)
	return hideSecrets(err)
}

// hideSecrets returns an error of an address without the address, in which a password may stand.
func hideSecrets(err error) error {
	var parse *pgconn.ParseConfigError
	if errors.As(err, &parse) {
		text := parse.Error()
		if i := strings.LastIndex(text, "`: "); i >= 0 {
			text = text[i+3:]
		}
		return errors.New(text)
	}
	return err
}

// newStore names somebody who writes.
func newStore() string {
	var id [8]byte
	rand.Read(id[:]) // never fails
	return hex.EncodeToString(id[:])
}

// openToWrite opens a server's history, and makes it or brings it forward where need be.
func openToWrite(ctx context.Context, address, watcher string) (*DB, error) {
	d, err := openServer(address)
	if err != nil {
		return nil, err
	}
	d.server.watcher, d.server.store = watcher, newStore()
	if host, err := os.Hostname(); err == nil {
		d.server.watcher += " on " + host
	}
	if err := d.migrateServer(ctx, schemaVersion); err != nil {
		return nil, errors.Join(explain(d.path, err), d.pool.Close())
	}
	return d, nil
}

// readServer opens a server's history to be read.
func readServer(ctx context.Context, address string) (*DB, error) {
	d, err := openServer(address)
	if err != nil {
		return nil, err
	}
	version, err := d.serverVersion(ctx)
	switch {
	case err != nil:
		err = explain(d.path, err)
	case version == 0:
		err = fmt.Errorf("%s: no history there: %w", d.path, os.ErrNotExist)
	case version > schemaVersion:
		err = fmt.Errorf("%s: %w: schema %d, this program knows up to %d", d.path, ErrNewer, version, schemaVersion)
	case version < schemaVersion:
		err = fmt.Errorf("%s: schema %d is older than this program's %d; a watch brings it forward", d.path, version, schemaVersion)
	}
	if err != nil {
		return nil, errors.Join(err, d.pool.Close())
	}
	return d, nil
}

// serverVersion returns the version of the schema; 0 where there is none.
func (d *DB) serverVersion(ctx context.Context) (version int, err error) {
	var there bool
	if err := d.pool.QueryRowContext(ctx, "SELECT to_regclass('asusual_schema') IS NOT NULL").Scan(&there); err != nil || !there {
		return 0, err
	}
	err = d.pool.QueryRowContext(ctx, "SELECT version FROM asusual_schema").Scan(&version)
	return version, err
}

// migrateServer brings the schema to a version, each step in a transaction of its own, one program at a time.
func (d *DB) migrateServer(ctx context.Context, to int) (err error) {
	c, err := d.pool.Conn(ctx)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, c.Close()) }()
	if _, err := c.ExecContext(ctx, "SELECT pg_advisory_lock(?)", int64(applicationID)); err != nil {
		return err
	}
	defer func() {
		_, err2 := c.ExecContext(context.WithoutCancel(ctx), "SELECT pg_advisory_unlock(?)", int64(applicationID))
		err = errors.Join(err, err2)
	}()
	var schema sql.NullString
	var path string
	if err := c.QueryRowContext(ctx, "SELECT current_schema(), current_setting('search_path')").Scan(&schema, &path); err != nil {
		return err
	}
	if !schema.Valid {
		path, _, _ = strings.Cut(path, ",")
		if _, err := c.ExecContext(ctx, "CREATE SCHEMA IF NOT EXISTS "+pgx.Identifier{strings.Trim(path, ` "`)}.Sanitize()); err != nil {
			return err
		}
	}
	version, err := d.serverVersion(ctx)
	if err != nil {
		return err
	}
	if version > schemaVersion {
		return fmt.Errorf("%s: %w: schema %d, this program knows up to %d", d.path, ErrNewer, version, schemaVersion)
	}
	for v := version; v < to; v++ {
		set := "UPDATE asusual_schema SET version = %d"
		if v == 0 {
			set = "CREATE TABLE asusual_schema (version integer NOT NULL); INSERT INTO asusual_schema VALUES (%d)"
		}
		step := serverStep(v+1) + ";" + fmt.Sprintf(set, v+1)
		err := c.Raw(func(raw any) error { // several statements at once, in one transaction
			_, err := raw.(*serverConn).Conn.Conn().PgConn().Exec(ctx, "BEGIN;"+step+";COMMIT").ReadAll()
			return err
		})
		if err != nil {
			_, _ = c.ExecContext(context.WithoutCancel(ctx), "ROLLBACK")
			return fmt.Errorf("bringing the schema to version %d: %w", v+1, err)
		}
	}
	return nil
}

// Hold takes a line for writing, for as long as this DB's connection to the server lives. Where another process has it the
// error is a *keep.Held that names it. A file has one writer, who has all lines: there it does nothing.
func (d *DB) Hold(ctx context.Context, line string) error {
	if d.server == nil {
		return nil
	}
	d.mu.Lock()
	defer d.mu.Unlock()
	_, err := d.holding(ctx, line)
	return explain(d.path, err)
}

// session makes sure that there is a connection that writes.
func (d *DB) session(ctx context.Context) error {
	if d.conn != nil {
		return nil
	}
	c, err := d.pool.Conn(ctx)
	if err != nil {
		return err
	}
	d.conn = c
	return nil
}

// release gives the lines of this session free at once: the server may take a while to see that the connection has ended.
func (d *DB) release() {
	if d.server == nil || d.conn == nil || len(d.server.held) == 0 {
		return
	}
	ctx, cancel := context.WithTimeout(context.Background(), time.Second)
	defer cancel()
	_, _ = d.conn.ExecContext(ctx, "SELECT pg_advisory_unlock_all()") // where it cannot be said, the end of the connection says it
}

// dropSession gives up the connection that writes, and with it all lines: it is broken, or what it did is not known.
func (d *DB) dropSession() {
	if d.conn == nil {
		return
	}
	_ = d.conn.Raw(func(any) error { return driver.ErrBadConn }) // so that nobody gets it again
	_ = d.conn.Close()
	d.conn = nil
	clear(d.prepared)
	clear(d.words)
	clear(d.lines)
	clear(d.axes)
	clear(d.server.held)
}

// holding returns the number of a line that this session holds, and takes it where it does not yet.
func (d *DB) holding(ctx context.Context, line string) (id int64, err error) {
	if err := d.session(ctx); err != nil {
		return 0, err
	}
	if id, err = d.named(ctx, d.lines, "line", "name", line); err != nil {
		return 0, err
	}
	if _, ok := d.server.held[id]; ok {
		return id, nil
	}
	// A lock of this program's own session that the server has not ended yet is ended here; of anybody else's, it is refused.
	for try := 0; ; try++ {
		var got bool
		var backend int64
		// The lock's first number is that of the table, so that histories in one database do not know each other's.
		if err := d.conn.QueryRowContext(ctx, "SELECT pg_try_advisory_lock('line'::regclass::oid::integer, ?), pg_backend_pid()", int32(id)).Scan(&got, &backend); err != nil {
			return 0, err
		}
		if got {
			return id, d.take(ctx, id, backend)
		}
		held, own, err := d.holder(ctx, id, line)
		if err != nil {
			return 0, err
		}
		if !own || try == 50 {
			return 0, held
		}
		select {
		case <-time.After(100 * time.Millisecond):
		case <-ctx.Done():
			return 0, ctx.Err()
		}
	}
}

// take notes who holds the line from now on.
func (d *DB) take(ctx context.Context, id, backend int64) error {
	now := time.Now().UnixNano()
	if _, err := d.conn.ExecContext(ctx, `INSERT INTO watcher (line, name, store, pid, backend, since, seen) VALUES (?,?,?,?,?,?,?)
		ON CONFLICT (line) DO UPDATE SET name = excluded.name, store = excluded.store, pid = excluded.pid, backend = excluded.backend,
		since = excluded.since, seen = excluded.seen`, id, d.server.watcher, d.server.store, os.Getpid(), backend, now, now); err != nil {
		return err
	}
	var last sql.NullInt64
	if err := d.conn.QueryRowContext(ctx, "SELECT max(id) FROM file WHERE id > ? AND id < ?", id<<fileShift, (id+1)<<fileShift).Scan(&last); err != nil {
		return err
	}
	d.server.held[id] = max(last.Int64, id<<fileShift) + 1
	return nil
}

// holder returns who holds a line, and whether that is an earlier session of this store, which it ends.
func (d *DB) holder(ctx context.Context, id int64, line string) (held *keep.Held, own bool, err error) {
	held = &keep.Held{Path: fmt.Sprintf("%s: line %q", d.path, line)}
	var store string
	var backend, since int64
	err = d.conn.QueryRowContext(ctx, "SELECT name, store, pid, backend, since FROM watcher WHERE line = ?", id).Scan(
		&held.By.Name, &store, &held.By.PID, &backend, &since)
	if errors.Is(err, sql.ErrNoRows) {
		return held, false, nil
	}
	held.By.Since = fromNanos(since)
	if err != nil || store != d.server.store {
		return held, false, err
	}
	_, err = d.conn.ExecContext(ctx, "SELECT pg_terminate_backend(?)", backend)
	return held, true, err
}

// named returns the number that stands for a text, and makes one where there is none: at once, and not in the transaction that
// needs it, so that two who need the same two texts do not wait for each other.
func (d *DB) named(ctx context.Context, known map[string]int64, table, column, text string) (int64, error) {
	if id, ok := known[text]; ok {
		return id, nil
	}
	if len(known) >= maxWords {
		clear(known)
	}
	for range 3 {
		var id int64
		err := d.pool.QueryRowContext(ctx, fmt.Sprintf("SELECT id FROM %s WHERE %s = ?", table, column), text).Scan(&id)
		if errors.Is(err, sql.ErrNoRows) {
			_, err = d.pool.ExecContext(ctx, fmt.Sprintf("INSERT INTO %s (%s) VALUES (?) ON CONFLICT DO NOTHING", table, column), text)
			if err == nil {
				continue
			}
		}
		if err == nil {
			known[text] = id
		}
		return id, err
	}
	return 0, fmt.Errorf("%s %q was not kept", table, text)
}
