package main

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"time"
)

// Took is what a job took.
type took struct {
	Wall, CPU float64 // seconds
	Peak      float64 // MB
	Size      float64 // MB, of the binary; 0 where that is not of interest
	T2, Q     float64 // limits that were learned; 0 where none were
	Note      string  // of interest beside, or why nothing was measured
	Missing   bool    // nothing was measured
}

// A stopwatch measures within this process.
type stopwatch struct {
	at   time.Time
	busy time.Duration
}

func start() stopwatch { return stopwatch{time.Now(), busy()} }

func (s stopwatch) stop() took {
	return took{Wall: time.Since(s.at).Seconds(), CPU: (busy() - s.busy).Seconds()}
}

// bench measures jobs.
type bench struct {
	options
	log io.Writer
}

// args are the flags that make another bench do the same with the same.
func (s sizes) args() []string {
	return []string{
		"-files", strconv.Itoa(s.files), "-channels", strconv.Itoa(s.channels), "-rows", strconv.Itoa(s.rows), "-wide", strconv.Itoa(s.wide),
		"-shift", strconv.Itoa(s.shift), "-shifts", strconv.Itoa(s.shifts), "-seed", strconv.FormatUint(s.seed, 10),
	}
}

// shortest measures as often as is asked for, and returns what took least: what else the machine does only adds to it.
func (b *bench) shortest(ctx context.Context, measure func(context.Context) (took, error)) (best took, err error) {
	for i := range max(b.times, 1) {
		t, err := measure(ctx)
		if err != nil || t.Missing {
			return t, err
		}
		if i == 0 || t.Wall < best.Wall {
			best = t
		}
	}
	return best, nil
}

// child does a job in a process of its own, which prints what it took.
func (b *bench) child(ctx context.Context, job string) (took, error) {
	if b.here {
		o := b.options
		o.child = job
		return o.childJob(ctx)
	}
	self, err := os.Executable()
	if err != nil {
		return took{}, err
	}
	return b.process(exec.CommandContext(ctx, self, append(b.sizes.args(), "-dir", b.dir, "-child", job)...))
}

// peer runs a script of testdata/peers. Where Python or a package is missing, that is the note and no error.
func (b *bench) peer(ctx context.Context, args ...string) (took, error) {
	if b.python == "none" {
		return took{Missing: true, Note: "not asked for"}, nil
	}
	script, err := scriptFile(args[0])
	if err != nil {
		return took{Missing: true, Note: err.Error()}, nil
	}
	c := exec.CommandContext(ctx, b.python, append([]string{script}, args[1:]...)...)
	c.Env = slices.DeleteFunc(os.Environ(), func(s string) bool { return strings.HasPrefix(s, "OPENBLAS_") })
	t, err := b.process(c)
	var missing *missingError
	if errors.As(err, &missing) || errors.Is(err, exec.ErrNotFound) || errors.Is(err, os.ErrNotExist) {
		return took{Missing: true, Note: err.Error()}, nil
	}
	return t, err
}

// scriptFile finds a script from the top of the module or from here.
func scriptFile(name string) (string, error) {
	for _, top := range []string{".", "../.."} {
		file := filepath.Join(top, "testdata", "peers", name)
		if _, err := os.Stat(file); err == nil {
			return file, nil
		}
	}
	return "", fmt.Errorf("testdata/peers/%s is not here: run bench at the top of the repository", name)
}

// A missingError says that Python lacks a package.
type missingError struct{ module string }

func (e *missingError) Error() string { return "Python has no " + e.module }

// process runs a command that prints one took as JSON.
func (b *bench) process(c *exec.Cmd) (took, error) {
	var out, errOut bytes.Buffer
	c.Stdout, c.Stderr = &out, &errOut
	if err := c.Run(); err != nil {
		if _, module, ok := strings.Cut(errOut.String(), "ModuleNotFoundError: No module named "); ok {
			return took{}, &missingError{strings.TrimSpace(module)}
		}
		return took{}, fmt.Errorf("%s: %w: %s", strings.Join(c.Args, " "), err, bytes.TrimSpace(errOut.Bytes()))
	}
	var t took
	if err := json.Unmarshal(out.Bytes(), &t); err != nil {
		return took{}, fmt.Errorf("%s: printed %.200q: %w", strings.Join(c.Args, " "), out.Bytes(), err)
	}
	t.Peak = float64(peak(c.ProcessState)) / 1e6
	return t, nil
}

// program runs asusual from its start to its end.
func (b *bench) program(ctx context.Context, dir string, args ...string) (took, error) {
	if b.asusual == "none" {
		return took{Missing: true, Note: "no binary"}, nil
	}
	file, err := filepath.Abs(b.asusual)
	if err != nil {
		return took{}, err
	}
	c := exec.CommandContext(ctx, file, args...)
	c.Dir = dir
	var said bytes.Buffer
	c.Stdout, c.Stderr = &said, &said
	at := time.Now()
	err = c.Run()
	t := took{Wall: time.Since(at).Seconds()}
	if c.ProcessState == nil || c.ProcessState.ExitCode() < 0 || slices.Contains([]int{1, 2}, c.ProcessState.ExitCode()) { // 10 and 11 are verdicts
		return t, fmt.Errorf("asusual %s: %w: %s", strings.Join(args, " "), err, bytes.TrimSpace(said.Bytes()))
	}
	t.CPU = (c.ProcessState.UserTime() + c.ProcessState.SystemTime()).Seconds()
	t.Peak = float64(peak(c.ProcessState)) / 1e6
	return t, nil
}
