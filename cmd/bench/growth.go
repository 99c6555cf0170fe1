package main

import (
	"context"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"time"

	"asusual/cmd/asusual/gather"
	"asusual/model"
	"asusual/model/project"
	"asusual/model/spectrum"
	"asusual/monitor/history"
)

// A growing is one job at growing sizes. Its process is told n and p in the name of the job.
type growing struct {
	name  string
	what  string
	sizes [][2]int // n and p
}

func growths(most int) []growing {
	up := func(p int, ns ...int) (out [][2]int) {
		for _, n := range ns {
			if n <= most {
				out = append(out, [2]int{n, p})
			}
		}
		return out
	}
	wider := func(n int, ps ...int) (out [][2]int) {
		for _, p := range ps {
			out = append(out, [2]int{min(n, most), p})
		}
		return out
	}
	return []growing{
		{"learn", "model.Learn, 10 runs, in memory, the runs' own time not counted", append(up(128, 1000, 10000, 100000, 1000000), wider(5000, 128, 256, 512, 1024, 2048, 4096)...)},
		{"pca", "project.FitStream of spectra that are made again for each reading", append(up(128, 1000, 10000, 100000, 1000000), wider(10000, 128, 256, 512, 1024, 2048, 4096)...)},
		{"judge", "Judger.Judge of n spectra", append(up(128, 1000, 10000, 100000, 1000000), wider(10000, 128, 256, 512, 1024, 2048, 4096)...)},
		{"history", "Append of n records in batches of 2,000, then a shift of 28,800 (or all) read out of them", up(6, 1000, 10000, 100000, 1000000)},
	}
}

// grow prints a table for each job: the time, and the time of one spectrum, at each size.
func (b *bench) grow(ctx context.Context, out io.Writer) error {
	for _, g := range growths(max(1000, b.files*50)) {
		if !strings.Contains(g.name, b.jobs) {
			continue
		}
		fmt.Fprintf(out, "%s\n\n| n | p | wall | CPU | CPU of one spectrum | memory | beside |\n|---|---|---|---|---|---|---|\n", g.what)
		for _, s := range g.sizes {
			fmt.Fprintf(b.log, "bench: %s of %d × %d\n", g.name, s[0], s[1])
			t, err := b.child(ctx, fmt.Sprintf("growth %s %d %d", g.name, s[0], s[1]))
			if err != nil {
				return fmt.Errorf("%s of %d × %d: %w", g.name, s[0], s[1], err)
			}
			fmt.Fprintf(out, "| %d | %d | %s | %s | %s | %s | %s |\n", s[0], s[1], seconds(t.Wall), seconds(t.CPU), seconds(t.CPU/float64(s[0])), megabytes(t.Peak), t.Note)
		}
		fmt.Fprintln(out)
	}
	return nil
}

// growthJob does the job of one line of a growth table.
func (o options) growthJob(ctx context.Context) (took, error) {
	var name string
	var n, p int
	if _, err := fmt.Sscanf(o.child, "growth %s %d %d", &name, &n, &p); err != nil {
		return took{}, fmt.Errorf("%q is no job", o.child)
	}
	switch name {
	case "learn":
		_, t, err := o.learnBands(n, p)
		return t, err
	case "pca":
		return o.streamBands(n, p)
	case "judge":
		return o.judgeBands(n, p)
	case "history":
		return o.keep(ctx, n, p)
	}
	return took{}, fmt.Errorf("%q is no job", o.child)
}

func axisOf(p int) (*spectrum.Axis, error) {
	at := make([]float64, p)
	for j := range at {
		at[j] = 900 + 800*float64(j)/float64(p)
	}
	return spectrum.NewAxis(spectrum.Nanometre, at)
}

// learnBands learns a reference from n spectra in ten runs, each with a height of its own.
func (o options) learnBands(n, p int) (*model.Reference, took, error) {
	axis, err := axisOf(p)
	if err != nil {
		return nil, took{}, err
	}
	var t model.Training
	t.Expect(model.Usual, axis, gather.Room(n*p))
	b, x := newBands(p, o.seed), make([]float64, p)
	for i := range n {
		b.next(x)
		run := i * runs / n
		t.Add(model.Usual, spectrum.Spectrum{
			Axis: axis, Values: x, Quantity: spectrum.Absorbance, Run: fmt.Sprintf("run %d", run+1),
			Time: day.AddDate(0, 0, 30*run).Add(time.Duration(i) * time.Second), File: fmt.Sprint(i),
		})
	}
	w := start()
	ref, err := model.Learn(&t, model.Options{Name: "growth", Now: day, Pretreat: steps, Each: gather.Each})
	return ref, w.stop(), err
}

