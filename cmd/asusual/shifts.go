package main

import (
	"context"
	"errors"
	"log/slog"
	"os"
	"slices"
	"sync"
	"time"

	"asusual/cmd/asusual/config"
	"asusual/cmd/asusual/pages"
	"asusual/cmd/asusual/shift"
	"asusual/monitor/history"
	"asusual/report"
)

// A shifts writes the reports of the shifts of the lines that are watched.
type shifts struct {
	*app
	config *config.Config
	db     *history.DB
	lines  []config.Line
	log    *slog.Logger
	naming sync.Mutex // one after another: each goes on from the reference that the one before wrote

	// writing has reports written one after another: the index lists what is there, and one that was listed before another report was
	// laid would take the place of the other's.
	writing sync.Mutex
}

const (
	// afterShift is how long a report waits after the end of its shift for the last files to be judged, beside the time in which they settle.
	afterShift = 2 * time.Minute
	// backlogMost is how long a report then waits for files that are known and not judged yet, at most.
	backlogMost  = 6 * time.Hour
	backlogEvery = 10 * time.Second // how often is looked whether there are any
	// missedMost is how far back shifts are looked for that have no report, or one that lacks what came later, as from a share that was away:
	// chosen so that a holiday is made up for, and a start is not busy for long, with a second or two a report.
	missedMost = 14 * 24 * time.Hour
)

// follow writes the reports of the shifts that ended while nobody watched, and of each that ends from now on, until the context ends.
// waiting says how many files of the line wait to be judged, or unwatched; what they hold belongs into the reports.
func (r *shifts) follow(ctx context.Context, l config.Line, waiting func() int) {
	plan, written, after := r.config.Plan(), map[shift.Span]bool{}, afterShift+l.Settle
	for wait := after; ; {
		select {
		case <-ctx.Done():
			return
		case <-time.After(wait):
		}
		until := r.now().Add(-after) // shifts that ended by then
		if !r.through(ctx, l, waiting) {
			return
		}
		done := make(chan struct{})
		go func() { // drawing cannot be broken off: a stop does not wait for it, and the next start writes the report
			r.reports(ctx, l, until, written)
			close(done)
		}()
		select {
		case <-done:
		case <-ctx.Done():
			return
		}
		wait = plan.Next(until).To.Add(after).Sub(r.now())
	}
}

// unwatched stands for how many files wait where nobody knows, since the line is not watched now.
const unwatched = -1

// through waits until no file waits to be judged, or for so long that the report is written without. It is false where the context ended.
func (r *shifts) through(ctx context.Context, l config.Line, waiting func() int) bool {
	for began, said := time.Now(), false; ; said = true {
		n := waiting()
		switch {
		case n == 0:
			return ctx.Err() == nil
		case time.Since(began) >= backlogMost && n == unwatched:
			r.log.Warn("the line is not watched now, such as while its folder is away, and reports are written without what may lie there; they are written anew, at the end of a later shift, once it was judged", "line", l.Name, "waited", backlogMost)
			return ctx.Err() == nil
		case time.Since(began) >= backlogMost:
			r.log.Warn("files wait still, and reports are written without what they hold; asusual handover writes them anew", "line", l.Name, "waiting", n, "waited", backlogMost)
			return ctx.Err() == nil
		case !said && n == unwatched:
			r.log.Info("reports of shifts wait while the line is not watched, such as while its folder is away", "line", l.Name, "at most", backlogMost)
		case !said:
			r.log.Info("reports of shifts wait until the files that are there are judged", "line", l.Name, "waiting", n, "at most", backlogMost)
		}
		select {
		case <-ctx.Done():
			return false
		case <-time.After(backlogEvery):
		}
	}
}

// reports writes the reports of the shifts that ended by then, that history has something of, and that have none, or one that lacks what
// came later. What cannot be written, or has nothing yet since its files are to come, is tried again after the next shift. written holds
// those that were tried, true for those that were written: who takes such a page away gets no other in the life of a watch.
func (r *shifts) reports(ctx context.Context, l config.Line, until time.Time, written map[shift.Span]bool) {
	spans, older := r.missing(ctx, l, until)
	if older && len(written) == 0 {
		r.log.Info("shifts of longer ago get no report by themselves; asusual handover --shift NAME --date DAY writes one", "line", l.Name, "before", until.Add(-missedMost).In(r.config.Zone()).Format(time.DateOnly))
	}
	last, shelf := r.config.Plan().Last(until), shelfOf(r.config)
	spans = slices.DeleteFunc(spans, func(s shift.Span) bool {
		return written[s] && !shelf.Lies(l.Name, s)
	})
	if n := len(spans); n > 1 || n == 1 && spans[0] != last {
		r.log.Info("shifts that ended before have no report, or one that lacks what came later; their reports are written now", "line", l.Name, "reports", n, "from", spans[0].Date, "to", spans[n-1].Date)
	}
	if _, tried := written[last]; !tried && !slices.Contains(spans, last) {
		spans = append(spans, last) // it is said where nothing came in it
	}
	for _, s := range spans {
		if ctx.Err() != nil {
			return
		}
		written[s] = r.report(ctx, l, s)
	}
}

