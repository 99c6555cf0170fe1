package history

import (
	"compress/flate"
	"context"
	"database/sql"
	"errors"
	"fmt"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"sync/atomic"
	"syscall"
	"time"

	_ "modernc.org/sqlite" // the driver named "sqlite"

	"asusual/monitor/keep"
)

// A DB is one history. It is safe for concurrent use: one Append runs at a time, and readers do not wait for it.
type DB struct {
	path   string
	pool   *sql.DB
	hold   *keep.Hold // nil where it was opened for reading
	server *server    // nil for a file
	tender *tender    // nil where nothing is written
	store  string     // of a file that is carried to a server: stands for the file there; "" for none

	blank atomic.Bool // written from the first file on: until then no name need be looked up

	asked   map[string]*sql.Stmt // queries that are asked for every file, prepared
	askedMu sync.Mutex

	mu       sync.Mutex // guards what follows
	conn     *sql.Conn  // the one connection that writes
	prepared map[string]*sql.Stmt
	words    map[string]int64
	lines    map[string]int64
	axes     map[string]int64
	flate    *flate.Writer // of states
	nextFile int64
	closed   bool
}

// Open opens the history of that path for its watcher, and makes it where there is none. One process watches a history: a
// second is refused with a *keep.Held that names the first. watcher is the name that a second one is told.
//
// A path that begins with postgres:// is the address of a database on a PostgreSQL server: there each line has one writer, as
// Hold says, and its path in errors is the address without user and password.
func Open(ctx context.Context, path, watcher string) (*DB, error) {
	if IsServer(path) {
		return openToWrite(ctx, path, watcher)
	}
	if err := looksRight(path, true); err != nil {
		return nil, err
	}
	hold, err := keep.Take(LockOf(path), keep.Holder{Name: watcher, PID: os.Getpid(), Since: time.Now().Truncate(time.Second)})
	if errors.Is(err, os.ErrPermission) || errors.Is(err, syscall.EROFS) {
		return nil, fmt.Errorf("%s: %w (%w)", path, ErrReadOnly, err)
	}
	if err != nil {
		return nil, err
	}
	d, err := open(path, "rwc")
	if err == nil {
		d.hold = hold
		if err = d.prepareToWrite(ctx); err != nil {
			err = errors.Join(explain(path, err), d.letGo(), d.pool.Close())
		} else {
			d.tender = d.tend()
		}
	}
	if err != nil {
		return nil, errors.Join(err, hold.Release())
	}
	return d, nil
}

// LockOf returns the lock of the history of that path, which whoever writes it holds. By whatever link the file is named, it has one.
func LockOf(path string) string { return FileOf(path) + ".lock" }

// mostLinks is how many links are followed, one to the other. Chosen as what Linux follows.
const mostLinks = 40

// FileOf returns the path of the file that a path names through links, also where that is not there yet; a path that is no link as it is.
func FileOf(path string) string {
	file := path
	for range mostLinks {
		to, err := os.Readlink(file)
		if err != nil { // no link, or nothing is there
			return file
		}
		if !filepath.IsAbs(to) {
			dir, err := filepath.EvalSymlinks(filepath.Dir(file))
			if err != nil {
				return file
			}
			to = filepath.Join(dir, to)
		}
		file = to
	}
	return path // the links go round
}

// Read opens the history of that path to be read, also while a watch is writing it. It changes nothing.
func Read(ctx context.Context, path string) (*DB, error) {
	if IsServer(path) {
		return readServer(ctx, path)
	}
	if err := looksRight(path, false); err != nil {
		return nil, err
	}
	d, err := open(path, "ro")
	if err != nil {
		return nil, err
	}
	err = d.check(ctx, schemaVersion)
	if err != nil && noWAL(path) {
		// A history on a read-only medium: SQLite cannot make the files beside it, and nobody can be writing it.
		if fixed, err2 := open(path, "ro&immutable=1"); err2 == nil {
			if fixed.check(ctx, schemaVersion) == nil {
				return fixed, d.pool.Close()
			}
			_ = fixed.pool.Close() // the first error says more
		}
	}
	if err != nil {
		return nil, errors.Join(explain(path, err), d.pool.Close())
	}
	return d, nil
}

func noWAL(path string) bool {
	i, err := os.Stat(path + "-wal")
	return err != nil || i.Size() == 0
}

// looksRight tells the plain troubles of a path in plain words; SQLite's own are about itself. It must not open the
// file: on Unix, closing it would drop the locks that another connection of this process has on it.
func looksRight(path string, write bool) error {
	info, err := os.Stat(path)
	if errors.Is(err, os.ErrNotExist) {
		if !write {
			return fmt.Errorf("%s: no history there: %w", path, os.ErrNotExist)
		}
		if _, err := os.Stat(filepath.Dir(path)); err != nil {
			return fmt.Errorf("%s: the folder of the history cannot be used: %w", path, err)
		}
		return nil
	}
	if err != nil {
		return err
	}
	if !info.Mode().IsRegular() {
		return fmt.Errorf("%s: %w: not a regular file", path, ErrNotHistory)
	}
	return nil
}

// cacheKiB and writerCacheKiB are what a connection keeps of the file in memory, and the one that writes. Chosen so that a watch is
// small and soon as large as it gets: what does not fit is in the system's own cache. A shift's report and the look-up of names took no
// more time with 2 MiB than with 8. The one that writes has newCacheKiB until it has opened a file of manyFiles: memory of its own has to
// be made first, and given back, so the first 20,000 files of a watch took a tenth less time with 1 MiB than with 4, and a quarter less
// than with 16. Behind a million files, whose digests do not fit, 4 MiB save 6 µs a file against 1, and 16 save 10 more.
const (
	cacheKiB       = 2 << 10
	newCacheKiB    = 1 << 10
	writerCacheKiB = 4 << 10
	manyFiles      = 100_000
)

