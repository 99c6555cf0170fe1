package signal_test

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"log/slog"
	"net"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"asusual/monitor"
	"asusual/monitor/signal"
)

// doEnv makes the test binary a command: it says what it is, so that no shell is needed.
const doEnv = "ASUSUAL_TEST_DO"

// callEnv is the address that one which waits calls.
const callEnv = "ASUSUAL_TEST_CALL"

func TestMain(m *testing.M) {
	switch do := os.Getenv(doEnv); do {
	case "":
		os.Exit(m.Run())
	case "note", "slow":
		note(do == "slow")
	case "fail":
		fmt.Println("the horn is not there")
		os.Exit(3)
	case "twice": // fails the first two times, told by a file that grows
		f, err := os.OpenFile(os.Args[1], os.O_CREATE|os.O_APPEND|os.O_WRONLY, 0o644)
		if err != nil {
			os.Exit(4)
		}
		fmt.Fprintln(f, os.Getenv("ASUSUAL_WAS")+">"+os.Getenv("ASUSUAL_VERDICT"))
		f.Close()
		if text, _ := os.ReadFile(os.Args[1]); bytes.Count(text, []byte("\n")) < 3 {
			os.Exit(3)
		}
	case "hang": // and start another that hangs as well
		os.Setenv(doEnv, "wait")
		c := exec.Command(os.Args[0])
		c.Stdout = os.Stdout
		if err := c.Start(); err == nil {
			_ = c.Wait()
		}
	case "leave": // one that stays, with all that it can say, and say so in the file
		os.Setenv(doEnv, "stay")
		c := exec.Command(os.Args[0])
		c.Stdout, c.Stderr = os.Stdout, os.Stderr
		if err := c.Start(); err != nil {
			os.Exit(4)
		}
		note(false)
	case "stay": // until the connection ends
		if c, err := net.Dial("tcp", os.Getenv(callEnv)); err == nil {
			_, _ = c.Read(make([]byte, 1))
		}
	case "wait": // for ever, and let others see by a connection whether it still does
		if c, err := net.Dial("tcp", os.Getenv(callEnv)); err == nil {
			defer c.Close()
		}
		<-time.After(time.Hour)
	}
}

// note adds a line to the file of the first argument: the others, and what the environment tells. Where it is slow, one that runs at
// the same time would find its mark; it goes on once there is a file of that name with .go.
func note(slow bool) {
	mark := os.Args[1] + ".running"
	f, err := os.OpenFile(mark, os.O_CREATE|os.O_EXCL, 0o644)
	text := ""
	if err != nil {
		text = "TWICE "
	} else {
		f.Close()
		defer os.Remove(mark)
	}
	for ready := !slow; !ready; <-time.After(10 * time.Millisecond) {
		_, err := os.Stat(os.Args[1] + ".go")
		ready = err == nil
	}
	text += strings.Join(os.Args[2:], "|")
	for _, name := range []string{"LINE", "WAS", "VERDICT", "SINCE", "DISTANCE", "INSTRUMENT", "GROUP", "ALARM"} {
		text += ";" + os.Getenv("ASUSUAL_"+name)
	}
	out, err := os.OpenFile(os.Args[1], os.O_APPEND|os.O_CREATE|os.O_WRONLY, 0o644)
	if err != nil {
		fmt.Println(err)
		os.Exit(1)
	}
	fmt.Fprintln(out, text)
	out.Close()
}

// A journal is a log that is read while it is written.
type journal struct {
	mu sync.Mutex
	b  bytes.Buffer
}

func (j *journal) Write(p []byte) (int, error) {
	j.mu.Lock()
	defer j.mu.Unlock()
	return j.b.Write(p)
}

func (j *journal) String() string {
	j.mu.Lock()
	defer j.mu.Unlock()
	return j.b.String()
}

func (j *journal) log() *slog.Logger { return slog.New(slog.NewTextHandler(j, nil)) }

// patience is how long a test waits before it takes it that what it waits for does not come.
const patience = 2 * time.Minute

// until waits until the condition holds.
func until(t *testing.T, what string, holds func() bool) {
	t.Helper()
	for end := time.Now().Add(patience); !holds(); <-time.After(10 * time.Millisecond) {
		if time.Now().After(end) {
			t.Fatalf("%s: not within %v", what, patience)
		}
	}
}

