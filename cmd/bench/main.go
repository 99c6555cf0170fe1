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
	"runtime/debug"
)

func main() {
	debug.SetGCPercent(50) // as asusual does
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt)
	defer stop()
	os.Exit(run(ctx, os.Args[1:], os.Stdout, os.Stderr))
}

// Options are what the command line says.
type options struct {
	sizes
	dir, jobs, asusual, python string
	profile                    string
	growth                     bool
	times                      int    // how often each job is measured
	child                      string // the job that this process is to do itself
	here                       bool   // do jobs in this process: for tests
}

// Sizes say how much of everything is made and measured.
type sizes struct {
	files, channels int // spectra in files of their own
	rows, wide      int // the matrix of the streamed PCA
	shift, shifts   int // spectra of a shift at one a second; shifts of the two periods that are compared
	seed            uint64
}

func run(ctx context.Context, args []string, out, errOut io.Writer) int {
	var o options
	f := flag.NewFlagSet("bench", flag.ContinueOnError)
	f.SetOutput(errOut)
	f.StringVar(&o.dir, "dir", "", "`FOLDER` of the files")
	f.IntVar(&o.files, "files", 20000, "spectra, a file each")
	f.IntVar(&o.channels, "channels", 512, "channels of each, 128 to 1024")
	f.IntVar(&o.rows, "rows", 100000, "spectra of the streamed PCA")
	f.IntVar(&o.wide, "wide", 1024, "channels of each")
	f.IntVar(&o.shift, "shift", 28800, "spectra of a shift")
	f.IntVar(&o.shifts, "shifts", 42, "shifts that are compared, half with half")
	f.Uint64Var(&o.seed, "seed", 1, "of the invented line")
	f.StringVar(&o.jobs, "jobs", "", "run only the jobs whose name holds the `TEXT`")
	f.BoolVar(&o.growth, "growth", false, "show how time grows with size")
	f.IntVar(&o.times, "times", 1, "how often each job of ours and of a peer is measured; the shortest counts")
	f.StringVar(&o.asusual, "asusual", "", "the binary `FILE`; none to leave out what needs it (default: built)")
	f.StringVar(&o.python, "python", "", "Python's `FILE`; none for no peers (default /usr/bin/python3, or python3)")
	f.StringVar(&o.child, "child", "", "do this `JOB` in this process and print its times; bench itself says so")
	f.StringVar(&o.profile, "profile", "", "write where the CPU's time of a -child goes to `FILE`, for go tool pprof")
	f.BoolVar(&o.here, "here", false, "do all jobs in this process, whose memory they then share")
	if err := f.Parse(args); err != nil {
		if errors.Is(err, flag.ErrHelp) {
			return 0
		}
		return 2
	}
	if f.NArg() > 0 || o.files < 40 || o.channels < 128 || o.channels > 1024 || o.rows < 100 || o.wide < 64 || o.shift < 40 || o.shifts < 2 || o.times < 1 {
		fmt.Fprintf(errOut, "bench: %q: wrong sizes, or an argument too many; see -help\n", args)
		return 2
	}
	if err := o.do(ctx, out, errOut); err != nil {
		fmt.Fprintf(errOut, "bench: %v\n", err)
		return 1
	}
	return 0
}

// do does one job as a child, or measures all.
func (o options) do(ctx context.Context, out, errOut io.Writer) (err error) {
	if o.child != "" {
		return o.asChild(ctx, out)
	}
	if o.dir == "" {
		if o.dir, err = os.MkdirTemp("", "bench-"); err != nil {
			return err
		}
		defer func() { err = errors.Join(err, os.RemoveAll(o.dir)) }()
	}
	if o.asusual == "" && !o.growth {
		if o.asusual, err = build(ctx, o.dir); err != nil {
			return err
		}
	}
	b := &bench{options: o, log: errOut}
	b.findPython()
	fmt.Fprintf(out, "%s, %s/%s, %d processors.\n\n", runtime.Version(), runtime.GOOS, runtime.GOARCH, runtime.GOMAXPROCS(0))
	if o.growth {
		return b.grow(ctx, out)
	}
	return b.all(ctx, out)
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

// findPython settles which Python runs the peers.
func (b *bench) findPython() {
	if b.python != "" {
		return
	}
	b.python = "/usr/bin/python3" // Debian's, whose packages the peers want; another may stand before it in the path
	if _, err := os.Stat(b.python); err != nil {
		b.python = "python3"
	}
}
