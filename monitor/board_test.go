package monitor_test

import (
	"bytes"
	"context"
	"log/slog"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"asusual/monitor"
)

func TestBoardIsWrittenOnChangeAndEveryMinute(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		path := filepath.Join(t.TempDir(), "state.json")
		b := monitor.NewBoard(path, nil)
		ctx, cancel := context.WithCancel(t.Context())
		done := make(chan struct{})
		go func() { b.Run(ctx); close(done) }()
		read := func() monitor.Bulletin {
			t.Helper()
			synctest.Wait()
			got, err := monitor.ReadBulletin(path)
			if err != nil {
				t.Fatal(err)
			}
			return got
		}
		b.Set(monitor.Status{Line: "b", Verdict: "as usual"})
		b.Set(monitor.Status{Line: "a", Verdict: "as usual"})
		began := time.Now()
		if got := read(); len(got.Lines) != 2 || got.Lines[0].Line != "a" || !got.Heartbeat.Equal(began) {
			t.Errorf("after two lines were set = %+v, want a and b, now", got)
		}
		time.Sleep(21 * time.Second)
		b.Set(monitor.Status{Line: "a", Verdict: "as usual", Distance: 0.7})
		if got := read(); !got.Heartbeat.Equal(began) {
			t.Errorf("after a distance changed: written at %v, want not at once", got.Heartbeat)
		}
		time.Sleep(10 * time.Second)
		if got := read(); !got.Heartbeat.Equal(began.Add(30*time.Second)) || got.Lines[0].Distance != 0.7 {
			t.Errorf("ten seconds after a distance changed = %+v, want it written", got)
		}
		b.Set(monitor.Status{Line: "a", Verdict: "the process has changed"})
		if got := read(); !got.Heartbeat.Equal(began.Add(31*time.Second)) || got.Lines[0].Verdict != "the process has changed" {
			t.Errorf("after the verdict changed = %+v, want it at once", got)
		}
		time.Sleep(5 * time.Minute)
		if got := read(); time.Since(got.Heartbeat) > time.Minute || got.Stopped {
			t.Errorf("five quiet minutes later: heartbeat %v ago, want less than a minute", time.Since(got.Heartbeat))
		}
		cancel()
		<-done
		if got := read(); !got.Stopped {
			t.Error("after the end: Stopped = false, want true")
		}
	})
}

func TestBoardThatCannotBeWrittenIsSaidOnce(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		var log bytes.Buffer
		b := monitor.NewBoard(filepath.Join(t.TempDir(), "missing", "state.json"), slog.New(slog.NewTextHandler(&log, nil)))
		ctx, cancel := context.WithCancel(t.Context())
		done := make(chan struct{})
		go func() { b.Run(ctx); close(done) }()
		time.Sleep(10 * time.Minute)
		cancel()
		<-done
		if n := strings.Count(log.String(), "cannot be written"); n != 1 {
			t.Errorf("log lines in ten minutes = %d, want 1:\n%s", n, log.String())
		}
		var none *monitor.Board
		none.Set(monitor.Status{Line: "a"}) // nothing to show it on
	})
}

// A change that could not be written is written as soon as it can be, and not a minute later.
func TestBoardThatCouldNotBeWrittenIsTriedAgain(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		path := filepath.Join(t.TempDir(), "state", "board.json")
		b := monitor.NewBoard(path, nil)
		ctx, cancel := context.WithCancel(t.Context())
		done := make(chan struct{})
		go func() { b.Run(ctx); close(done) }()
		b.Set(monitor.Status{Line: "a", Verdict: "the process has changed"})
		time.Sleep(time.Second) // a bubble's time: nobody waits
		if err := os.Mkdir(filepath.Dir(path), 0o755); err != nil {
			t.Fatal(err)
		}
		time.Sleep(10 * time.Second)
		if got, err := monitor.ReadBulletin(path); err != nil || len(got.Lines) != 1 || got.Lines[0].Verdict != "the process has changed" {
			t.Errorf("ten seconds after the folder is there = %+v, %v, want the change", got, err)
		}
		cancel()
		<-done
	})
}