// telling runs signals until stop is called.
func telling(t *testing.T, b *monitor.Board, opt signal.Options) (stop func()) {
	t.Helper()
	ctx, cancel := context.WithCancel(context.Background())
	done := make(chan struct{})
	go func() { signal.Run(ctx, b, opt); close(done) }()
	stop = sync.OnceFunc(func() {
		t.Helper()
		cancel()
		select {
		case <-done:
		case <-time.After(patience):
			t.Errorf("Run does not stop within %v", patience)
		}
	})
	t.Cleanup(stop)
	return stop
}

func status(line, verdict string, distance float64) monitor.Status {
	return monitor.Status{Line: line, Verdict: verdict, Distance: distance, Instrument: "fit", Since: time.Date(2026, 11, 25, 14, 5, 0, 0, time.UTC)}
}

func lines(t *testing.T, path string) []string {
	t.Helper()
	text, err := os.ReadFile(path)
	if err != nil && !os.IsNotExist(err) {
		t.Fatal(err)
	}
	return strings.Split(strings.TrimSpace(string(text)), "\n")
}

func TestCommandIsToldOfEachChange(t *testing.T) {
	t.Setenv(doEnv, "note")
	out := filepath.Join(t.TempDir(), "said")
	b := monitor.NewBoard("", nil)
	var log journal
	hostile := "$(touch x); `rm` \"<b>\" %PATH% *"
	stop := telling(t, b, signal.Options{Command: []string{os.Args[0], out, hostile, "two words"}, Log: log.log()})
	want := []string{}
	for _, s := range []monitor.Status{status("Filler 3", "as usual", 0.5), status("Filler 3", "as usual", 0.7), status(hostile, "cannot say", 0),
		status("Filler 3", "the process has changed", 2.34567)} {
		b.Set(s)
		if s.Distance != 0.7 { // the same verdict again is none
			want = append(want, s.Verdict)
		}
		until(t, "the command after "+s.Verdict, func() bool { return strings.Count(log.String(), "the command was run") == len(want) })
	}
	stop()
	got := lines(t, out)
	args := hostile + "|two words;"
	if want := []string{args + "Filler 3;;as usual;2026-11-25T14:05:00Z;0.5;fit;;normal", args + hostile + ";;cannot say;2026-11-25T14:05:00Z;0;fit;;normal",
		args + "Filler 3;as usual;the process has changed;2026-11-25T14:05:00Z;2.346;fit;;normal"}; !slices.Equal(got, want) {
		t.Errorf("the command was told\n%s\nwant\n%s", strings.Join(got, "\n"), strings.Join(want, "\n"))
	}
}

// A command that ended well did its work, also where what it started goes on and holds its output, as a horn does.
func TestCommandThatLeavesSomethingRunning(t *testing.T) {
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	defer l.Close()
	t.Setenv(callEnv, l.Addr().String())
	t.Setenv(doEnv, "leave")
	out := filepath.Join(t.TempDir(), "said")
	b := monitor.NewBoard("", nil)
	var log journal
	stop := telling(t, b, signal.Options{Command: []string{os.Args[0], out}, Pause: time.Millisecond, Log: log.log()})
	for i, verdict := range []string{"as usual", "the process has changed"} {
		b.Set(status("Filler 3", verdict, 1))
		until(t, "the end of the command", func() bool {
			text := log.String()
			return strings.Count(text, "the command was run") > i || strings.Contains(text, "did not do its work")
		})
		left, err := l.Accept() // it goes on
		if err != nil {
			t.Fatal(err)
		}
		defer left.Close() // and so it ends
	}
	stop()
	if got := lines(t, out); len(got) != 2 || !strings.Contains(got[1], ";as usual;the process has changed;") || strings.Contains(log.String(), "did not do") {
		t.Errorf("the command was run %d times:\n%s\nand the log says\n%s\nwant it twice, told what was before", len(got), strings.Join(got, "\n"), log.String())
	}
}

func TestCommandNeverRunsTwiceAtATime(t *testing.T) {
	t.Setenv(doEnv, "slow")
	out := filepath.Join(t.TempDir(), "said")
	b := monitor.NewBoard("", nil)
	stop := telling(t, b, signal.Options{Command: []string{os.Args[0], out}})
	b.Set(status("a", "as usual", 1))
	until(t, "the first run", func() bool { _, err := os.Stat(out + ".running"); return err == nil })
	for range 20 {
		b.Set(status("a", "the process has changed", 1))
		b.Set(status("b", "as usual", 1))
		b.Set(status("a", "cannot say", 1))
	}
	if err := os.WriteFile(out+".go", nil, 0o644); err != nil {
		t.Fatal(err)
	}
	until(t, "the last run", func() bool { return len(lines(t, out)) == 3 })
	stop()
	got := strings.Join(lines(t, out), "\n")
	if strings.Contains(got, "TWICE") || !strings.Contains(got, ";a;as usual;cannot say;") || !strings.Contains(got, ";b;;as usual;") {
		t.Errorf("the command was told\n%s\nwant each line as it stood last, one after another", got)
	}
}

