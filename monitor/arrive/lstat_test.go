package arrive

import (
	"net"
	"os"
	"path/filepath"
	"runtime"
	"testing"
)

// TestLstat asks for each kind of file in the quick way and by the folder: the answers are the same in what a listing uses.
func TestLstat(t *testing.T) {
	dir := t.TempDir()
	if err := os.WriteFile(filepath.Join(dir, "a.csv"), []byte("1,2\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	if err := os.Mkdir(filepath.Join(dir, "day"), 0o755); err != nil {
		t.Fatal(err)
	}
	names := []string{"a.csv", "day", "gone"}
	if runtime.GOOS != "windows" {
		for name, to := range map[string]string{"link": "a.csv", "out": "/", "nowhere": "gone"} {
			if err := os.Symlink(to, filepath.Join(dir, name)); err != nil {
				t.Fatal(err)
			}
			names = append(names, name)
		}
		l, err := net.Listen("unix", filepath.Join(dir, "socket"))
		if err != nil {
			t.Fatal(err)
		}
		defer l.Close()
		names = append(names, "socket")
	}
	d, err := OpenDisk(dir)
	if err != nil {
		t.Fatal(err)
	}
	defer d.Close()
	folder, err := d.Below(".")
	if err != nil {
		t.Fatal(err)
	}
	defer folder.Close()
	for _, name := range names {
		got, want := lstat(folder, name), lstatIn(folder, name)
		switch {
		case got == nil || want == nil:
			if got != want || name != "gone" {
				t.Errorf("%s: %v, want %v", name, got, want)
			}
		case got.Name() != want.Name() || got.Size() != want.Size() || got.Mode().Type() != want.Mode().Type() || got.IsDir() != want.IsDir() || !got.ModTime().Equal(want.ModTime()):
			t.Errorf("%s: %v, want %v", name, got, want)
		}
	}
}
