package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"
	"time"

	"asusual/model/verdict"
	"asusual/monitor/history"
)

// A soak is one job being done.
type soak struct {
	*options
	job job
	dir string
	log io.Writer

	now     time.Time
	renamed []time.Time // when each file came; zero for one that was there
	started time.Time   // the first watch
}

// A result is what came of a job.
type result struct {
	job                               job
	judged, lost, doubled, unreadable int
	p50, p99, most                    time.Duration // delay
	first, took                       time.Duration // to the first verdict; from the first file, or the start, to the last judged
	atStart, atFifth, atEnd, peak     int64         // memory, bytes; 0: not known
	cpu, stopped                      time.Duration
	byThen                            []int   // judged when the watch was stopped
	course                            []int64 // memory over the job, a sample a minute
	load                              string
}

func (s *soak) run(ctx context.Context) (*result, error) {
	s.now = time.Now().Round(time.Millisecond).UTC()
	s.renamed = make([]time.Time, s.job.files)
	fmt.Fprintf(s.log, "%s: writing the files\n", s.job.name)
	if err := s.prepare(ctx); err != nil {
		return nil, err
	}
	fmt.Fprintf(s.log, "%s: watching\n", s.job.name)
	r := &result{job: s.job}
	if err := s.watch(ctx, r); err != nil {
		return nil, err
	}
	r.load = load()
	return r, s.count(ctx, r)
}

// watch runs the watch over the job, and measures it.
func (s *soak) watch(ctx context.Context, r *result) (err error) {
	s.started = time.Now()
	w, err := s.start(ctx)
	if err != nil {
		return err
	}
	defer func() { // nothing is left running where something went wrong
		if err != nil && w != nil {
			_, late := w.stop()
			err = errors.Join(err, late)
		}
	}()
	if err := s.up(ctx, w); err != nil {
		return err
	}
	usage := follow(w.pid())
	before := busy(w.pid())
	r.atStart = resident(w.pid())
	if !s.job.standing {
		if err := s.play(ctx); err != nil {
			return err
		}
	}
	for range s.job.stops {
		if w, err = s.again(ctx, w, r); err != nil {
			return err
		}
	}
	rest := s.job.files
	if len(r.byThen) > 0 {
		rest -= r.byThen[len(r.byThen)-1]
	}
	if err := s.judged(ctx, w, rest); err != nil {
		return err
	}
	r.cpu, r.atEnd, r.peak = busy(w.pid())-before, resident(w.pid()), peak(w.pid())
	samples := usage()
	if len(samples) > 0 {
		r.atFifth = samples[len(samples)/5]
	}
	r.course = course(samples)
	if s.job.stops > 0 {
		r.cpu, r.atFifth, r.course = 0, 0, nil // of several processes
	}
	took, err := w.stop()
	w = nil
	r.stopped = max(r.stopped, took)
	return err
}

// life is how long a watch is up before it is stopped: longer than the settle time, which a new one waits for before it
// takes files that are not old yet.
const life = 1500 * time.Millisecond

// again stops the watch after its life, and starts another. w is nil where none runs.
func (s *soak) again(ctx context.Context, w watch, r *result) (watch, error) {
	if err := until(ctx, time.Now().Add(life)); err != nil {
		return w, err
	}
	took, err := w.stop()
	if err != nil {
		return nil, err
	}
	r.stopped = max(r.stopped, took)
	db, err := history.Read(ctx, s.history())
	if err != nil {
		return nil, err
	}
	c, err := db.Counts(ctx, history.Query{Line: lineName}, 0)
	if err := errors.Join(err, db.Close()); err != nil {
		return nil, err
	}
	r.byThen = append(r.byThen, c.Judged+c.Unreadable)
	if w, err = s.start(ctx); err != nil {
		return nil, err
	}
	return w, s.up(ctx, w)
}

// count looks up in history what became of each file.
func (s *soak) count(ctx context.Context, r *result) (err error) {
	db, err := history.Read(ctx, s.history())
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, db.Close()) }()
	times := make([]int, s.job.files)
	var delays []time.Duration
	var last time.Time
	for rec, err := range db.Spectra(ctx, history.Query{Line: lineName}) {
		if err != nil {
			return err
		}
		i, err := strconv.Atoi(strings.TrimSuffix(rec.File, ".csv"))
		if err != nil || i < 0 || i >= len(times) {
			return fmt.Errorf("a record of %q, which was never played", rec.File)
		}
		times[i]++
		if at := rec.Received.Sub(s.started); rec.Verdict != verdict.CannotSay.String() && (r.first == 0 || at < r.first) {
			r.first = at
		}
		if !s.job.standing {
			delays = append(delays, rec.Received.Sub(s.renamed[i]))
		}
		if rec.Received.After(last) {
			last = rec.Received
		}
	}
	for u, err := range db.Unreadable(ctx, history.Query{Line: lineName}) {
		if err != nil {
			return err
		}
		r.unreadable++
		fmt.Fprintf(s.log, "%s: unreadable: %s: %s\n", s.job.name, u.File, u.Reason)
	}
	for _, n := range times {
		switch {
		case n == 0:
			r.lost++
		case n > 1:
			r.doubled++
		}
		r.judged += min(n, 1)
	}
	began := s.started
	if !s.job.standing {
		began = s.renamed[0]
	}
	r.took = last.Sub(began)
	if slices.Sort(delays); len(delays) > 0 {
		r.p50, r.p99, r.most = delays[len(delays)/2], delays[len(delays)*99/100], delays[len(delays)-1]
	}
	return nil
}