func TestCommandThatFails(t *testing.T) {
	for _, c := range []struct {
		do, program, says string
		limit             time.Duration
	}{
		{"fail", os.Args[0], "the horn is not there", 0},
		{"hang", os.Args[0], "it took longer than 300ms", 300 * time.Millisecond},
		{"note", filepath.Join(t.TempDir(), "missing"), "missing", 0},
	} {
		t.Run(c.do, func(t *testing.T) {
			t.Setenv(doEnv, c.do)
			b := monitor.NewBoard("", nil)
			var log journal
			stop := telling(t, b, signal.Options{Command: []string{c.program}, Limit: c.limit, Log: log.log()})
			for i, v := range []string{"as usual", "cannot say"} { // it is run again the next time
				b.Set(status("a", v, 1))
				until(t, "the log", func() bool { return strings.Count(log.String(), "level=ERROR") == i+1 })
			}
			stop()
			if !strings.Contains(log.String(), c.says) {
				t.Errorf("log = %s, want %q", log.String(), c.says)
			}
		})
	}
}

// What the command has started is stopped with it: the connection that it holds ends.
func TestCommandIsStoppedWithAllItStarted(t *testing.T) {
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	defer l.Close()
	t.Setenv(doEnv, "hang")
	t.Setenv(callEnv, l.Addr().String())
	b := monitor.NewBoard("", nil)
	var log journal
	stop := telling(t, b, signal.Options{Command: []string{os.Args[0]}, Limit: 10 * time.Second, Log: log.log()})
	defer stop()
	b.Set(status("a", "as usual", 1))
	if err := l.(*net.TCPListener).SetDeadline(time.Now().Add(time.Minute)); err != nil {
		t.Fatal(err)
	}
	c, err := l.Accept()
	if err != nil {
		t.Fatal(err)
	}
	defer c.Close()
	if err := c.SetReadDeadline(time.Now().Add(time.Minute)); err != nil {
		t.Fatal(err)
	}
	if _, err := c.Read(make([]byte, 1)); err == nil || errors.Is(err, os.ErrDeadlineExceeded) {
		t.Errorf("reading from what the command started = %v, want the end", err)
	}
	until(t, "the log", func() bool { return strings.Contains(log.String(), "it took longer than 10s") })
}

// TestCommandIsRunAgain: a verdict that the command could not be told is told again after a while, and as often as it says no more once
// that succeeded.
func TestCommandIsRunAgain(t *testing.T) {
	t.Setenv(doEnv, "twice")
	out := filepath.Join(t.TempDir(), "runs")
	b := monitor.NewBoard("", nil)
	var log journal
	stop := telling(t, b, signal.Options{Command: []string{os.Args[0], out}, Pause: time.Millisecond, Log: log.log()})
	b.Set(status("a", "as usual", 1))
	until(t, "the run that succeeds", func() bool { return strings.Contains(log.String(), "the command was run") })
	b.Set(status("a", "the process has changed", 1))
	until(t, "the next verdict", func() bool { return strings.Count(log.String(), "the command was run") == 2 })
	stop()
	want := []string{">as usual", ">as usual", ">as usual", "as usual>the process has changed"}
	if got := lines(t, out); !slices.Equal(got, want) {
		t.Errorf("the command was run for %q, want %q", got, want)
	}
}

// TestCommandIsGivenUp: one that never works is run a few times and then no more, until the verdict is another.
func TestCommandIsGivenUp(t *testing.T) {
	t.Setenv(doEnv, "fail")
	b := monitor.NewBoard("", nil)
	var log journal
	stop := telling(t, b, signal.Options{Command: []string{os.Args[0]}, Pause: time.Millisecond, Log: log.log()})
	for i, verdict := range []string{"as usual", "cannot say"} {
		b.Set(status("a", verdict, 1))
		until(t, "giving up", func() bool { return strings.Count(log.String(), "is not run again before") == i+1 })
	}
	stop()
	if got := strings.Count(log.String(), "did not do its work"); got != 12 {
		t.Errorf("run %d times for two verdicts, want 6 for each", got)
	}
}
