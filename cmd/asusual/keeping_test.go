package main

import (
	"bytes"
	"log/slog"
	"path/filepath"
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"asusual/cmd/asusual/config"
	"asusual/monitor/history"
)

// keptHistory is a history with a spectrum a day, of the days before a time.
func keptHistory(t *testing.T, path string, days int, now time.Time) {
	t.Helper()
	db, err := history.Open(t.Context(), path, "test")
	if err != nil {
		t.Fatal(err)
	}
	b := history.Batch{Line: "Filler 3"}
	for i := range days {
		r := history.Record{Time: now.AddDate(0, 0, -i).Add(-time.Minute), Received: now, Condition: "usual", Verdict: "as usual", Reference: "abc", Mark: int64(i)}
		b.Files = append(b.Files, history.Judged{File: history.File{Name: r.Time.Format(time.DateOnly), Version: 1, Modified: r.Time}, Records: []history.Record{r}})
	}
	if err := db.Append(t.Context(), b); err != nil {
		t.Fatal(err)
	}
	if err := db.Close(); err != nil {
		t.Fatal(err)
	}
}

// The dry run counts what the other takes out, and takes nothing out.
func TestPruneTakesOutWhatItCounted(t *testing.T) {
	dir := t.TempDir()
	now := time.Date(2026, 11, 25, 12, 0, 0, 0, time.UTC)
	keptHistory(t, filepath.Join(dir, "h"), 40, now)
	c := &config.Config{History: filepath.Join(dir, "h"), Lines: []config.Line{{Name: "Filler 3"}}, Keep: config.Keeping{Spectra: 30 * 24 * time.Hour}}
	for _, step := range []struct {
		dry  bool
		want string
	}{{true, "Filler 3: to be taken out, were this no dry run\n  spectra      10  "}, {true, "  spectra      10  older than 30 days, before 2026-10-26\n"},
		{false, "Filler 3: taken out\n  spectra      10  "}, {false, "  spectra      0  "}} {
		var out bytes.Buffer
		a := &app{out: &out, errOut: &out, now: func() time.Time { return now }}
		db, err := a.openToPrune(t.Context(), c, step.dry)
		if err != nil {
			t.Fatal(err)
		}
		p, err := db.Prune(t.Context(), "Filler 3", history.Keep(c.Keep), now, step.dry)
		if err != nil {
			t.Fatal(err)
		}
		if err := a.tellPruned("Filler 3", p, c.Keep, step.dry); err != nil {
			t.Fatal(err)
		}
		if got := out.String(); !strings.Contains(got, step.want) || strings.Contains(got, "means") {
			t.Errorf("prune, dry run %v = %s, want %q and nothing of means, which are kept", step.dry, got, step.want)
		}
		if err := db.Close(); err != nil {
			t.Fatal(err)
		}
	}
}

// A watch takes out what is too old ten minutes after its start and then once a day; one that keeps all never does.
func TestAWatchPrunesDaily(t *testing.T) {
	path := filepath.Join(t.TempDir(), "h")
	// A bubble's clock begins at midnight of 2000-01-01, UTC (testing/synctest).
	keptHistory(t, path, 40, time.Date(2000, 1, 1, 0, 0, 0, 0, time.UTC))
	synctest.Test(t, func(t *testing.T) {
		var log bytes.Buffer
		db, err := history.Open(t.Context(), path, "test")
		if err != nil {
			t.Fatal(err)
		}
		r := &shifts{app: &app{now: time.Now}, db: db, lines: []config.Line{{Name: "Filler 3"}}, log: slog.New(slog.NewTextHandler(&log, nil)),
			config: &config.Config{Keep: config.Keeping{Spectra: 30 * 24 * time.Hour}}}
		left := func() (n int) {
			for _, err := range db.Spectra(t.Context(), history.Query{Line: "Filler 3"}) {
				if err != nil {
					t.Fatal(err)
				}
				n++
			}
			return n
		}
		done := make(chan struct{})
		go func() { defer close(done); r.pruneDaily(t.Context()) }()
		for _, step := range []struct {
			wait time.Duration
			want int
		}{{9 * time.Minute, 40}, {2 * time.Minute, 30}, {23 * time.Hour, 30}, {time.Hour, 29}, {72 * time.Hour, 26}} {
			<-time.After(step.wait)
			synctest.Wait()
			if got := left(); got != step.want {
				t.Errorf("%v after the start %d spectra are left, want %d", time.Since(time.Date(2000, 1, 1, 0, 0, 0, 0, time.UTC)), got, step.want)
			}
		}
		if n := strings.Count(log.String(), "what is too old was taken out of history"); n != 5 {
			t.Errorf("the log says so %d times, want 5:\n%s", n, log.String())
		}
		if err := db.Close(); err != nil {
			t.Fatal(err)
		}
		never := &shifts{config: &config.Config{}}
		never.pruneDaily(t.Context()) // returns at once
	})
}
