package monitor_test

import (
	"database/sql"
	"testing"
)

// lockDatabase holds the write lock of an SQLite file, as another program may, until release is called.
func lockDatabase(t *testing.T, path string) (release func()) {
	t.Helper()
	db, err := sql.Open("sqlite", path)
	if err != nil {
		t.Fatal(err)
	}
	db.SetMaxOpenConns(1)
	if _, err := db.Exec("BEGIN IMMEDIATE"); err != nil {
		t.Fatal(err)
	}
	return func() {
		t.Helper()
		if _, err := db.Exec("ROLLBACK"); err != nil {
			t.Error(err)
		}
		if err := db.Close(); err != nil {
			t.Error(err)
		}
	}
}
