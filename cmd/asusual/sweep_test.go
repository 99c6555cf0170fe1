package main

import (
	"context"
	"errors"
	"log/slog"
	"os"
	"path/filepath"
	"testing"
	"testing/synctest"
	"time"

	"asusual/cmd/asusual/config"
	"asusual/monitor"
	"asusual/monitor/keep"
	"asusual/monitor/signal"
)

// What a power cut left in the program's own folders is taken away; what is being written, what is none, and what lies among spectra stays.
func TestSweep(t *testing.T) {
	dir := t.TempDir()
	in := func(names ...string) string { return filepath.Join(append([]string{dir}, names...)...) }
	now := time.Now()
	put := func(age time.Duration, folder, name string) string {
		path := filepath.Join(folder, name)
		if err := errors.Join(os.MkdirAll(folder, 0o755), os.WriteFile(path, nil, 0o644), os.Chtimes(path, now.Add(-age), now.Add(-age))); err != nil {
			t.Fatal(err)
		}
		return path
	}
	c := &config.Config{History: in("kept", "history"), Reports: in("reports"), Lines: []config.Line{{Watch: in("spectra"), Good: []string{in("reports", "good")}}}}
	c.Signal.State = in("spectra", "state.json") // a bad place, and no reason to take files away there
	wants := map[string]bool{                    // whether it stays
		put(2*time.Hour, in("kept"), keep.Prefix+"1"):                    false,
		put(time.Minute, in("kept"), keep.Prefix+"2"):                    true,
		put(2*time.Hour, in("kept"), "history"):                          true,
		put(2*time.Hour, in("reports"), keep.Prefix+"3"):                 false,
		put(2*time.Hour, in("reports", "day", "shift"), keep.Prefix+"4"): false,
		put(2*time.Hour, in("reports", "day"), "handover.html"):          true,
		put(2*time.Hour, in("reports", "good"), keep.Prefix+"5"):         true,
		put(2*time.Hour, in("spectra"), keep.Prefix+"6"):                 true,
	}
	ended, end := context.WithCancel(t.Context())
	end()
	sweep(ended, c, now, slog.New(slog.DiscardHandler))
	if _, err := os.Stat(in("reports", keep.Prefix+"3")); err != nil {
		t.Errorf("a sweep that was stopped goes on among the reports: %v", err)
	}
	sweep(t.Context(), c, now, slog.New(slog.DiscardHandler))
	for path, stays := range wants {
		if _, err := os.Stat(path); (err == nil) != stays {
			t.Errorf("%s after the sweep: %v, want it there: %v", path, err, stays)
		}
	}
}

// Neither the lines nor a stop wait for a folder of reports that hangs.
func TestNobodyWaitsForTheSweep(t *testing.T) {
	r, _ := shiftsWith(t, time.Now)
	synctest.Test(t, func(t *testing.T) {
		hangs := make(chan struct{})
		lost := errors.New("lost")
		w := &watchers{shifts: r, board: monitor.NewBoard("", nil), places: []*place{{config: r.lines[0], why: lost}},
			tidy: func(context.Context) { <-hangs }}
		began := time.Now()
		if err := w.run(t.Context(), signal.Options{}); !errors.Is(err, lost) || time.Since(began) > tidyLast {
			t.Errorf("run() = %v after %v, want that the line cannot be watched, within %v", err, time.Since(began), tidyLast)
		}
		close(hangs)
	})
}
