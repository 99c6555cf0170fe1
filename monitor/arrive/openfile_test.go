package arrive_test

import (
	"io"
	"os"
	"path/filepath"
	"testing"

	"asusual/monitor/arrive"
)

// Whoever writes the files may rename and delete one that is being read, which is then read to its end; also through a link.
func TestAFileThatIsReadMayBeRenamedAndDeleted(t *testing.T) {
	dir := t.TempDir()
	path, other := filepath.Join(dir, "a.csv"), filepath.Join(dir, "b.csv")
	if err := os.WriteFile(path, []byte("1000,0.5\n"), 0o644); err != nil {
		t.Fatal(err)
	}
	f, err := arrive.OpenFile(path)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	if err := os.Rename(path, other); err != nil {
		t.Errorf("renaming a file that is read = %v, want nil", err)
	}
	link := filepath.Join(t.TempDir(), "link.csv")
	if err := os.Symlink(other, link); err != nil {
		t.Skipf("no links here: %v", err)
	}
	g, err := arrive.OpenFile(link)
	if err != nil {
		t.Fatalf("OpenFile of a link out of its folder = %v, want the file", err)
	}
	defer g.Close()
	if err := os.Remove(other); err != nil {
		t.Errorf("deleting a file that is read = %v, want nil", err)
	}
	for _, in := range []*os.File{f, g} {
		if text, err := io.ReadAll(in); err != nil || string(text) != "1000,0.5\n" {
			t.Errorf("reading it = %q, %v, want all of it", text, err)
		}
	}
	if _, err := arrive.OpenFile(path); !os.IsNotExist(err) {
		t.Errorf("OpenFile of what is not there = %v, want that said", err)
	}
}
