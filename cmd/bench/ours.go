package main

import (
	"context"
	"encoding/binary"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"runtime/debug"
	"runtime/pprof"
	"sync"
	"time"

	"asusual/cmd/asusual/gather"
	"asusual/model"
	"asusual/model/oatline"
	"asusual/model/position"
	"asusual/model/pretreat"
	"asusual/model/project"
	"asusual/model/spectrum"
	"asusual/monitor"
	"asusual/monitor/history"
)

// childJob does the job that this process was started for.
func (o options) childJob(ctx context.Context) (took, error) {
	jobs := map[string]func(context.Context) (took, error){
		"make good":   made(o.makeGood),
		"make line":   made(o.makeLine),
		"make matrix": made(o.makeMatrix),
		"core":        o.core,
		"stream":      o.stream,
		"judge 512":   func(context.Context) (took, error) { return o.judge(512) },
		"judge 1024":  func(context.Context) (took, error) { return o.judge(1024) },
		"backlog":     o.backlog,
	}
	do, ok := jobs[o.child]
	if !ok {
		return o.growthJob(ctx)
	}
	return do(ctx)
}

// asChild prints what the job took.
func (o options) asChild(ctx context.Context, out io.Writer) error {
	if o.profile != "" {
		f, err := os.Create(o.profile)
		if err != nil {
			return err
		}
		defer f.Close()
		if err := pprof.StartCPUProfile(f); err != nil {
			return err
		}
		defer pprof.StopCPUProfile()
	}
	if o.child != "backlog" { // as asusual does
		gather.LargeHeap(32 << 20)
	}
	t, err := o.childJob(ctx)
	if err != nil {
		return err
	}
	return json.NewEncoder(out).Encode(t)
}

func made(do func(context.Context) error) func(context.Context) (took, error) {
	return func(ctx context.Context) (took, error) {
		w := start()
		err := do(ctx)
		return w.stop(), err
	}
}

// core reads the known-good files, pretreats the spectra, fits the components and computes the textbook limits: what
// the peers do, and no more.
func (o options) core(ctx context.Context) (took, error) {
	w := start()
	list, err := gather.List([]string{o.folder("good")}, nil)
	if err != nil {
		return took{}, err
	}
	var c pretreated
	err = gather.Read(ctx, list.Files, gather.Options{Reuse: true}, func(b gather.Batch) error {
		for _, u := range b.Unreadable {
			return u
		}
		for _, s := range b.Spectra {
			if err := c.add(s); err != nil {
				return err
			}
		}
		return nil
	})
	if err != nil {
		return took{}, err
	}
	read := w.stop()
	m, err := c.moments.Fit(components, nil)
	if err != nil {
		return took{}, err
	}
	const alpha = 0.01
	t2, q := position.T2LimitF(m.N, components, alpha), position.QLimitJM(m.Theta, alpha)
	t := w.stop()
	t.T2, t.Q = t2, q
	t.Note = fmt.Sprintf("%d spectra; all but the last fit %.2g s; limits T² %.4g, Q %.4g", m.N, read.Wall, t2, q)
	return t, nil
}

// A pretreated gathers spectra, none of which is held.
type pretreated struct {
	chain   *pretreat.Chain
	y, work []float64
	moments *project.Moments
}

func (c *pretreated) add(s spectrum.Spectrum) (err error) {
	first := c.chain == nil
	if first {
		if c.chain, err = pretreat.Fit(s.Axis, steps, nil); err != nil {
			return err
		}
		c.y, c.work = make([]float64, c.chain.Out().Len()), make([]float64, c.chain.Work())
	}
	if err := c.chain.Apply(c.y, s.Values, c.work); err != nil {
		return fmt.Errorf("%s: %w", s.Name(), err)
	}
	if first {
		c.moments = project.NewMoments(c.y)
	}
	return c.moments.AddSpectrum(c.y)
}

