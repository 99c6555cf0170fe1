package history_test

import (
	"database/sql"
	"fmt"
	"path/filepath"
	"testing"
	"time"

	"asusual/monitor/history"
)

// BenchmarkAppend writes batches; rows/s is the figure. In files=one each record comes with a file of its own, in
// files=table a thousand share one.
func BenchmarkAppend(b *testing.B) {
	for _, size := range []int{1, 100, 1000, 5000} {
		for _, table := range []bool{false, true} {
			b.Run(fmt.Sprintf("batch=%d/table=%v", size, table), func(b *testing.B) {
				d := open(b, filepath.Join(b.TempDir(), "h"))
				b.ReportAllocs()
				n := 0
				for b.Loop() {
					bt := batch(n, n+size)
					if table {
						one := bt.Files[0]
						for i, f := range bt.Files[1:] {
							f.Records[0].Row = i + 1
							one.Records = append(one.Records, f.Records[0])
						}
						bt.Files = []history.Judged{one}
					}
					if err := d.Append(b.Context(), bt); err != nil {
						b.Fatal(err)
					}
					n += size
				}
				b.ReportMetric(float64(n)/b.Elapsed().Seconds(), "rows/s")
			})
		}
	}
}

// BenchmarkAppendCarried writes batches of one file each that are also to be carried to a server: each is on the disk before the next.
func BenchmarkAppendCarried(b *testing.B) {
	for _, size := range []int{1, 100, 1000} {
		for _, carried := range []bool{false, true} {
			b.Run(fmt.Sprintf("batch=%d/carried=%v", size, carried), func(b *testing.B) {
				d := open(b, filepath.Join(b.TempDir(), "h"))
				if err := d.Carry(b.Context(), carried); err != nil {
					b.Fatal(err)
				}
				n := 0
				for b.Loop() {
					if err := d.Append(b.Context(), batch(n, n+size)); err != nil {
						b.Fatal(err)
					}
					n += size
				}
				b.ReportMetric(float64(n)/b.Elapsed().Seconds(), "rows/s")
			})
		}
	}
}

// BenchmarkPlainInsert is what the same rows cost without this package: one prepared statement, a row at a time, in
// transactions of a thousand, as a plain program would write them.
func BenchmarkPlainInsert(b *testing.B) {
	db, err := sql.Open("sqlite", filepath.Join(b.TempDir(), "h")+"?_pragma=journal_mode(WAL)&_pragma=synchronous(NORMAL)")
	if err != nil {
		b.Fatal(err)
	}
	defer db.Close()
	if _, err := db.Exec(`CREATE TABLE spectra (id INTEGER PRIMARY KEY, line TEXT, time TEXT, file TEXT UNIQUE, condition TEXT, t2 REAL, q REAL,
		distance REAL, inside INTEGER, verdict TEXT, scores BLOB, reference TEXT); CREATE INDEX spectra_time ON spectra (line, time)`); err != nil {
		b.Fatal(err)
	}
	n := 0
	scores := make([]byte, 48)
	for b.Loop() {
		tx, err := db.Begin()
		if err != nil {
			b.Fatal(err)
		}
		st, err := tx.Prepare("INSERT INTO spectra (line, time, file, condition, t2, q, distance, inside, verdict, scores, reference) VALUES (?,?,?,?,?,?,?,?,?,?,?)")
		if err != nil {
			b.Fatal(err)
		}
		for range 1000 {
			at := noon.Add(time.Duration(n) * time.Second)
			if _, err := st.Exec("Filler 3", at.Format(time.RFC3339), fmt.Sprintf("2026-11-25/s%06d.csv", n), "usual", 3.5, 1e-6, 0.5, 1, "as usual", scores, "abc123"); err != nil {
				b.Fatal(err)
			}
			n++
		}
		if err := tx.Commit(); err != nil {
			b.Fatal(err)
		}
	}
	b.ReportMetric(float64(n)/b.Elapsed().Seconds(), "rows/s")
}

// BenchmarkShift reads one shift of 28,800 records out of a million.
func BenchmarkShift(b *testing.B) {
	d := open(b, filepath.Join(b.TempDir(), "h"))
	const n, shift = 1_000_000, 28_800
	for from := 0; from < n; from += 10_000 {
		if err := d.Append(b.Context(), batch(from, from+10_000)); err != nil {
			b.Fatal(err)
		}
	}
	q := history.Query{Line: "Filler 3", From: noon.Add(500_000 * time.Second), To: noon.Add((500_000 + shift) * time.Second)}
	b.Run("spectra", func(b *testing.B) {
		b.ReportAllocs()
		for b.Loop() {
			if got := all(b, d.Spectra(b.Context(), q)); len(got) != shift {
				b.Fatalf("Spectra = %d, want %d", len(got), shift)
			}
		}
	})
	b.Run("counts", func(b *testing.B) {
		for b.Loop() {
			if c, err := d.Counts(b.Context(), q, time.Minute); err != nil || c.Judged != shift {
				b.Fatalf("Counts = %+v, %v, want %d", c, err, shift)
			}
		}
	})
	b.Run("seen", func(b *testing.B) {
		names := make([]string, 4096)
		for i := range names {
			names[i] = fmt.Sprintf("2026-11-25/s%06d.csv", 300_000+i)
		}
		for b.Loop() {
			if s, err := d.Seen(b.Context(), "Filler 3", names); err != nil || len(s) != len(names) {
				b.Fatalf("Seen = %d, %v, want %d", len(s), err, len(names))
			}
		}
	})
}
