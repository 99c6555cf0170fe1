package main

import (
	"bytes"
	"context"
	"errors"
	"log/slog"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"asusual/cmd/asusual/config"
	"asusual/monitor"
	"asusual/monitor/history"
)

// A server that is taken out of the settings for a start gets all that was kept meanwhile once it is named again; one that stays out for
// long does not have the file grow for ever.
func TestAServerThatIsTakenOut(t *testing.T) {
	server := startServer(t)
	path, address := filepath.Join(t.TempDir(), "h"), server.Address("site")
	now := time.Now().UTC().Truncate(time.Second) // as the outbox has it
	var log bytes.Buffer
	logger := slog.New(slog.NewTextHandler(&log, nil))
	lines := []config.Line{{Name: "Filler 3"}}
	days := 0
	keepAt := func(db *history.DB, at time.Time) {
		t.Helper()
		days++
		r := history.Record{Time: at, Received: now, Condition: "usual", Verdict: "as usual", Reference: "abc", Mark: int64(days)}
		j := history.Judged{File: history.File{Name: strconv.Itoa(days), Version: 1, Modified: r.Time, Rows: 1}, Records: []history.Record{r}}
		if err := db.Append(t.Context(), history.Batch{Line: "Filler 3", Files: []history.Judged{j}}); err != nil {
			t.Fatal(err)
		}
	}
	keep := func(db *history.DB) { keepAt(db, now.AddDate(0, 0, days)) }
	start := func(server string, then func(db *history.DB, c *monitor.Carrying)) {
		t.Helper()
		db, err := history.Open(t.Context(), path, "test")
		if err != nil {
			t.Fatal(err)
		}
		defer db.Close()
		c, err := carrying(t.Context(), &config.Config{Server: server, History: path, Lines: lines}, db, lines, monitor.NewBoard("", nil), logger)
		if err != nil {
			t.Fatalf("a start with the server %q = %v, want nil", server, err)
		}
		then(db, c)
		if err := c.Close(); err != nil {
			t.Error(err)
		}
	}
	start(address, func(db *history.DB, _ *monitor.Carrying) { keep(db) }) // which is killed before it delivers
	start("", func(db *history.DB, _ *monitor.Carrying) { keep(db) })
	if got := log.String(); !strings.Contains(got, `none is named any more`) || !strings.Contains(got, `"spectra that wait"=1 `) {
		t.Errorf("the start without the server says %s, want that one spectrum waits", got)
	}
	start(address, func(db *history.DB, _ *monitor.Carrying) {
		if w, err := db.Waiting(t.Context(), "Filler 3"); err != nil || w.Spectra != 2 {
			t.Errorf("once the server is named again %+v wait, %v, want both spectra", w, err)
		}
	})
	start("", func(db *history.DB, _ *monitor.Carrying) {
		if err := uncarried(t.Context(), db, time.Now().Add(2*serverAway), logger); err != nil || !db.Carried() {
			t.Errorf("by a clock that was set ahead, with no spectrum of that time: Carried = %v, %v, want it still", db.Carried(), err)
		}
		for _, later := range []time.Duration{0, serverAway - time.Hour} {
			keepAt(db, time.Now().Add(later))
			if err := uncarried(t.Context(), db, time.Now().Add(later), logger); err != nil || !db.Carried() {
				t.Errorf("after %v without a server: Carried = %v, %v, want it until %v", later, db.Carried(), err, serverAway)
			}
		}
		keepAt(db, time.Now().Add(serverAway+time.Hour))
		if err := uncarried(t.Context(), db, time.Now().Add(serverAway+time.Hour), logger); err != nil || db.Carried() {
			t.Errorf("after more than %v without a server: Carried = %v, %v, want none", serverAway, db.Carried(), err)
		}
		if got := log.String(); !strings.Contains(got, "is dropped; the file has all of it") {
			t.Errorf("dropping it says %s, want that it is", got)
		}
	})
}

// A watch that goes on for months does not let it grow either.
func TestAWatchWithoutItsServer(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		db, err := history.Open(t.Context(), filepath.Join(t.TempDir(), "h"), "test")
		if err != nil {
			t.Fatal(err)
		}
		began := time.Now()
		r := history.Record{Time: began.AddDate(1, 0, 0), Received: began, Condition: "usual", Verdict: "as usual", Reference: "abc", Mark: 1}
		j := history.Judged{File: history.File{Name: "a", Version: 1, Modified: r.Time, Rows: 1}, Records: []history.Record{r}}
		if err := errors.Join(db.Carry(t.Context(), true), db.Append(t.Context(), history.Batch{Line: "Filler 3", Files: []history.Judged{j}})); err != nil {
			t.Fatal(err)
		}
		ctx, end := context.WithTimeout(t.Context(), 2*serverAway)
		defer end()
		(&shifts{app: &app{now: time.Now}, config: &config.Config{}, db: db, log: slog.New(slog.DiscardHandler)}).uncarriedDaily(ctx)
		if after := time.Since(began); db.Carried() || after != serverAway {
			t.Errorf("after %v Carried = %v, want it dropped after %v", after, db.Carried(), serverAway)
		}
		if err := db.Close(); err != nil {
			t.Fatal(err)
		}
	})
}
