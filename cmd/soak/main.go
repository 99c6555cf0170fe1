package main

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"io"
	"os"
	"os/exec"
	"os/signal"
	"path/filepath"
	"runtime"
	"strconv"
	"strings"
	"syscall"
	"time"
)

func main() {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	status := run(ctx, os.Args[1:], os.Stdout, os.Stderr)
	stop()
	os.Exit(status)
}

// Options are what the command line says.
type options struct {
	rate         float64
	length       time.Duration
	bursts       counts
	standing     int
	stops        int
	channels     int
	dir, asusual string
	inside       bool
	seed         uint64
}

// mostFiles and longest bound a job.
const (
	mostFiles = 2_000_000
	longest   = 24 * time.Hour
)

// Counts are numbers of files, separated by commas.
type counts []int

// String writes the numbers.
func (c *counts) String() string { return strings.Trim(fmt.Sprint([]int(*c)), "[]") }

// Set reads the numbers.
func (c *counts) Set(text string) error {
	for _, s := range strings.Split(text, ",") {
		n, err := strconv.Atoi(s)
		if err != nil || n < 1 {
			return fmt.Errorf("%q: not a number of files", s)
		}
		*c = append(*c, n)
	}
	return nil
}

func run(ctx context.Context, args []string, out, errOut io.Writer) int {
	var o options
	f := flag.NewFlagSet("soak", flag.ContinueOnError)
	f.SetOutput(errOut)
	f.Float64Var(&o.rate, "rate", 0, "files a second, for the time that -for says")
	f.DurationVar(&o.length, "for", 5*time.Minute, "how long")
	f.Var(&o.bursts, "bursts", "`NUMBERS` of files that come at once, with commas between them")
	f.IntVar(&o.standing, "standing", 0, "files that are there when the watch starts")
	f.IntVar(&o.stops, "stops", 0, "how often the watch is stopped in a burst and started again")
	f.IntVar(&o.channels, "channels", 64, "channels of each spectrum, 64 to 1024")
	f.StringVar(&o.dir, "dir", "", "`FOLDER` of the files (default: one that is removed at the end)")
	f.StringVar(&o.asusual, "asusual", "", "the binary `FILE` (default: built)")
	f.BoolVar(&o.inside, "inside", false, "watch in this process")
	f.Uint64Var(&o.seed, "seed", 1, "of the invented line")
	if err := f.Parse(args); err != nil {
		if errors.Is(err, flag.ErrHelp) {
			return 0
		}
		return 2
	}
	jobs, err := o.jobs()
	if f.NArg() > 0 || err != nil {
		fmt.Fprintf(errOut, "soak: %q: %v; see -help\n", args, err)
		return 2
	}
	whole, err := o.do(ctx, jobs, out, errOut)
	if err != nil {
		fmt.Fprintf(errOut, "soak: %v\n", err)
	}
	if err != nil || !whole {
		return 1
	}
	return 0
}

// A job is one way in which files come.
type job struct {
	name     string
	files    int
	every    time.Duration // between two files; 0: all at once
	standing bool          // they are there before the watch
	stops    int
}

// jobs returns what the options ask for, or an error that says what is wrong with them.
func (o *options) jobs() ([]job, error) {
	var all []job
	if o.rate < 0 || o.rate > 10_000 || o.length <= 0 || o.length > longest || o.channels < 64 || o.channels > 1024 || o.stops < 0 || o.stops > 1000 {
		return nil, errors.New("a number out of its range")
	}
	if o.rate > 0 {
		all = append(all, job{name: fmt.Sprintf("%g files/s for %v", o.rate, o.length), files: int(o.rate * o.length.Seconds()),
			every: time.Duration(float64(time.Second) / o.rate)})
	}
	for _, n := range o.bursts {
		all = append(all, job{name: fmt.Sprintf("%d at once", n), files: n})
	}
	if o.standing > 0 {
		all = append(all, job{name: fmt.Sprintf("%d there at the start", o.standing), files: o.standing, standing: true})
	}
	if o.stops > 0 {
		if len(o.bursts) == 0 {
			return nil, errors.New("-stops needs -bursts")
		}
		all = append(all, job{name: fmt.Sprintf("%d at once, stopped %d times", o.bursts[0], o.stops), files: o.bursts[0], stops: o.stops})
	}
	for _, j := range all {
		if j.files < 1 || j.files > mostFiles {
			return nil, fmt.Errorf("%s: %d files, want 1 to %d", j.name, j.files, mostFiles)
		}
	}
	if len(all) == 0 {
		return nil, errors.New("nothing to do; -rate, -bursts or -standing says what")
	}
	return all, nil
}

// do does the jobs one after another. whole is false where a file was lost or doubled.
func (o *options) do(ctx context.Context, jobs []job, out, log io.Writer) (whole bool, err error) {
	if o.dir == "" {
		if o.dir, err = os.MkdirTemp("", "soak-"); err != nil {
			return false, err
		}
		defer func() { err = errors.Join(err, os.RemoveAll(o.dir)) }()
	}
	if o.asusual == "" && !o.inside {
		fmt.Fprintln(log, "building asusual")
		if o.asusual, err = build(ctx, o.dir); err != nil {
			return false, err
		}
	}
	fmt.Fprintf(out, "%s, %s/%s, %d processors; spectra of %d channels.\n\n%s", runtime.Version(), runtime.GOOS, runtime.GOARCH,
		runtime.NumCPU(), o.channels, heading)
	whole = true
	var memory strings.Builder
	for i, j := range jobs {
		s := &soak{options: o, job: j, dir: filepath.Join(o.dir, fmt.Sprintf("job-%d", i+1)), log: log}
		r, err := s.run(ctx)
		if err != nil {
			return false, fmt.Errorf("%s: %w", j.name, err)
		}
		fmt.Fprint(out, r.row())
		memory.WriteString(r.memory())
		whole = whole && r.lost == 0 && r.doubled == 0
		if err := os.RemoveAll(s.dir); err != nil { // some disks take longer for that than the job took
			return false, err
		}
	}
	if memory.Len() > 0 {
		fmt.Fprintf(out, "\n%s", memory.String())
	}
	return whole, nil
}

// build builds asusual as it is released.
func build(ctx context.Context, dir string) (string, error) {
	file, err := filepath.Abs(filepath.Join(dir, "asusual"))
	if err != nil {
		return "", err
	}
	if runtime.GOOS == "windows" {
		file += ".exe"
	}
	c := exec.CommandContext(ctx, "go", "build", "-trimpath", "-ldflags", "-s -w", "-o", file, "asusual/cmd/asusual")
	c.Env = append(os.Environ(), "CGO_ENABLED=0")
	if text, err := c.CombinedOutput(); err != nil {
		return "", fmt.Errorf("building asusual: %w: %s", err, text)
	}
	return file, nil
}
