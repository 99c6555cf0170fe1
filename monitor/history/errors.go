package history

import (
	"errors"
	"fmt"

	"modernc.org/sqlite"
	sqlite3 "modernc.org/sqlite/lib"
)

// Errors that a caller may branch on.
var (
	ErrNotHistory = errors.New("not a history")                                  // another kind of file or database
	ErrNewer      = errors.New("written by a newer version of this program")     // its schema is not known here
	ErrReadOnly   = errors.New("cannot be written")                              // the file or its folder is read-only
	ErrBusy       = errors.New("locked by another program")                      // for longer than a write waits
	ErrFull       = errors.New("the disk is full")                               // nothing of the batch was written
	ErrDamaged    = errors.New("damaged")                                        // SQLite found its pages inconsistent
	ErrAway       = errors.New("the server cannot be reached")                   // or does not answer now
	ErrNoEntry    = errors.New("the server does not let this user in")           // a wrong password, or no such database
	ErrNotWatcher = errors.New("opened for reading; only its watcher writes it") // a mistake of the caller
)

// busyMillis is how long a write waits for another program's lock before ErrBusy: longer than any backup tool's short
// lock, short enough for a watch to say what it waits for.
const busyMillis = 1000

// Passing reports whether an error of this package may go away by itself, so that the same call is worth repeating.
func Passing(err error) bool {
	var e *sqlite.Error
	if errors.As(err, &e) {
		switch e.Code() & 0xff {
		case sqlite3.SQLITE_IOERR, sqlite3.SQLITE_CANTOPEN, sqlite3.SQLITE_NOMEM: // the second as where no descriptors are left
			return true
		}
	}
	return errors.Is(err, ErrBusy) || errors.Is(err, ErrFull) || errors.Is(err, ErrAway)
}

// explain puts the file's name and one of the errors above in front of what SQLite says.
func explain(path string, err error) error {
	var e *sqlite.Error
	if err == nil || !errors.As(err, &e) {
		return explainServer(path, err)
	}
	var what error
	switch e.Code() & 0xff {
	case sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED, sqlite3.SQLITE_PROTOCOL: // the last one after ten seconds of waiting for others
		what = ErrBusy
	case sqlite3.SQLITE_READONLY, sqlite3.SQLITE_PERM:
		what = ErrReadOnly
	case sqlite3.SQLITE_FULL:
		what = ErrFull
	case sqlite3.SQLITE_NOTADB:
		what = ErrNotHistory
	case sqlite3.SQLITE_CORRUPT:
		what = ErrDamaged
	default:
		return fmt.Errorf("%s: %w", path, err)
	}
	return fmt.Errorf("%s: %w (%w)", path, what, err)
}
