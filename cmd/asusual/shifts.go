package main

import (
	"context"
	"errors"
	"log/slog"
	"os"
	"path/filepath"
	"strings"
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
}

// afterShift is how long a report waits after the end of its shift for the last files to be judged.
const afterShift = 2 * time.Minute

// follow writes the report of the shift that ended last, if there is none yet, and of each that ends from now on, until the
// context ends.
func (r *shifts) follow(ctx context.Context, l config.Line) {
	plan := r.config.Plan()
	ended := plan.Last(r.now())
	wait := afterShift // for what came while nobody watched
	for {
		select {
		case <-ctx.Done():
			return
		case <-time.After(wait):
		}
		done := make(chan struct{})
		go func() { // drawing cannot be broken off: a stop does not wait for it, and the next start writes the report
			r.report(ctx, l, ended)
			close(done)
		}()
		select {
		case <-done:
		case <-ctx.Done():
			return
		}
		ended = plan.Next(ended.To)
		wait = ended.To.Add(afterShift).Sub(r.now())
	}
}

// report writes the report of a shift, unless there is one.
func (r *shifts) report(ctx context.Context, l config.Line, span shift.Span) {
	log := r.log.With("line", l.Name, "shift", span.Name, "date", span.Date)
	shelf := shelfOf(r.config)
	if _, err := os.Stat(filepath.Join(shelf.Of(l.Name, span), pages.HandoverName)); err == nil {
		return
	}
	page, h, err := r.handoverOf(ctx, r.config, r.db, l, span, r.now())
	switch {
	case ctx.Err() != nil:
	case errors.Is(err, pages.ErrNothing):
		log.Info("no report: nothing came in the shift")
	case err != nil:
		log.Error("the report of the shift could not be written", "reason", err)
	default:
		log.Info("report written", "verdict", string(h.Verdict), "page", page)
	}
}

// handoverOf writes the report of a shift of a line; now is when, or zero for at its end.
func (a *app) handoverOf(ctx context.Context, c *config.Config, db *history.DB, l config.Line, span shift.Span, now time.Time) (string, report.Handover, error) {
	ref, path, err := a.reference("", l)
	if err != nil {
		return "", report.Handover{}, err
	}
	src := pages.Source{History: db, Reference: ref, Line: l.Name, Zone: c.Zone(), Language: c.Site.Language, Now: now}
	if card := cardOf(path); exists(card) {
		src.Card = card
	}
	return shelfOf(c).Put(ctx, src, span)
}

// shelfOf returns the folder of the reports of a site.
func shelfOf(c *config.Config) pages.Shelf {
	s := pages.Shelf{Folder: c.Reports, Site: c.Site.Name, Zone: c.Zone(), Language: c.Site.Language}
	for _, l := range c.Lines {
		s.Lines = append(s.Lines, l.Name)
	}
	return s
}

// cardOf returns where the card of a reference file lies: line.reference has line-card.html.
func cardOf(reference string) string {
	return strings.TrimSuffix(reference, filepath.Ext(reference)) + "-card.html"
}

func exists(path string) bool {
	_, err := os.Stat(path)
	return err == nil
}
