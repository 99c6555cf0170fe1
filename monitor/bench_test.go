package monitor_test

import (
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"testing"
	"time"

	"asusual/monitor"
	"asusual/monitor/history"
)

// BenchmarkCatchUp goes over a backlog of small files, a spectrum each: files/s is the figure.
func BenchmarkCatchUp(b *testing.B) {
	const files = 5000
	bn := newBench(b)
	for i, s := range produced(b, files) {
		path := filepath.Join(bn.folder, fmt.Sprintf("%06d.csv", i))
		if err := os.WriteFile(path, text(b, s), 0o644); err != nil {
			b.Fatal(err)
		}
		if err := os.Chtimes(path, s.Time, s.Time); err != nil {
			b.Fatal(err)
		}
	}
	line := bn.line()
	b.ReportAllocs()
	n := 0
	for b.Loop() {
		db, err := history.Open(b.Context(), filepath.Join(b.TempDir(), "history"), "bench")
		if err != nil {
			b.Fatal(err)
		}
		line.History = db
		if err := monitor.CatchUp(b.Context(), line); err != nil {
			b.Fatal(err)
		}
		if err := db.Close(); err != nil {
			b.Fatal(err)
		}
		n += files
	}
	b.ReportMetric(float64(n)/b.Elapsed().Seconds(), "files/s")
}

// BenchmarkArrival measures what passes between the rename of a file and its record, one file at a time.
func BenchmarkArrival(b *testing.B) {
	bn := newBench(b)
	line := bn.line()
	judged := make(chan time.Time, 1)
	line.Judged = func(history.Record) { judged <- time.Now() }
	stop := watching(b, line)
	defer stop()
	spectra := produced(b, 20_000)
	path := filepath.Join(bn.folder, "first.csv")
	if err := os.WriteFile(path, text(b, spectra[0]), 0o644); err != nil {
		b.Fatal(err)
	}
	<-judged
	var delays []time.Duration
	i := 1
	for b.Loop() {
		s := spectra[i%len(spectra)]
		name := filepath.Join(bn.folder, fmt.Sprintf("%06d.csv", i))
		i++
		if err := os.WriteFile(name+".tmp", text(b, s), 0o644); err != nil {
			b.Fatal(err)
		}
		began := time.Now()
		if err := os.Rename(name+".tmp", name); err != nil {
			b.Fatal(err)
		}
		delays = append(delays, (<-judged).Sub(began))
	}
	slices.Sort(delays)
	b.ReportMetric(float64(delays[len(delays)/2].Microseconds()), "µs/p50")
	b.ReportMetric(float64(delays[len(delays)*99/100].Microseconds()), "µs/p99")
}
