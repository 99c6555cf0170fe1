package history_test

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"runtime"
	"sync"
	"sync/atomic"
	"testing"

	"asusual/monitor/history/testserver"
)

// The tests of this package run on a file and on a server, which are to be the same to whoever uses them.
var (
	theServer = sync.OnceValues(func() (*testserver.Server, error) { return testserver.Start(false) })
	started   atomic.Bool
	places    atomic.Int64
)

func TestMain(m *testing.M) {
	code := m.Run()
	if started.Load() {
		if s, err := theServer(); err == nil {
			if err := s.Close(); err != nil {
				fmt.Fprintln(os.Stderr, err)
				code = max(code, 1)
			}
		}
	}
	os.Exit(code)
}

// onServer returns the address of an empty place on the server of the tests.
func onServer(t testing.TB) string {
	t.Helper()
	started.Store(true)
	s, err := theServer()
	if errors.Is(err, testserver.ErrMissing) {
		t.Skip(err)
	}
	if err != nil {
		t.Fatal(err)
	}
	return s.Address(fmt.Sprintf("place%d", places.Add(1)))
}

// onBoth runs a test with where a history may be made: a file, and a place on a server.
func onBoth(t *testing.T, test func(t *testing.T, where string)) {
	name := "line 3?#%.history" // characters that mean something in an SQLite URI
	if runtime.GOOS == "windows" {
		name = "line 3#%.history" // no name there has a question mark
	}
	t.Run("file", func(t *testing.T) { test(t, filepath.Join(t.TempDir(), name)) })
	t.Run("server", func(t *testing.T) { test(t, onServer(t)) })
}