// missing returns the shifts that ended by then, not longer than missedMost before, that history has something of and that have no whole
// report, the oldest first. older reports whether history has something from before.
func (r *shifts) missing(ctx context.Context, l config.Line, until time.Time) (spans []shift.Span, older bool) {
	first, newest, ok, err := r.db.Came(ctx, l.Name)
	if err != nil && ctx.Err() == nil {
		r.log.Error("which shifts have no report cannot be found out", "line", l.Name, "reason", err)
	}
	if err != nil || !ok {
		return nil, false
	}
	plan, from := r.config.Plan(), until.Add(-missedMost)
	older = first.Before(from)
	if first.After(from) {
		from = first
	}
	for ending := plan.Ending(from); !ending[0].To.After(until) && ctx.Err() == nil; ending = plan.Ending(ending[0].To) {
		for _, s := range ending {
			if s.From.After(newest) || r.whole(ctx, l, s, until) {
				continue
			}
			if n, err := pages.Received(ctx, r.db, l.Name, s); err == nil && n > 0 {
				spans = append(spans, s)
			}
		}
	}
	return spans, older
}

// whole reports whether a shift has its report and, where it ended not long before, nothing has come since that the report lacks. What
// was taken out of history since then stays on it.
func (r *shifts) whole(ctx context.Context, l config.Line, span shift.Span, until time.Time) bool {
	told, there := shelfOf(r.config).Has(l.Name, span)
	if !there || told < 0 || until.Sub(span.To) > missedMost {
		return there
	}
	now, err := pages.Received(ctx, r.db, l.Name, span)
	return err != nil || now <= told
}

// report writes the report of a shift, unless there is a whole one, and returns whether there is.
func (r *shifts) report(ctx context.Context, l config.Line, span shift.Span) bool {
	log := r.log.With("line", l.Name, "shift", span.Name, "date", span.Date)
	r.writing.Lock()
	defer r.writing.Unlock()
	if ctx.Err() != nil { // it ended while others were written
		return false
	}
	now := r.now()
	if r.whole(ctx, l, span, now) {
		return true
	}
	page, h, err := r.handoverOf(ctx, r.config, r.db, l, span, now)
	switch {
	case ctx.Err() != nil:
	case errors.Is(err, pages.ErrNothing):
		log.Info("no report: nothing came in the shift")
	case err != nil && page != "":
		log.Warn("report written, but not all that belongs to it", "verdict", string(h.Verdict), "page", page, "reason", err)
		return true
	case err != nil:
		log.Error("the report of the shift could not be written", "reason", err)
	default:
		log.Info("report written", "verdict", string(h.Verdict), "page", page)
		return true
	}
	return false
}

// handoverOf writes the report of a shift of a line; now is when, or zero for at its end. An error is of what lies beside the page, where
// there is one.
func (a *app) handoverOf(ctx context.Context, c *config.Config, db *history.DB, l config.Line, span shift.Span, now time.Time) (string, report.Handover, error) {
	ref, card, err := a.inForce(l)
	if err != nil {
		return "", report.Handover{}, err
	}
	src := pages.Source{History: db, Reference: ref, Line: l.Name, Zone: c.Zone(), Language: c.Site.Language, Now: now}
	if isCardOf(card, ref) {
		src.Card = card
	}
	if a.historyFile == "" {
		src.Kept = c.Keep.Spectra
	}
	shelf := shelfOf(c)
	shelf.Spare = a.historyFile != "" && !isSame(a.historyFile, c.History)
	return shelf.Put(ctx, src, span)
}

// shelfOf returns the folder of the reports of a site.
func shelfOf(c *config.Config) pages.Shelf {
	s := pages.Shelf{Folder: c.Reports, Site: c.Site.Name, Zone: c.Zone(), Language: c.Site.Language}
	for _, l := range c.Lines {
		s.Lines = append(s.Lines, l.Name)
	}
	return s
}

func exists(path string) bool {
	_, err := os.Stat(path)
	return err == nil
}
