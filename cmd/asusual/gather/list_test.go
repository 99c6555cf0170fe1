package gather

import (
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"reflect"
	"runtime"
	"testing"
)

// tree makes files of the given names below a new folder, each with its own name as content.
func tree(t *testing.T, names ...string) string {
	t.Helper()
	dir := t.TempDir()
	for _, n := range names {
		path := filepath.Join(dir, filepath.FromSlash(n))
		if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, []byte(n), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	return dir
}

func TestList(t *testing.T) {
	dir := tree(t, "good/b/2.csv", "good/a/x/3.csv", "good/a/1.csv", "good/0.csv", "good/.hidden/4.csv", "good/a/half.tmp", "good/a/~$lock.csv", "one.dx", "good/c/Thumbs.db")
	got, err := List([]string{filepath.Join(dir, "good"), filepath.Join(dir, "one.dx")}, nil)
	if err != nil {
		t.Fatal(err)
	}
	at := func(n string) string { return filepath.Join(dir, filepath.FromSlash(n)) }
	want := Listing{
		Files: []File{
			{at("good/0.csv"), "good", true}, {at("good/a/1.csv"), "a", true}, {at("good/a/x/3.csv"), "a/x", true}, {at("good/b/2.csv"), "b", true},
			{at("one.dx"), filepath.Base(dir), false},
		},
		Ignored: []string{at("good/.hidden"), at("good/a/half.tmp"), at("good/a/~$lock.csv"), at("good/c/Thumbs.db")},
	}
	if !reflect.DeepEqual(got, want) {
		t.Errorf("List =\n%v\nwant\n%v", got, want)
	}
}

func TestListByPattern(t *testing.T) {
	dir := tree(t, "a.CSV", "b.txt", "c.dx", "d.log")
	got, err := List([]string{dir}, []string{"*.csv", "*.dx"})
	if err != nil || len(got.Files) != 2 || len(got.Ignored) != 2 {
		t.Errorf("List(*.csv, *.dx) = %v, %v, want a.CSV and c.dx, and two ignored", got, err)
	}
	named, err := List([]string{filepath.Join(dir, "d.log")}, []string{"*.csv"})
	if err != nil || len(named.Files) != 1 {
		t.Errorf("List(d.log) = %v, %v, want the file that was named, whatever the patterns", named, err)
	}
}

func TestListSaysWhatIsNotThere(t *testing.T) {
	dir := t.TempDir()
	missing := filepath.Join(dir, "none")
	if _, err := List([]string{missing}, nil); !errors.Is(err, fs.ErrNotExist) {
		t.Errorf("List(none) = %v, want a path that does not exist", err)
	}
	if _, err := List([]string{dir}, nil); !errors.Is(err, ErrNone) || err.Error() != dir+": no files of spectra there" {
		t.Errorf("List(empty folder) = %v, want that there are no files", err)
	}
}

func TestListEndsWhereALinkLeadsBack(t *testing.T) {
	if runtime.GOOS == "windows" {
		t.Skip("making a link on Windows needs a right that tests do not have")
	}
	dir := tree(t, "a/1.csv")
	if err := os.Symlink(dir, filepath.Join(dir, "a", "back")); err != nil {
		t.Fatal(err)
	}
	if l, err := List([]string{dir}, nil); err == nil {
		t.Errorf("List(folder with a link to itself) = %d files, want an error", len(l.Files))
	}
}

func TestListTakesAFileOnce(t *testing.T) {
	dir := tree(t, "good/a.csv", "good/b.csv")
	l, err := List([]string{filepath.Join(dir, "good", "b.csv"), dir, filepath.Join(dir, "good", "..", "good")}, nil)
	if err != nil || len(l.Files) != 2 {
		t.Errorf("List(b.csv, folder, folder) = %v, %v, want both files once", l.Files, err)
	}
}
