package arrive

import (
	"bytes"
	"os"
	"path/filepath"
	"runtime"
	"testing"
	"time"
)

// What is read in one go is what os.ReadFile reads, whatever the room; and what is no regular file or too large is left.
func TestReadWhole(t *testing.T) {
	dir := t.TempDir()
	at := time.Date(2026, 11, 25, 6, 34, 12, 123456789, time.UTC)
	for name, size := range map[string]int{"empty": 0, "small": 700, "first": 64 << 10, "large": 300_000, "most": 400_000, "more": 400_001} {
		path := filepath.Join(dir, name)
		if err := os.WriteFile(path, bytes.Repeat([]byte("901.5,0.25\n"), 1+size/11)[:size], 0o644); err != nil {
			t.Fatal(err)
		}
		if err := os.Chtimes(path, at, at); err != nil {
			t.Fatal(err)
		}
	}
	if err := os.Symlink("small", filepath.Join(dir, "link")); err != nil && runtime.GOOS == "linux" {
		t.Fatal(err)
	}
	if err := os.Mkdir(filepath.Join(dir, "folder"), 0o755); err != nil {
		t.Fatal(err)
	}
	whole, err := OpenDisk(dir)
	if err != nil {
		t.Fatal(err)
	}
	defer whole.Close()
	below, err := whole.Below(".")
	if err != nil {
		t.Fatal(err)
	}
	defer below.Close()
	var room []byte
	for _, c := range []struct {
		name     string
		path, in bool // read by its path, and in its folder
	}{
		{"empty", true, true}, {"small", true, true}, {"large", true, true}, {"first", true, true}, {"most", true, true}, {"small", true, true},
		{"more", false, false}, {"none", false, false}, {"folder", false, false}, {"link", true, false}, {"..", false, false}, {"folder/../small", true, false},
	} {
		quick := runtime.GOOS == "linux"
		for way, read := range map[string]func() (Whole, bool){
			"by its path":   func() (Whole, bool) { return ReadWhole(filepath.Join(dir, c.name), room, 400_000) },
			"in its folder": func() (Whole, bool) { return below.ReadWhole(c.name, room, 400_000) },
		} {
			w, ok := read()
			if want := quick && (way == "by its path" && c.path || way == "in its folder" && c.in); ok != want {
				t.Errorf("ReadWhole(%s) %s = %v, want %v", c.name, way, ok, want)
				continue
			}
			if !ok {
				continue
			}
			text, err := os.ReadFile(filepath.Join(dir, c.name))
			if err != nil || !bytes.Equal(w.Bytes, text) || !w.Modified.Equal(at) {
				t.Errorf("ReadWhole(%s) %s = %d bytes of %v, want %d of %v (%v)", c.name, way, len(w.Bytes), w.Modified, len(text), at, err)
			}
			room = w.Bytes
		}
	}
	if _, ok := whole.ReadWhole("small", nil, 1000); ok {
		t.Error("ReadWhole of a folder that Below has not opened = true, want it left")
	}
}