// open returns a pool of connections. mode is SQLite's: ro, rwc.
func open(path, mode string) (*DB, error) {
	whole, err := filepath.Abs(path)
	if err != nil {
		return nil, err
	}
	u := url.URL{Scheme: "file", Path: filepath.ToSlash(whole)}
	if !strings.HasPrefix(u.Path, "/") {
		u.Path = "/" + u.Path // C:/… on Windows
	}
	q := fmt.Sprintf("mode=%s&_txlock=immediate&_pragma=busy_timeout(%d)&_pragma=cache_size(%d)&_pragma=temp_store(MEMORY)", mode, busyMillis, -cacheKiB)
	if mode == "rwc" {
		q += fmt.Sprintf("&_pragma=journal_mode(WAL)&_pragma=synchronous(NORMAL)&_pragma=wal_autocheckpoint(%d)&_pragma=journal_size_limit(67108864)",
			commitCheckpoint)
	}
	pool, err := sql.Open("sqlite", u.String()+"?"+q)
	if err != nil {
		return nil, err
	}
	pool.SetMaxIdleConns(4)
	return newDB(path, pool), nil
}

func newDB(path string, pool *sql.DB) *DB {
	return &DB{path: path, pool: pool, asked: map[string]*sql.Stmt{}, prepared: map[string]*sql.Stmt{}, words: map[string]int64{},
		lines: map[string]int64{}, axes: map[string]int64{}}
}

// check refuses what is no history, and one newer than newest.
func (d *DB) check(ctx context.Context, newest int) error {
	id, version, err := d.header(ctx)
	switch {
	case err != nil:
		return err
	case id != applicationID:
		return fmt.Errorf("%s: %w: an SQLite database of another program", d.path, ErrNotHistory)
	case version > newest:
		return fmt.Errorf("%s: %w: schema %d, this program knows up to %d", d.path, ErrNewer, version, newest)
	case version < newest:
		return fmt.Errorf("%s: schema %d is older than this program's %d; a watch brings it forward", d.path, version, newest)
	}
	return nil
}

func (d *DB) header(ctx context.Context) (id, version int, err error) {
	if err := d.pool.QueryRowContext(ctx, "PRAGMA application_id").Scan(&id); err != nil {
		return 0, 0, err
	}
	err = d.pool.QueryRowContext(ctx, "PRAGMA user_version").Scan(&version)
	return id, version, err
}

func (d *DB) prepareToWrite(ctx context.Context) error {
	id, version, err := d.header(ctx)
	if err != nil {
		return err
	}
	var tables int
	if err := d.pool.QueryRowContext(ctx, "SELECT count(*) FROM sqlite_schema").Scan(&tables); err != nil {
		return err
	}
	if d.conn, err = d.pool.Conn(ctx); err != nil {
		return err
	}
	if tables > 0 && (id != applicationID || version > schemaVersion) {
		return d.check(ctx, schemaVersion)
	}
	if err := d.cache(ctx, newCacheKiB); err != nil {
		return err
	}
	if err := migrate(ctx, d.conn, version); err != nil {
		return err
	}
	// SQLite opens a file that cannot be written all the same, to be read; a watcher must know at once.
	if _, err := d.conn.ExecContext(ctx, "UPDATE line SET id = id WHERE false"); err != nil {
		return err
	}
	if err := d.readStore(ctx); err != nil {
		return err
	}
	if err := d.conn.QueryRowContext(ctx, "SELECT coalesce(max(id), 0) + 1 FROM file").Scan(&d.nextFile); err != nil {
		return err
	}
	d.blank.Store(d.nextFile == 1)
	if d.nextFile > manyFiles {
		return d.cache(ctx, writerCacheKiB)
	}
	return nil
}

// cache sets what the connection that writes keeps of the file in memory.
func (d *DB) cache(ctx context.Context, kiB int) error {
	_, err := d.conn.ExecContext(ctx, fmt.Sprintf("PRAGMA cache_size = %d", -kiB))
	return err
}

// letGo gives the connection that writes back to the pool, which else would not close it.
func (d *DB) letGo() error {
	if d.conn == nil {
		return nil
	}
	return d.conn.Close()
}

// Killed returns when the watcher began that had the history last, where it was killed and did not close it; the zero time where it
// did, or where that is not known.
func (d *DB) Killed() time.Time {
	if d.hold == nil {
		return time.Time{}
	}
	return d.hold.Left().Since
}

// Path returns the path that the history was opened by.
func (d *DB) Path() string { return d.path }

// Close closes the history and gives it free for another watcher. A second call does nothing.
func (d *DB) Close() error {
	d.tender.stop()
	d.mu.Lock()
	defer d.mu.Unlock()
	if d.closed {
		return nil
	}
	d.closed = true
	var err error
	for _, s := range d.prepared {
		err = errors.Join(err, s.Close())
	}
	d.askedMu.Lock()
	for _, s := range d.asked {
		err = errors.Join(err, s.Close())
	}
	clear(d.asked)
	d.askedMu.Unlock()
	d.release()
	err = errors.Join(err, d.letGo())
	return errors.Join(err, d.pool.Close(), d.hold.Release())
}
