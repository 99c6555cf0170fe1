package monitor_test

import (
	"errors"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"

	"asusual/monitor/history"
)

// A folder that vanishes in the midst of a backlog, as a share does, and comes back with the same files: each is judged once.
func TestABacklogWhoseFolderVanishesAndReturns(t *testing.T) {
	b := newBench(t)
	spectra := produced(t, 4000)
	for _, s := range spectra {
		path := filepath.Join(b.folder, "day", fileName(s))
		if err := errors.Join(os.MkdirAll(filepath.Dir(path), 0o755), os.WriteFile(path, text(t, s), 0o644), os.Chtimes(path, s.Time, s.Time)); err != nil {
			t.Fatal(err)
		}
	}
	there, away := filepath.Join(b.folder, "day"), filepath.Join(filepath.Dir(b.folder), "away")
	line := b.line()
	vanish := sync.OnceFunc(func() {
		if err := os.Rename(there, away); err != nil {
			t.Error(err)
		}
	})
	line.Judged = func(history.Record) { vanish() }
	wait := kept(t, &line)
	stop := watching(t, line)
	defer stop()
	eventually(t, "a file is gone before it could be read", func() bool { return strings.Contains(b.logged(), "gone before it could be read") })
	if err := os.Rename(away, there); err != nil {
		t.Fatal(err)
	}
	wait(len(spectra))
	stop()
	b.expect("after the folder came back", spectra)
}