// streamBands makes the spectra anew for each reading and takes the time of making them off.
func (o options) streamBands(n, p int) (took, error) {
	x := make([]float64, 256*p)
	readings := 0
	var making took
	each := func(take func([]float64) error) error {
		readings++
		b := newBands(p, o.seed)
		for left := n; left > 0; left -= 256 {
			w := start()
			rows := x[:min(left, 256)*p]
			for i := 0; i < len(rows); i += p {
				b.next(rows[i : i+p])
			}
			m := w.stop()
			making.Wall, making.CPU = making.Wall+m.Wall, making.CPU+m.CPU
			if err := take(rows); err != nil {
				return err
			}
		}
		return nil
	}
	w := start()
	_, err := project.FitStream(each, p, components)
	t := w.stop()
	t.Wall, t.CPU = t.Wall-making.Wall, t.CPU-making.CPU
	t.Note = fmt.Sprintf("read %d times", readings)
	return t, err
}

func (o options) judgeBands(n, p int) (took, error) {
	ref, _, err := o.learnBands(600, p)
	if err != nil {
		return took{}, err
	}
	var all []spectrum.Spectrum
	b := newBands(p, o.seed+1)
	for range 100 {
		s := spectrum.Spectrum{Axis: ref.Axis(), Values: make([]float64, p), Quantity: spectrum.Absorbance}
		b.next(s.Values)
		all = append(all, s)
	}
	j := model.NewJudger(ref)
	var d model.Judgement
	w := start()
	for i := range n {
		j.Judge(&d, all[i%len(all)])
	}
	return w.stop(), nil
}

// keep appends n records of k scores to a new history and reads a shift out of it.
func (o options) keep(ctx context.Context, n, k int) (took, error) {
	dir, err := os.MkdirTemp(o.dir, "history-")
	if err != nil {
		return took{}, err
	}
	defer os.RemoveAll(dir)
	file := filepath.Join(dir, "asusual.history")
	db, err := history.Open(ctx, file, "bench")
	if err != nil {
		return took{}, err
	}
	defer db.Close()
	w := start()
	for from := 0; from < n; from += 2000 {
		f := history.File{Name: fmt.Sprintf("part-%07d.csv", from), Version: 1, Modified: day, Received: day}
		f.Digest = history.Digest{byte(from), byte(from >> 8), byte(from >> 16), byte(from >> 24)}
		records := make([]history.Record, min(2000, n-from))
		for i := range records {
			at := day.Add(time.Duration(from+i) * time.Second)
			records[i] = history.Record{
				Line: lineName, File: f.Name, Row: i + 1, Time: at, Received: at, Condition: model.Usual, T2: 5, Q: 1e-6, Distance: 0.5, Inside: true,
				Verdict: "as usual", Scores: make([]float64, k), Instrument: "fit", Reference: "0123456789ab", Mark: int64(from + i),
			}
		}
		f.Rows = len(records)
		if err := db.Append(ctx, history.Batch{Line: lineName, Files: []history.Judged{{File: f, Records: records}}}); err != nil {
			return took{}, err
		}
	}
	t := w.stop()
	r := start()
	found := 0
	from := day.Add(time.Duration(n/2) * time.Second)
	for _, err := range db.Spectra(ctx, history.Query{Line: lineName, From: from, To: from.Add(8 * time.Hour)}) {
		if err != nil {
			return took{}, err
		}
		found++
	}
	reading := r.stop().Wall
	if err := db.Close(); err != nil { // which moves what stands beside the file into it
		return took{}, err
	}
	info, err := os.Stat(file)
	if err != nil {
		return took{}, err
	}
	t.Note = fmt.Sprintf("%d read in %s; %.3g MB", found, seconds(reading), float64(info.Size())/1e6)
	return t, nil
}
