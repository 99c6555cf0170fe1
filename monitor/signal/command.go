package signal

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"strings"
	"time"

	"asusual/monitor"
)

// A runner runs the command.
type runner struct {
	opt    Options
	told   map[string]string  // the verdict of each line
	failed map[string]failure // the last run for each line, where it failed
}

// A failure is a verdict that the command could not be told.
type failure struct {
	verdict string
	times   int       // that it failed
	next    time.Time // when it is run again
}

// mostRuns is how often the command is run for one verdict of a line, if it fails: with pauses of 10 s and up, for five minutes. A
// command that cannot work is not to run for ever.
const mostRuns = 6

// follow runs the command for each line whose verdict is another one than was told, and again where it failed.
func (r *runner) follow(ctx context.Context, board *monitor.Board) {
	set, stop := board.Follow()
	defer stop()
	again := time.NewTimer(0)
	defer again.Stop()
	for {
		select {
		case <-ctx.Done():
			return
		case <-set:
		case <-again.C:
		}
		for r.tell(ctx, board.Bulletin().Lines) { // that took time: the lines are looked at anew
		}
		if next := r.next(); !next.IsZero() {
			again.Reset(time.Until(next))
		}
	}
}

// tell runs the command for the first line that wants it, and reports whether there was one.
func (r *runner) tell(ctx context.Context, lines []monitor.Status) bool {
	for _, s := range lines {
		f := r.failed[s.Line]
		was, ok := r.told[s.Line]
		switch {
		case ctx.Err() != nil:
			return false
		case ok && was == s.Verdict:
			delete(r.failed, s.Line)
			continue
		case f.verdict == s.Verdict && (f.times >= mostRuns || time.Now().Before(f.next)):
			continue
		case f.verdict != s.Verdict:
			f = failure{verdict: s.Verdict}
		}
		if r.run(ctx, s) {
			r.told[s.Line] = s.Verdict
			delete(r.failed, s.Line)
			return true
		}
		f.next = time.Now().Add(r.opt.Pause << f.times)
		if f.times++; f.times == mostRuns {
			r.opt.Log.Error("the command is not run again before the verdict is another", "line", s.Line, "verdict", s.Verdict, "runs", f.times)
		}
		r.failed[s.Line] = f
		return true
	}
	return false
}

// next returns when the next command that failed is to be run again; the zero time where there is none.
func (r *runner) next() (next time.Time) {
	for _, f := range r.failed {
		if f.times < mostRuns && (next.IsZero() || f.next.Before(next)) {
			next = f.next
		}
	}
	return next
}

// mostSaid is how much of what a command says is logged.
const mostSaid = 4 << 10

// leftBehind is how long what the command has started and left behind is listened to once the command has ended.
const leftBehind = time.Second

// run runs the command for a line and reports whether it did its work.
func (r *runner) run(ctx context.Context, s monitor.Status) bool {
	ctx, cancel := context.WithTimeout(ctx, r.opt.Limit)
	defer cancel()
	cmd := exec.CommandContext(ctx, r.opt.Command[0], r.opt.Command[1:]...)
	cmd.Env = append(os.Environ(), environment(s, r.told[s.Line])...)
	said := &start{}
	cmd.Stdout, cmd.Stderr = said, said
	cmd.WaitDelay = leftBehind
	began := time.Now()
	err := runGroup(cmd)
	switch {
	case errors.Is(err, exec.ErrWaitDelay): // it ended well, and what it left behind, such as a horn, still could say something
		r.opt.Log.Info("the command was run, and left something running whose output nobody reads any more", "line", s.Line, "verdict", s.Verdict)
		return true
	case err == nil:
		r.opt.Log.Info("the command was run", "line", s.Line, "verdict", s.Verdict, "took", time.Since(began).Round(time.Millisecond))
	case ctx.Err() == context.DeadlineExceeded:
		r.opt.Log.Error("the command was stopped", "line", s.Line, "verdict", s.Verdict, "reason", fmt.Sprintf("it took longer than %v", r.opt.Limit), "said", said.String())
	default:
		r.opt.Log.Error("the command did not do its work", "line", s.Line, "verdict", s.Verdict, "reason", err, "said", said.String())
	}
	return err == nil
}

// environment returns what the command is told.
func environment(s monitor.Status, was string) []string {
	env := []string{
		"ASUSUAL_LINE=" + s.Line, "ASUSUAL_VERDICT=" + s.Verdict, "ASUSUAL_WAS=" + was,
		"ASUSUAL_SINCE=" + moment(s.Since), "ASUSUAL_CHANGED_SINCE=" + moment(s.ChangedSince), "ASUSUAL_DISTANCE=" + distance(s.Distance),
		"ASUSUAL_INSTRUMENT=" + s.Instrument, "ASUSUAL_GROUP=" + s.Group, "ASUSUAL_ALARM=" + s.Alarm.State.String(),
	}
	for i := range env {
		env[i] = strings.ReplaceAll(env[i], "\x00", "") // no environment can hold one
	}
	return env
}

// A start keeps the beginning of what is written to it.
type start struct{ b bytes.Buffer }

func (s *start) Write(p []byte) (int, error) {
	s.b.Write(p[:min(len(p), mostSaid-s.b.Len())])
	return len(p), nil
}

func (s *start) String() string { return strings.TrimSpace(s.b.String()) }
