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

	"asusual/model/finding"
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
		b.SetPage("127.0.0.1:8080")
		time.Sleep(10 * time.Second)
		if got, err := monitor.ReadBulletin(path); err != nil || len(got.Lines) != 1 || got.Lines[0].Verdict != "the process has changed" {
			t.Errorf("ten seconds after the folder is there = %+v, %v, want the change", got, err)
		}
		cancel()
		<-done
		if got, err := monitor.ReadBulletin(path); err != nil || !got.Stopped || got.Page != "" {
			t.Errorf("of a watch that has stopped = %+v, %v, want no live page", got, err)
		}
	})
}

// What was said last holds while the line is watched and spectra are judged.
func TestStatusHoldsNoMore(t *testing.T) {
	now := time.Date(2026, 11, 28, 8, 0, 0, 0, time.UTC)
	const usual, changed, cannot = "as usual", "the process has changed", "cannot say"
	ago := func(d time.Duration) time.Time { return now.Add(-d) }
	for _, c := range []struct {
		what    string
		status  monitor.Status
		verdict string
		last    string
		since   time.Time
	}{
		{"judged just now", monitor.Status{Verdict: usual, Since: ago(9 * time.Hour), LastJudged: ago(time.Second), Fresh: time.Hour}, usual, "", ago(9 * time.Hour)},
		{"judged an hour ago", monitor.Status{Verdict: usual, Since: ago(9 * time.Hour), LastJudged: ago(time.Hour), Fresh: time.Hour}, usual, "", ago(9 * time.Hour)},
		{"nothing since", monitor.Status{Verdict: usual, Since: ago(9 * time.Hour), LastJudged: ago(2 * time.Hour), Fresh: time.Hour}, cannot, usual, ago(2 * time.Hour)},
		{"changed, and nothing since", monitor.Status{Verdict: changed, LastJudged: ago(2 * time.Hour), Fresh: time.Hour}, cannot, changed, ago(2 * time.Hour)},
		{"as long as it likes", monitor.Status{Verdict: usual, LastJudged: ago(2000 * time.Hour)}, usual, "", time.Time{}},
		{"trouble that may pass", monitor.Status{Verdict: usual, Trouble: "away", TroubleSince: ago(59 * time.Second)}, usual, "", time.Time{}},
		{"trouble that lasts", monitor.Status{Verdict: usual, Trouble: "away", TroubleSince: ago(time.Minute)}, cannot, usual, ago(time.Minute)},
		{"trouble of a watch that did not say since when", monitor.Status{Verdict: changed, Trouble: "away"}, cannot, changed, time.Time{}},
		{"the clock was put back, and nothing since", monitor.Status{Verdict: usual, LastJudged: ago(-24 * time.Hour), Fresh: time.Hour}, cannot, usual, time.Time{}},
		{"the clock was put back a little", monitor.Status{Verdict: usual, LastJudged: ago(-time.Hour), Fresh: time.Hour}, usual, "", time.Time{}},
		{"the clock was put back in a trouble", monitor.Status{Verdict: usual, Trouble: "away", TroubleSince: ago(-2 * time.Hour)}, cannot, usual, time.Time{}},
		{"nothing could be said", monitor.Status{Verdict: cannot, Trouble: "away", LastJudged: ago(2 * time.Hour), Fresh: time.Hour}, cannot, "", time.Time{}},
		{"nothing was ever judged", monitor.Status{Verdict: cannot, Fresh: time.Hour}, cannot, "", time.Time{}},
	} {
		was := c.status
		was.Why, was.ChangedSince, was.Group = []finding.Finding{finding.Of(finding.FewRuns, "", 3, 6, 8)}, ago(10*time.Hour), "group 1"
		got := was.At(now)
		if holds := c.last == ""; holds != (len(got.Why) == 1) || holds == got.ChangedSince.IsZero() || holds != (got.Group == "group 1") {
			t.Errorf("%s: why %v, changed since %v, group %q, want them kept: %v", c.what, got.Why, got.ChangedSince, got.Group, holds)
		}
		if got.Verdict != c.verdict || got.LastVerdict != c.last || !got.Since.Equal(c.since) {
			t.Errorf("%s: %q, last %q, since %v, want %q, %q, %v", c.what, got.Verdict, got.LastVerdict, got.Since, c.verdict, c.last, c.since)
		}
		if again := got.At(now.Add(time.Hour)); again.LastVerdict != c.last && c.last != "" {
			t.Errorf("%s: asked again, last %q, want %q", c.what, again.LastVerdict, c.last)
		}
	}
}

// A line of which nobody tells any more, since its watch waits for a disk, say, goes on saying nothing that it does not know: who follows
// the board hears of it, and the state file has it.
func TestBoardOfALineThatFellSilent(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		path := filepath.Join(t.TempDir(), "state.json")
		b := monitor.NewBoard(path, nil)
		ctx, cancel := context.WithCancel(t.Context())
		done := make(chan struct{})
		go func() { b.Run(ctx); close(done) }()
		b.Set(monitor.Status{Line: "a", Verdict: "as usual", LastJudged: time.Now(), Fresh: time.Hour})
		set, stop := b.Follow()
		defer stop()
		<-set
		stands := func(want string) {
			t.Helper()
			synctest.Wait()
			got, err := monitor.ReadBulletin(path)
			if err != nil || got.Lines[0].Verdict != want || b.Bulletin().Lines[0].Verdict != want {
				t.Errorf("state file = %+v, %v, board %q, want %q", got.Lines, err, b.Bulletin().Lines[0].Verdict, want)
			}
		}
		time.Sleep(time.Hour - time.Minute)
		select {
		case <-set:
			t.Error("the board was set within the hour, want nothing new")
		default:
		}
		stands("as usual")
		time.Sleep(2 * time.Minute)
		select {
		case <-set:
		default:
			t.Error("nobody heard that the line fell silent")
		}
		stands("cannot say")
		b.Set(monitor.Status{Line: "a", Verdict: "as usual", LastJudged: time.Now(), Fresh: time.Hour})
		stands("as usual")
		cancel()
		<-done
	})
}
