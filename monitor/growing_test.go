package monitor

import (
	"bytes"
	"fmt"
	"log/slog"
	"strings"
	"testing"
	"time"

	"asusual/monitor/arrive"
	"asusual/monitor/history"
)

// Of a file that is still written to only the whole rows of a table count, and only where they carry a time; all else waits until it
// stands still. What is read in many looks at a growing table is every row once.
func TestWhatCountsOfAGrowingFile(t *testing.T) {
	line := &Line{Name: "Filler 3", Quiet: time.Minute, Instrument: &Instrument{}, Log: slog.New(slog.DiscardHandler)}
	look := func(w *worker, text []byte, size int) (rows []int, p piece) {
		t.Helper()
		w.job = &job{file: arrive.File{Rel: "day.csv", Size: int64(size), Modified: time.Now().Add(-time.Hour), Growing: true}}
		out := make(chan []found, 1000)
		w.out, w.found, w.piece, w.skip, w.baseRow, w.baseLine = out, nil, piece{}, 0, 0, 0
		w.buf = text[:size]
		if !w.stands(int64(len(text)), time.Now()) {
			t.Fatalf("a file of %d bytes that grew to %d is not read", size, len(text))
		}
		if err := w.text(t.Context(), bytes.NewReader(w.buf)); err != nil {
			t.Fatal(err)
		}
		if len(w.found) > 0 {
			w.hand(t.Context())
		}
		close(out)
		for fs := range out {
			for _, f := range fs {
				for _, s := range f.piece.spectra {
					rows = append(rows, s.record.Row)
				}
				if len(f.piece.unreadable) > 0 {
					t.Errorf("unreadable: %+v", f.piece.unreadable)
				}
				p = f.piece
			}
		}
		return rows, p
	}
	all := bigTable(300)
	w, seen := newWorker(line, nil, false), 0
	for size := 100; size < len(all); size += 3333 {
		rows, p := look(w, all, size)
		for _, row := range rows {
			if seen++; row != seen {
				t.Fatalf("at %d bytes row %d is read, want row %d", size, row, seen)
			}
		}
		if whole := int64(bytes.LastIndexByte(all[:size], '\n') + 1); p.file.Name != "" && (p.file.Bytes != whole || p.file.Rows != seen) {
			t.Errorf("of %d bytes %d in %d rows are kept, want %d in %d", size, p.file.Bytes, p.file.Rows, whole, seen)
		}
		if p.file.Name != "" {
			w.prev = p.file
			w.prev.ID = 7
		}
		if p.again == 0 && p.file.Bytes < int64(size) {
			t.Errorf("of %d bytes %d are kept, and the file is not asked for again", size, p.file.Bytes)
		}
	}
	if seen < 290 {
		t.Errorf("%d rows in all, want nearly 300", seen)
	}
	var columns, timeless strings.Builder
	columns.WriteString("# time: 2026-11-23T06:00:00Z\n")
	for i := range 100 {
		fmt.Fprintf(&columns, "%d,0.25\n", 1000+i)
	}
	for l := range strings.Lines(string(all)) {
		_, rest, _ := strings.Cut(l, ",")
		timeless.WriteString(rest)
	}
	for name, text := range map[string]string{"a file of one spectrum": columns.String(), "a table without times": timeless.String()} {
		w.prev = history.File{}
		if rows, p := look(w, []byte(text), len(text)/2); len(rows) > 0 || p.file.Name != "" || p.again != time.Second || !p.last {
			t.Errorf("%s that grows: %d rows, again after %v, want none and again after a second", name, len(rows), p.again)
		}
	}
}
