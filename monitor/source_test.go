package monitor

import (
	"bytes"
	"crypto/sha256"
	"errors"
	"fmt"
	"io/fs"
	"log/slog"
	"testing"
	"time"

	"asusual/monitor/arrive"
	"asusual/monitor/history"
)

var errAway = errors.New("the share is away")

// A share is a file that can be read from a place on once only, until it is back.
type share struct {
	*bytes.Reader
	at    int64
	reads int // over that place
	back  bool
}

func (s *share) ReadAt(p []byte, off int64) (int, error) {
	if off <= s.at && off+int64(len(p)) > s.at {
		if s.reads++; s.reads > 1 && !s.back {
			return 0, &fs.PathError{Op: "read", Path: "day.csv", Err: errAway}
		}
	}
	return s.Reader.ReadAt(p, off)
}

// bigTable is a table of so many rows, larger than what is read at once.
func bigTable(rows int) []byte {
	var b bytes.Buffer
	b.WriteString("time")
	for i := range 64 {
		fmt.Fprintf(&b, ",%d", 1000+10*i)
	}
	start := time.Date(2026, 11, 23, 6, 0, 0, 0, time.UTC)
	for r := range rows {
		b.WriteString("\n" + start.Add(time.Duration(r)*time.Second).Format(time.RFC3339))
		for i := range 64 {
			fmt.Fprintf(&b, ",0.%03d%03d", i, r%1000)
		}
	}
	b.WriteByte('\n')
	return b.Bytes()
}

// A table larger than what is read at once, whose disk or share fails half-way, anew or in its new rows: what was read of it stands, the
// error is told, and the rest is read once it can be, every row once.
func TestAReadErrorHalfWay(t *testing.T) {
	const rows = 9000
	all := bigTable(rows)
	line := &Line{Name: "Filler 3", Quiet: time.Minute, Instrument: &Instrument{}, Log: slog.New(slog.DiscardHandler)}
	for _, c := range []struct {
		name  string
		known int // rows judged before
		at    int // where the disk fails
	}{
		{"a new table", 0, len(all) / 2},
		{"a new table, at its beginning", 0, headSize + 1000},
		{"a table that grew", 100, len(all) / 2},
		{"a table that grew, in its first new row", 8000, 0},
	} {
		w := newWorker(line, nil, false)
		w.job = &job{file: arrive.File{Rel: "day.csv", Size: int64(len(all)), Modified: time.Now().Add(-time.Hour)}}
		from := &share{Reader: bytes.NewReader(all), at: int64(c.at)}
		if c.known > 0 {
			before := 0
			for range c.known + 1 {
				before += bytes.IndexByte(all[before:], '\n') + 1
			}
			w.prev = history.File{ID: 7, Name: "day.csv", Version: 1, Bytes: int64(before), Rows: c.known, Lines: c.known + 1}
			h := sha256.New()
			h.Write(all[:before])
			w.prev.Digest = sum(h)
			if c.at == 0 {
				from.at = int64(before) + 100
			}
		}
		seen, kept := map[int]int{}, w.prev
		read := func() error {
			out := make(chan []found, 1000)
			w.out, w.found, w.piece, w.skip, w.baseRow, w.baseLine = out, nil, piece{}, 0, 0, 0
			err := w.text(t.Context(), from)
			if len(w.found) > 0 {
				w.hand(t.Context())
			}
			close(out)
			for fs := range out {
				for _, f := range fs {
					for _, p := range f.piece.spectra {
						seen[p.record.Row]++
					}
					for _, u := range f.piece.unreadable {
						t.Errorf("%s: unreadable: %+v", c.name, u)
					}
					kept = f.piece.file
				}
			}
			return err
		}
		if err := read(); !errors.Is(err, errAway) {
			t.Errorf("%s: reading it = %v, want %v", c.name, err, errAway)
		}
		if len(seen) > 0 && (!kept.Partial || kept.Rows != c.known+len(seen)) {
			t.Errorf("%s: %d rows were read, and what is kept is %+v", c.name, len(seen), kept)
		}
		from.back = true
		if w.prev = kept; kept.Name != "" {
			w.prev.ID = 7
		}
		if err := read(); err != nil {
			t.Errorf("%s: reading it again = %v, want nil", c.name, err)
		}
		if len(seen) != rows-c.known || kept.Partial || kept.Rows != rows || kept.Bytes != int64(len(all)) {
			t.Errorf("%s: %d rows, want %d; kept is %+v", c.name, len(seen), rows-c.known, kept)
		}
		for row, n := range seen {
			if n != 1 || row <= c.known {
				t.Fatalf("%s: row %d was read %d times", c.name, row, n)
			}
		}
	}
}

// An error after a part of a file was taken changes nothing of what is kept of it, however often it was tried.
func TestAnErrorAfterAPart(t *testing.T) {
	tree, err := arrive.OpenDisk(t.TempDir())
	if err != nil {
		t.Fatal(err)
	}
	defer tree.Close()
	c := &committer{line: &Line{Name: "Filler 3", Log: slog.New(slog.DiscardHandler)}, tries: tries{"day.csv": tryMost - 1}}
	if c.scanner, err = arrive.New(arrive.Options{Tree: tree}); err != nil {
		t.Fatal(err)
	}
	part := history.File{Name: "day.csv", Version: 2, Rows: 256, Bytes: 5000, Partial: true}
	c.batch.Files = []history.Judged{{File: part}}
	k := &taking{c: c, job: &job{file: arrive.File{Rel: "day.csv"}}, begun: true}
	err = k.piece(t.Context(), piece{err: errAway, file: history.File{Name: "day.csv", Version: 2}, unreadable: []history.Unreadable{{Reason: "reading it"}}, last: true})
	if got := c.batch.Files[0]; err != nil || got.File != part || len(got.Unreadable) > 0 {
		t.Errorf("after an error the file's entry is %+v, %v, want it as it was", got, err)
	}
}

// Files that cannot be opened and vanish, for ever new ones, take no more room than some.
func TestTriesAreBounded(t *testing.T) {
	k := tries{}
	for i := range 3 * triesMost {
		name := fmt.Sprint(i)
		if n, again := k.count(name), k.count(name); n != 1 || again != 2 {
			t.Fatalf("count of a file that is tried twice = %d, %d, want 1, 2", n, again)
		}
	}
	if len(k) != triesMost {
		t.Errorf("%d files are remembered, want %d", len(k), triesMost)
	}
}
