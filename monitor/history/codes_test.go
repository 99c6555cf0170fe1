package history_test

import (
	"database/sql"
	"errors"
	"path/filepath"
	"strings"
	"testing"

	"github.com/jackc/pgx/v5/pgconn"

	"asusual/monitor/history"
)

// What a server says is told apart by its code. Source: the PostgreSQL 17 documentation, appendix A, PostgreSQL Error Codes.
func TestTheCodesOfAServer(t *testing.T) {
	for code, want := range map[string]error{
		"28000": history.ErrNoEntry,  // invalid_authorization_specification: no such role, or none that may log in
		"28P01": history.ErrNoEntry,  // invalid_password
		"3D000": history.ErrNoEntry,  // invalid_catalog_name: no such database
		"08006": history.ErrAway,     // connection_failure
		"57P01": history.ErrAway,     // admin_shutdown
		"57P03": history.ErrAway,     // cannot_connect_now
		"53300": history.ErrAway,     // too_many_connections
		"55P03": history.ErrBusy,     // lock_not_available
		"53100": history.ErrFull,     // disk_full
		"25006": history.ErrReadOnly, // read_only_sql_transaction
		"42501": history.ErrReadOnly, // insufficient_privilege
		"22012": nil,                 // division_by_zero: none of these
	} {
		err := history.ExplainServer("postgres://site/plant", &pgconn.PgError{Code: code, Message: "in its words"})
		if !strings.HasPrefix(err.Error(), "postgres://site/plant: ") || !strings.Contains(err.Error(), "in its words") || want != nil && !errors.Is(err, want) {
			t.Errorf("code %s is said as %v, want %v", code, err, want)
		}
		for _, other := range []error{history.ErrNoEntry, history.ErrAway, history.ErrBusy, history.ErrFull, history.ErrReadOnly} {
			if other != want && errors.Is(err, other) {
				t.Errorf("code %s is said as %v, want %v", code, err, want)
			}
		}
	}
}

// A history that is open and whose file cannot be opened once more, as where no descriptors are left or a scanner holds the file beside
// it, may be again in a moment. Source: the SQLite documentation, Result and Error Codes, SQLITE_CANTOPEN (14).
func TestAFileThatCannotBeOpenedOnceMorePasses(t *testing.T) {
	db, err := sql.Open("sqlite", filepath.Join(t.TempDir(), "none", "h"))
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	if err := db.PingContext(t.Context()); err == nil || !strings.Contains(err.Error(), "(14)") || !history.Passing(err) {
		t.Errorf("Passing(%v) = false, or it is another error, want SQLITE_CANTOPEN and true", err)
	}
}
