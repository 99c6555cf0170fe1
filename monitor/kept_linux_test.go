package monitor_test

import (
	"context"
	"errors"
	"log/slog"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"asusual/monitor"
)

// A new reference that another program holds for a moment is taken up once it is let go, though it does not change by that.
func TestAReferenceThatAnotherProgramKeepsForItself(t *testing.T) {
	b := newBench(t)
	path := filepath.Join(t.TempDir(), "reference")
	writeReference(t, path)
	f, err := monitor.NewReferenceFile(path, slog.New(slog.NewTextHandler(b, nil)))
	if err != nil {
		t.Fatal(err)
	}
	other, err := learn(2)
	if err != nil {
		t.Fatal(err)
	}
	put(t, path, other)
	release := lease(t, path)
	for range 3 {
		f.LookNow()
		if r, err := f.Current(); err != nil || r.Fingerprint != reference(t).Fingerprint() {
			t.Errorf("Current while the file is kept = %v, %v, want the reference before", r, err)
		}
	}
	release()
	f.LookNow()
	if r, err := f.Current(); err != nil || r.Fingerprint != other.Fingerprint() {
		t.Errorf("Current after it was let go = %v, %v, want the new one", r, err)
	}
	if n := strings.Count(b.logged(), "cannot be read yet"); n != 1 {
		t.Errorf("the log tells %d times that the file cannot be read, want once:\n%s", n, b.logged())
	}
}

// A request that another program holds for a moment, such as one that looks for viruses, is answered once it is let go.
func TestARequestThatAnotherProgramKeepsForItself(t *testing.T) {
	b := newBench(t)
	box := b.path + ".requests"
	name := filepath.Join(box, "0102030405060708.json")
	text := `{"id":"0102030405060708","line":"Filler 3","act":"acknowledged","who":"A","why":"seen","at":"2026-11-23T06:00:00Z"}`
	if err := errors.Join(os.Mkdir(box, 0o755), os.WriteFile(name, []byte(text), 0o644)); err != nil {
		t.Fatal(err)
	}
	release := lease(t, name)
	stop := watching(t, b.line())
	defer stop()
	eventually(t, "the log tells of the request", func() bool { return strings.Contains(b.logged(), "request") })
	release()
	eventually(t, "the request is answered", func() bool {
		_, ok, err := b.db.Answer(context.Background(), "Filler 3", "0102030405060708")
		return ok && err == nil
	})
	eventually(t, "the request is taken away", func() bool {
		_, err := os.Stat(name)
		return errors.Is(err, os.ErrNotExist)
	})
	if _, err := os.Stat(name + ".refused"); err == nil {
		t.Error("a good request was set aside")
	}
}
