package main

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"sync"
	"sync/atomic"
	"time"

	"asusual/cmd/asusual/config"
	"asusual/model/verdict"
	"asusual/monitor"
	"asusual/monitor/signal"
)

// A place is a line of the configuration, and how it is watched, or why it cannot be.
type place struct {
	config config.Line
	line   monitor.Line
	why    error
}

// places looks at each line. One of several that cannot be watched does not keep the others from it: its folder may be a share
// that is not there yet after a power cut. Where none can be, the error says why.
func (a *app) places(ctx context.Context, c *config.Config, lines []config.Line, log *slog.Logger) ([]*place, error) {
	var all []*place
	var why []error
	for _, l := range lines {
		p := &place{config: l}
		if p.line, p.why = a.watched(ctx, c, l, log); p.why != nil {
			p.line = monitor.Line{Name: l.Name, Log: log}
			why = append(why, p.why)
		}
		all = append(all, p)
	}
	if len(why) == len(all) {
		return nil, errors.Join(why...)
	}
	return all, nil
}

// A watchers is what the lines of one watch share.
type watchers struct {
	*shifts
	board   *monitor.Board
	page    *livePage // nil: none
	tidy    func(ctx context.Context)
	places  []*place
	failing atomic.Int32
	again   time.Duration // a line that failed is tried again after so long, then twice as long each time; 0: 5 s
}

// againMost is the longest time after which a line that failed is tried again.
const againMost = 5 * time.Minute

// ready gives a line what it shares with the others.
func (w *watchers) ready(ctx context.Context, p *place) error {
	p.line.History, p.line.Board = w.db, w.board
	if w.page == nil {
		return nil
	}
	return w.page.join(ctx, &p.line)
}

// run watches the lines, and writes the report of each shift some time after its end.
func (w *watchers) run(parent context.Context, tell signal.Options) error {
	ctx, end := context.WithCancel(parent)
	defer end()
	if w.again <= 0 {
		w.again = 5 * time.Second
	}
	var watched, others sync.WaitGroup
	show, hide := context.WithCancel(context.WithoutCancel(parent))
	others.Go(func() { w.board.Run(show) }) // until the lines have said their last
	if w.page != nil {
		w.page.board = w.board
		others.Go(func() {
			if err := w.page.run(ctx); err != nil {
				w.log.Error("the live page ended; the lines are watched all the same", "reason", err)
			}
		})
	}
	others.Go(func() { signal.Run(ctx, w.board, tell) })
	others.Go(func() { w.tidyOnce(ctx) })
	others.Go(func() { w.pruneDaily(ctx) })
	others.Go(func() { w.uncarriedDaily(ctx) })
	errs := make([]error, len(w.places))
	for i, p := range w.places {
		watched.Go(func() { errs[i] = w.watch(ctx, parent, end, p) })
		others.Go(func() { w.follow(ctx, p.config, func() int { return w.waiting(p.config.Name) }) })
	}
	watched.Wait()
	end()
	hide()
	others.Wait()
	w.log.Info("stopped; everything that was judged is kept")
	return errors.Join(errs...)
}

// tidyLast is how long a stop waits for tidying up: for the folder that it is at, and not for a share that hangs.
const tidyLast = time.Second

// tidyOnce tidies up while the lines are watched. Years of reports, or those on a share, take it minutes.
func (w *watchers) tidyOnce(ctx context.Context) {
	done := make(chan struct{})
	go func() {
		defer close(done)
		w.tidy(ctx)
	}()
	select {
	case <-done:
		return
	case <-ctx.Done():
	}
	select {
	case <-done:
	case <-time.After(tidyLast):
	}
}

// waiting returns how many files of a line wait to be judged, without those that only settle, of which a busy line always has some; unwatched
// where the line is not watched now.
func (w *watchers) waiting(line string) int {
	for _, s := range w.board.Bulletin().Lines {
		if s.Line == line && s.Trouble == "" {
			return s.Behind - s.Settling
		}
	}
	return unwatched
}

// watch watches one line until the context ends. Where it fails, it is tried again while others are watched. Once none is, all
// end, so that somebody looks, and a service is started again.
func (w *watchers) watch(ctx, parent context.Context, end func(), p *place) error {
	for wait := w.again; ; wait = min(2*wait, againMost) {
		if p.why == nil {
			w.log.Info("watching", "line", p.config.Name, "folder", p.line.Folder, "history", w.db.Path())
			began := time.Now()
			if p.why = monitor.Watch(ctx, p.line); p.why == nil {
				return nil
			}
			if time.Since(began) > againMost {
				wait = w.again
			}
		}
		p.why = fmt.Errorf("line %s: %w", p.config.Name, p.why)
		if int(w.failing.Add(1)) == len(w.places) {
			end()
			return p.why
		}
		w.log.Error("the line is not watched; trying again", "line", p.config.Name, "in", wait, "reason", p.why)
		w.board.Set(monitor.Status{Line: p.config.Name, Verdict: verdict.CannotSay.String(), Instrument: "unknown", Trouble: p.why.Error()})
		select {
		case <-ctx.Done():
			if parent.Err() != nil {
				return nil // the log has it, and the others ended in good order
			}
			return p.why
		case <-time.After(wait):
		}
		w.failing.Add(-1)
		if p.line, p.why = w.watched(ctx, w.config, p.config, w.log); p.why == nil {
			p.why = w.ready(ctx, p)
		}
	}
}
