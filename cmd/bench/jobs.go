package main

import (
	"context"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"time"
)

// A job is one row of the table.
type job struct {
	name  string
	goal  goal
	ours  func(context.Context) (took, error)
	peers []peer
}

// A peer is another way to do a job, in Python.
type peer struct {
	name string
	run  func(context.Context) (took, error)
}

// all measures all jobs that are asked for.
func (b *bench) all(ctx context.Context, out io.Writer) error {
	fmt.Fprintln(out, "| job | goal | ours | peer | ratio | met |")
	fmt.Fprintln(out, "|---|---|---|---|---|---|")
	var core took
	for _, j := range b.list() {
		if !strings.Contains(j.name, b.jobs) {
			continue
		}
		fmt.Fprintf(b.log, "bench: %s\n", j.name)
		ours, err := b.shortest(ctx, j.ours)
		if err != nil {
			return fmt.Errorf("%s: %w", j.name, err)
		}
		if j.goal.cores == 0 && core.Wall == 0 {
			core = ours // the first job
		}
		var peers []took
		var them, ratios []string
		for _, p := range j.peers {
			t, err := b.shortest(ctx, p.run)
			if err != nil {
				return fmt.Errorf("%s: %s: %w", j.name, p.name, err)
			}
			peers, them, ratios = append(peers, t), append(them, p.name+": "+t.cell()+differs(t, ours)), append(ratios, ratio(t, ours))
		}
		row := []string{j.name, j.goal.text, ours.cell(), strings.Join(them, "<br>"), strings.Join(ratios, "<br>"), j.goal.met(ours, peers, core)}
		fmt.Fprintf(out, "| %s |\n", strings.Join(row, " | "))
	}
	return nil
}

// list returns the jobs in the order of the table. Each makes the files that it needs, unless they are there.
func (b *bench) list() []job {
	script := func(name string, args ...string) peer {
		return peer{name, func(ctx context.Context) (took, error) { return b.peer(ctx, args...) }}
	}
	good, matrix := b.folder("good"), filepath.Join(b.folder("matrix"), "rows.f64")
	files := fmt.Sprintf("%d files of %d channels", b.files/runs*runs, b.channels)
	return []job{
		{"learn, core: " + files, goal{text: "≤ 1/5 numpy, ≤ 1/25 pandas, ≤ 150 MB", peak: 150, ratios: []float64{5, 25}}, b.with("make good", "core"), []peer{
			script("numpy, scipy", "learn.py", "numpy", good, b.modelFile()), script("pandas, scikit-learn", "learn.py", "pandas", good, b.modelFile()),
		}},
		{"learn, whole: " + files, goal{text: "≤ 3 × the core", cores: 3}, b.learn, nil},
		{fmt.Sprintf("PCA, streamed: %d spectra of %d channels", b.rows, b.wide), goal{text: "≤ 2 × scikit-learn, ≤ 300 MB", peak: 300, ratios: []float64{0.5, 0.5}}, b.with("make matrix", "stream"), []peer{
			script("scikit-learn, all held", "pca.py", "held", matrix, strconv.Itoa(b.wide)), script("scikit-learn, streamed", "pca.py", "streamed", matrix, strconv.Itoa(b.wide)),
		}},
		{"judge one spectrum of 512 channels", goal{text: "≤ 4 µs", wall: 4e-6}, b.with("", "judge 512"), []peer{script("numpy, scipy", "judge.py", "512")}},
		{"judge one spectrum of 1024 channels", goal{text: "≤ 8 µs", wall: 8e-6}, b.with("", "judge 1024"), []peer{script("numpy, scipy", "judge.py", "1024")}},
		{"backlog to history: " + files, goal{text: "≥ 20,000 files/s", wall: float64(b.files/runs*runs) / 20000}, b.with("make good", "backlog"), []peer{script("numpy, scipy, sqlite3", "backlog.py", good, b.modelFile())}},
		{fmt.Sprintf("report of a shift of %d spectra", b.shift), goal{text: "≤ 1.5 s", wall: 1.5}, b.handover, nil},
		{fmt.Sprintf("compare %d spectra with as many", b.shift*b.shifts/2), goal{text: "≤ 5 s, ≤ 300 MB", wall: 5, peak: 300}, b.compare, nil},
		{"asusual --help", goal{text: "≤ 20 ms, a binary ≤ 25 MB", wall: 0.02, size: 25}, b.help, nil},
	}
}

// modelFile is where the peer that learned leaves its model for the one that judges.
func (b *bench) modelFile() string { return b.folder("good") + ".npz" }

// with makes files and then does the job, each in a process of its own.
func (b *bench) with(files, job string) func(context.Context) (took, error) {
	return func(ctx context.Context) (took, error) {
		if files != "" {
			if _, err := b.child(ctx, files); err != nil {
				return took{}, err
			}
		}
		return b.child(ctx, job)
	}
}

// learn is the whole of asusual learn.
func (b *bench) learn(ctx context.Context) (took, error) {
	if _, err := b.child(ctx, "make good"); err != nil {
		return took{}, err
	}
	good, err := filepath.Abs(b.folder("good"))
	if err != nil {
		return took{}, err
	}
	to, err := os.MkdirTemp(b.dir, "learned-")
	if err != nil {
		return took{}, err
	}
	defer os.RemoveAll(to)
	return b.program(ctx, to, "learn", "--good", good, "--reference", "line.reference", "--pretreat", "snv, derivative window=15 degree=2 order=1")
}

// handover is the whole report of the first shift in history.
func (b *bench) handover(ctx context.Context) (took, error) {
	if _, err := b.child(ctx, "make line"); err != nil {
		return took{}, err
	}
	return b.program(ctx, b.folder("line"), "handover", "--date", shiftFrom.Format(time.DateOnly), "--shift", "early")
}

// compare lays the first half of history beside the second.
func (b *bench) compare(ctx context.Context) (took, error) {
	if _, err := b.child(ctx, "make line"); err != nil {
		return took{}, err
	}
	half := shiftFrom.Add(time.Duration(b.shifts/2) * b.shiftLength())
	end := half.Add(time.Duration(b.shifts-b.shifts/2) * b.shiftLength())
	period := func(from, to time.Time) string {
		return from.Format("2006-01-02T15:04:05") + ".." + to.Format("2006-01-02T15:04:05")
	}
	return b.program(ctx, b.folder("line"), "compare", "--this", period(half, end), "--that", period(shiftFrom, half))
}

// help starts the program ten times and takes the quickest, for it is the start that is asked for.
func (b *bench) help(ctx context.Context) (took, error) {
	var best took
	for i := range 10 {
		t, err := b.program(ctx, b.dir, "--help")
		if err != nil || t.Missing {
			return t, err
		}
		if i == 0 || t.Wall < best.Wall {
			best = t
		}
	}
	info, err := os.Stat(b.asusual)
	if err != nil {
		return took{}, err
	}
	best.Size = float64(info.Size()) / 1e6
	best.Note = fmt.Sprintf("a binary of %.3g MB", best.Size)
	return best, nil
}
