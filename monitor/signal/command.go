package signal

import (
	"bytes"
	"context"
	"fmt"
	"os"
	"os/exec"
	"strings"
	"time"

	"asusual/monitor"
)

// A runner runs the command.
type runner struct {
	opt  Options
	told map[string]string // the verdict of each line
}

// follow runs the command for each line whose verdict is another one than was told.
func (r *runner) follow(ctx context.Context, board *monitor.Board) {
	set, stop := board.Follow()
	defer stop()
	for {
		select {
		case <-ctx.Done():
			return
		case <-set:
		}
		for again := true; again && ctx.Err() == nil; {
			again = false
			for _, s := range board.Bulletin().Lines {
				if was, ok := r.told[s.Line]; ok && was == s.Verdict {
					continue
				}
				r.run(ctx, s)
				r.told[s.Line] = s.Verdict
				again = true // that took time: the lines are looked at anew
				break
			}
		}
	}
}

// mostSaid is how much of what a command says is logged.
const mostSaid = 4 << 10

func (r *runner) run(ctx context.Context, s monitor.Status) {
	ctx, cancel := context.WithTimeout(ctx, r.opt.Limit)
	defer cancel()
	cmd := exec.CommandContext(ctx, r.opt.Command[0], r.opt.Command[1:]...)
	cmd.Env = append(os.Environ(), environment(s, r.told[s.Line])...)
	said := &start{}
	cmd.Stdout, cmd.Stderr = said, said
	cmd.WaitDelay = time.Second // for what it has started and left behind
	ownGroup(cmd)
	began := time.Now()
	err := cmd.Run()
	switch {
	case err == nil:
		r.opt.Log.Info("the command was run", "line", s.Line, "verdict", s.Verdict, "took", time.Since(began).Round(time.Millisecond))
	case ctx.Err() == context.DeadlineExceeded:
		r.opt.Log.Error("the command was stopped", "line", s.Line, "verdict", s.Verdict, "reason", fmt.Sprintf("it took longer than %v", r.opt.Limit), "said", said.String())
	default:
		r.opt.Log.Error("the command did not do its work", "line", s.Line, "verdict", s.Verdict, "reason", err, "said", said.String())
	}
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
