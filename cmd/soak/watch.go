package main

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"os"
	"os/exec"
	"path/filepath"
	"syscall"
	"time"

	"asusual/cmd/asusual/config"
	"asusual/monitor"
	"asusual/monitor/history"
)

// A watch is a running watch of the job's folder.
type watch interface {
	pid() int
	bulletin() (monitor.Bulletin, error) // how it stands
	stop() (time.Duration, error)        // tells it to stop and waits; it returns how long that took
	ended() <-chan struct{}              // closed when it has ended
	err() error                          // of one that has ended
}

var (
	_ watch = (*process)(nil)
	_ watch = (*inside)(nil)
)

func (s *soak) start(ctx context.Context) (watch, error) {
	if s.inside {
		return s.startInside(ctx)
	}
	return s.startProcess()
}

// A process is the real program.
type process struct {
	cmd   *exec.Cmd
	state string
	done  chan struct{}
	fault error
}

func (s *soak) startProcess() (watch, error) {
	log, err := os.OpenFile(filepath.Join(s.dir, "log"), os.O_CREATE|os.O_APPEND|os.O_WRONLY, 0o644)
	if err != nil {
		return nil, err
	}
	cmd := exec.Command(s.asusual, "watch", "--config", filepath.Join(s.dir, config.Name))
	cmd.Stderr, cmd.Stdout = log, log
	if err := cmd.Start(); err != nil {
		return nil, errors.Join(err, log.Close())
	}
	p := &process{cmd: cmd, state: s.state(), done: make(chan struct{})}
	go func() {
		p.fault = errors.Join(cmd.Wait(), log.Close())
		close(p.done)
	}()
	return p, nil
}

func (p *process) pid() int               { return p.cmd.Process.Pid }
func (p *process) ended() <-chan struct{} { return p.done }
func (p *process) err() error             { return p.fault }

// bulletin reads the state file, which is there once the watch is up.
func (p *process) bulletin() (monitor.Bulletin, error) {
	b, err := monitor.ReadBulletin(p.state)
	if err == nil && b.PID != p.pid() {
		err = os.ErrNotExist // it is that of the process before
	}
	return b, err
}

func (p *process) stop() (time.Duration, error) {
	began := time.Now()
	if err := p.cmd.Process.Signal(syscall.SIGTERM); errors.Is(err, os.ErrProcessDone) {
		<-p.done
		return 0, p.fault
	} else if err != nil { // Windows knows no signals
		err := p.cmd.Process.Kill()
		<-p.done
		return 0, err
	}
	select {
	case <-p.done:
		return time.Since(began), p.fault
	case <-time.After(time.Minute):
		return 0, errors.Join(errors.New("the watch does not stop within a minute"), p.cmd.Process.Kill())
	}
}

// An inside is a watch in this process.
type inside struct {
	board  *monitor.Board
	cancel context.CancelFunc
	done   chan struct{}
	fault  error
}

func (s *soak) startInside(ctx context.Context) (watch, error) {
	log := slog.New(slog.NewTextHandler(io.Discard, nil))
	refs, err := monitor.NewReferenceFile(s.reference(), log)
	if err != nil {
		return nil, err
	}
	db, err := history.Open(ctx, s.history(), "soak")
	if err != nil {
		return nil, err
	}
	in := &inside{board: monitor.NewBoard("", log), done: make(chan struct{})}
	ctx, in.cancel = context.WithCancel(ctx)
	line := monitor.Line{Name: lineName, Folder: s.spectra(), References: refs, History: db, Log: log, Board: in.board}
	go func() {
		in.fault = errors.Join(monitor.Watch(ctx, line), db.Close())
		close(in.done)
	}()
	return in, nil
}

func (in *inside) pid() int               { return os.Getpid() }
func (in *inside) ended() <-chan struct{} { return in.done }
func (in *inside) err() error             { return in.fault }

func (in *inside) bulletin() (monitor.Bulletin, error) {
	b := in.board.Bulletin()
	if len(b.Lines) == 0 {
		return b, os.ErrNotExist
	}
	return b, nil
}

func (in *inside) stop() (time.Duration, error) {
	began := time.Now()
	in.cancel()
	<-in.done
	return time.Since(began), in.fault
}

var errNoReason = errors.New("without an error")

// up waits until the watch shows how its line stands.
func (s *soak) up(ctx context.Context, w watch) error {
	for late := time.Now().Add(2 * time.Minute); time.Now().Before(late); {
		if _, err := w.bulletin(); err == nil {
			return nil
		}
		select {
		case <-w.ended():
			return fmt.Errorf("the watch ended by itself: %w; see its log in %s", cmp.Or(w.err(), errNoReason), s.dir)
		default:
		}
		if err := until(ctx, time.Now().Add(10*time.Millisecond)); err != nil {
			return err
		}
	}
	return errors.New("the watch is not up within two minutes")
}

// stuckAfter is how long nothing may be judged before the job is given up and what is missing counts as lost.
const stuckAfter = 3 * time.Minute

// judged waits until so many files were judged by this watch.
func (s *soak) judged(ctx context.Context, w watch, n int) error {
	most, moved := -1, time.Now()
	for {
		b, err := w.bulletin()
		if err == nil && len(b.Lines) == 1 {
			l := b.Lines[0]
			got := l.Spectra + l.Unreadable + l.Copies
			if got >= n && l.Behind == 0 {
				return nil
			}
			if got > most {
				most, moved = got, time.Now()
			}
		}
		if time.Since(moved) > stuckAfter {
			fmt.Fprintf(s.log, "%s: nothing was judged for %v; %d of %d files were\n", s.job.name, stuckAfter, most, n)
			return nil
		}
		select {
		case <-w.ended():
			return fmt.Errorf("the watch ended by itself: %w; see its log in %s", cmp.Or(w.err(), errNoReason), s.dir)
		case <-ctx.Done():
			return ctx.Err()
		case <-time.After(100 * time.Millisecond):
		}
	}
}
