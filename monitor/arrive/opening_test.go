package arrive

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"log/slog"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"
)

// A folder of more files than are seen in haste, whose times go with their names or against them.
func manyFiles(t *testing.T, n int, against bool) *Disk {
	t.Helper()
	dir := t.TempDir()
	began := time.Now().Add(-24 * time.Hour)
	for i := range n {
		at := began.Add(time.Duration(i) * time.Second)
		if against {
			at = began.Add(time.Duration(n-i) * time.Second)
		}
		path := filepath.Join(dir, fmt.Sprintf("%05d.csv", i))
		if err := errors.Join(os.WriteFile(path, nil, 0o644), os.Chtimes(path, at, at)); err != nil {
			t.Fatal(err)
		}
	}
	d, err := OpenDisk(dir)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = d.Close() })
	return d
}

// However large the folder, a watch in haste looks at few names before it hands on, and each that is killed after that leaves
// less to the next, until all are dealt with: in any order, and where the names say nothing of it.
func TestInHasteEachStartDealsWithSome(t *testing.T) {
	const n = 2*chunk + 100
	for _, against := range []bool{false, true} {
		d := manyFiles(t, n, against)
		o := &opening{disk: d, order: ByName, stride: 1, until: time.Now(), pick: backlog{order: ByName, hold: hasteMost}}
		if err := o.folder(t.Context(), ".", 0); err != nil || o.n > 2*chunk || o.n <= chunk {
			t.Fatalf("names looked at in haste = %d, %v, want more than %d and at most %d of %d", o.n, err, chunk, 2*chunk, n)
		}
		for _, order := range []Order{ByTime, NewestFirst} {
			killedAgainAndAgain(t, d, order, n)
		}
	}
}

// Where it cannot be looked up what was dealt with, nothing is judged in haste, and nothing says that it is: the listing tells the trouble.
func TestInHasteWithoutKnowledge(t *testing.T) {
	var said bytes.Buffer
	d := manyFiles(t, 2*chunk+100, false)
	s, err := New(Options{Tree: d, Haste: 1, Log: slog.New(slog.NewTextHandler(&said, nil)), Known: func(context.Context, []File) ([]bool, error) {
		return nil, errors.New("the disk is away")
	}})
	if err != nil {
		t.Fatal(err)
	}
	if err := s.hasten(t.Context(), d); err != nil || said.Len() > 0 {
		t.Errorf("hasten = %v and says %q, want nothing", err, said.String())
	}
}

// Where some of the first names were dealt with, the others are handed on, however few they are.
func TestInHasteOfSomeKnown(t *testing.T) {
	var said bytes.Buffer
	d := manyFiles(t, 2*chunk+100, false)
	s, err := New(Options{Tree: d, Haste: 1, Log: slog.New(slog.NewTextHandler(&said, nil)), Known: func(_ context.Context, files []File) ([]bool, error) {
		is := make([]bool, len(files))
		for i := range is {
			is[i] = i%8 > 0
		}
		return is, nil
	}})
	if err != nil {
		t.Fatal(err)
	}
	got := 0
	s.emit = func(File) error { got++; return nil }
	if err := s.hasten(t.Context(), d); err != nil || got != hasteMost/8 || !strings.Contains(said.String(), fmt.Sprintf("files=%d", hasteMost/8)) {
		t.Errorf("hasten = %v, hands on %d files and says %q, want %d and that it does", err, got, said.String(), hasteMost/8)
	}
}

func killedAgainAndAgain(t *testing.T, d *Disk, order Order, n int) {
	t.Helper()
	rng := rand.New(rand.NewPCG(1, uint64(order)))
	done := map[string]bool{}
	killed := errors.New("killed")
	last := File{}
	known := func(_ context.Context, files []File) ([]bool, error) {
		is := make([]bool, len(files))
		for i, f := range files {
			is[i] = done[f.Rel]
		}
		return is, nil
	}
	for start := 0; len(done) < n; start++ {
		s, err := New(Options{Tree: d, Order: order, After: last.Rel, Haste: 1, Known: known})
		if err != nil {
			t.Fatal(err)
		}
		before, most := len(done), 1+rng.IntN(2*hasteMost)
		if start > 3 {
			most = n // one that is let live
		}
		err = s.Run(t.Context(), func(f File) error {
			if done[f.Rel] {
				t.Errorf("order %d: %s is handed on twice", order, f.Rel)
			}
			done[f.Rel] = true
			if f.Modified.After(last.Modified) {
				last = f
			}
			if len(done) == n || len(done) == before+most {
				return killed
			}
			return nil
		})
		if !errors.Is(err, killed) || len(done) <= before {
			t.Fatalf("order %d: start %d: Run = %v after %d files, %d were done before, want more, until it is killed", order, start, err, len(done), before)
		}
	}
}