// stream fits the components of the matrix without holding it.
func (o options) stream(context.Context) (took, error) {
	w := start()
	f, err := os.Open(filepath.Join(o.folder("matrix"), "rows.f64"))
	if err != nil {
		return took{}, err
	}
	defer f.Close()
	readings := 0
	m, err := project.FitStream(func(take func([]float64) error) error {
		readings++
		if _, err := f.Seek(0, io.SeekStart); err != nil {
			return err
		}
		return readAhead(f, 256*o.wide, take)
	}, o.wide, components)
	if err != nil {
		return took{}, err
	}
	t := w.stop()
	t.Note = fmt.Sprintf("%d spectra, read %d times; λ₁ %.5g, λ₆ %.5g", m.N, readings, m.Eigenvalues[0], m.Eigenvalues[components-1])
	return t, nil
}

// readAhead hands numbers from r on, so many at a time, and reads the next while these are used.
func readAhead(r io.Reader, some int, take func([]float64) error) error {
	type part struct {
		rows []float64
		err  error
	}
	parts, free := make(chan part), make(chan []float64, 2)
	free <- make([]float64, some)
	free <- make([]float64, some)
	var running sync.WaitGroup
	defer running.Wait()
	stop := make(chan struct{})
	defer close(stop)
	running.Go(func() {
		defer close(parts)
		b := make([]byte, 8*some)
		for {
			n, err := io.ReadFull(r, b)
			if errors.Is(err, io.EOF) {
				return
			}
			if errors.Is(err, io.ErrUnexpectedEOF) {
				err = nil
			}
			rows := (<-free)[:n/8]
			for i := range rows {
				rows[i] = math.Float64frombits(binary.LittleEndian.Uint64(b[8*i:]))
			}
			select {
			case parts <- part{rows, err}:
			case <-stop:
				return
			}
		}
	})
	for p := range parts {
		if p.err != nil {
			return p.err
		}
		if err := take(p.rows); err != nil {
			return err
		}
		free <- p.rows[:some]
	}
	return nil
}

// judge judges spectra that are in memory, one after another, and tells the time of one.
func (o options) judge(channels int) (took, error) {
	ref, line, err := o.reference(channels)
	if err != nil {
		return took{}, err
	}
	s, err := line.Series(oatline.Stretch{Run: "new", From: shiftFrom, N: 200})
	if err != nil {
		return took{}, err
	}
	var all []spectrum.Spectrum
	for sp := range s.All() {
		all = append(all, sp)
	}
	const times = 50
	j := model.NewJudger(ref)
	var d model.Judgement
	inside := 0
	w := start()
	for range times {
		for _, sp := range all {
			j.Judge(&d, sp)
			if d.Inside {
				inside++
			}
		}
	}
	t := w.stop()
	t.Wall /= float64(times * len(all))
	t.CPU /= float64(times * len(all))
	t.Note = fmt.Sprintf("%.3g %% inside", 100*float64(inside)/float64(times*len(all)))
	return t, nil
}

// backlog judges all files as a watch does that finds them at its start, and keeps what it found in history.
func (o options) backlog(ctx context.Context) (t took, err error) {
	defer debug.SetGCPercent(debug.SetGCPercent(200)) // as asusual watch does
	ref, _, err := o.reference(o.channels)
	if err != nil {
		return took{}, err
	}
	dir, err := os.MkdirTemp(o.dir, "backlog-")
	if err != nil {
		return took{}, err
	}
	defer func() { err = errors.Join(err, os.RemoveAll(dir)) }()
	w := start()
	db, err := history.Open(ctx, filepath.Join(dir, "asusual.history"), "bench")
	if err != nil {
		return took{}, err
	}
	judged := 0
	err = monitor.CatchUp(ctx, monitor.Line{
		Name: lineName, Folder: o.folder("good"), References: monitor.Always{Reference: monitor.Of(ref)}, History: db,
		Judged: func(history.Record) { judged++ },
	})
	if err = errors.Join(err, db.Close()); err != nil {
		return took{}, err
	}
	t = w.stop()
	if want := o.files / runs * runs; judged != want {
		return took{}, fmt.Errorf("%d of %d files were judged", judged, want)
	}
	t.Note = fmt.Sprintf("%.0f files/s", float64(judged)/t.Wall)
	return t, nil
}

// shiftLength is that of the shift that makeLine makes.
func (o options) shiftLength() time.Duration { return time.Duration(o.shift) * time.Second }
