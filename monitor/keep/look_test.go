package keep_test

import (
	"errors"
	"os"
	"path/filepath"
	"testing"
	"time"

	"asusual/monitor/keep"
)

func TestLookTellsWhoHoldsAndTakesNothing(t *testing.T) {
	path := filepath.Join(t.TempDir(), "history.lock")
	if _, held, err := keep.Look(path); held || err != nil {
		t.Errorf("Look where there is no lock = %v, %v, want that nobody holds it", held, err)
	}
	if _, err := os.Stat(path); !errors.Is(err, os.ErrNotExist) {
		t.Errorf("Look made the lock file: %v", err)
	}
	h, err := keep.Take(path, keep.Holder{Name: "watch", PID: 4711, Since: time.Unix(1764057600, 0)})
	if err != nil {
		t.Fatal(err)
	}
	for range 2 {
		if by, held, err := keep.Look(path); !held || err != nil || by.Name != "watch" || by.PID != 4711 {
			t.Errorf("Look at a lock that is held = %+v, %v, %v, want watch, 4711", by, held, err)
		}
	}
	if err := h.Release(); err != nil {
		t.Fatal(err)
	}
	if _, held, err := keep.Look(path); held || err != nil {
		t.Errorf("Look after Release = %v, %v, want that nobody holds it", held, err)
	}
	again, err := keep.Take(path, keep.Holder{})
	if err != nil {
		t.Fatalf("Take after Look = %v, want nil", err)
	}
	if err := again.Release(); err != nil {
		t.Fatal(err)
	}
}

func TestFreeAndSameDisk(t *testing.T) {
	dir := t.TempDir()
	free, err := keep.Free(dir)
	if errors.Is(err, errors.ErrUnsupported) {
		t.Skip(err)
	}
	if err != nil || free == 0 {
		t.Errorf("Free(%s) = %d, %v, want some", dir, free, err)
	}
	if err := os.Mkdir(filepath.Join(dir, "in"), 0o755); err != nil {
		t.Fatal(err)
	}
	if !keep.SameDisk(dir, filepath.Join(dir, "in")) || keep.SameDisk(dir, filepath.Join(dir, "none")) {
		t.Error("SameDisk of a folder and one in it = false, or with nothing = true, want the other")
	}
	if _, err := keep.Free(filepath.Join(dir, "none")); err == nil {
		t.Error("Free of nothing = nil, want an error")
	}
}
