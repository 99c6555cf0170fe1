package main

import (
	"context"
	"errors"
	"log/slog"
	"time"

	"asusual/cmd/asusual/config"
	"asusual/monitor"
	"asusual/monitor/history"
)

// carrying joins the lines with the server that the history is on. It returns nil where the history is a file.
func carrying(ctx context.Context, c *config.Config, db *history.DB, lines []config.Line, board *monitor.Board, log *slog.Logger) (*monitor.Carrying, error) {
	if c.Server == "" {
		return nil, uncarried(ctx, db, time.Now(), log)
	}
	if history.Bare(c.Server) {
		log.Warn("the password for the history's server may go over the network as it is", "server", history.ServerName(c.Server))
	}
	s := monitor.Server{Address: c.Server, Watcher: "asusual watch", Board: board, Log: log}
	for _, l := range lines {
		s.Lines = append(s.Lines, l.Name)
	}
	return monitor.NewCarrying(ctx, db, s)
}

// serverAway is how long what is kept waits for a server that the settings do not name any more. Chosen so that one that was taken out for a
// try, or for as long as another is set up, gets all of it, and the file of a line that is to have none does not grow twofold for ever.
const serverAway = 30 * 24 * time.Hour

// uncarried is what becomes of a history that was carried to a server, where the settings name none.
func uncarried(ctx context.Context, db *history.DB, now time.Time, log *slog.Logger) error {
	if !db.Carried() {
		return nil
	}
	names, err := db.Lines(ctx)
	if err != nil {
		return err
	}
	spectra, since := 0, now
	var newest time.Time
	for _, name := range names {
		_, last, _, err := db.Span(ctx, name)
		if err != nil {
			return err
		}
		if last.After(newest) {
			newest = last
		}
		w, err := db.Waiting(ctx, name)
		if err != nil {
			return err
		}
		if spectra += w.Spectra; w.Batches > 0 && w.Since.Before(since) {
			since = w.Since
		}
	}
	if !newest.IsZero() && newest.Before(now) { // so that a clock that was set ahead drops nothing
		now = newest
	}
	if now.Sub(since) < serverAway {
		log.Warn("this history was carried to a server, and none is named any more; what is kept from now on waits for it",
			"history", db.Path(), "spectra that wait", spectra, "since", since, "dropped after", since.Add(serverAway))
		return nil
	}
	log.Warn("what waited for a server that is not named any more is dropped; the file has all of it", "history", db.Path(), "spectra", spectra, "since", since)
	return db.Carry(ctx, false)
}

// uncarriedDaily does so once a day, until the context ends or nothing waits any more.
func (r *shifts) uncarriedDaily(ctx context.Context) {
	for r.config.Server == "" && r.db.Carried() {
		select {
		case <-ctx.Done():
			return
		case <-time.After(pruneEvery):
		}
		if err := uncarried(ctx, r.db, r.now(), r.log); err != nil && ctx.Err() == nil {
			r.log.Error("what waits for a server that is not named any more could not be looked at; tomorrow it is tried again", "history", r.db.Path(), "reason", err)
		}
	}
}

// carriedWhile watches, and brings to the server what is kept until the watch has ended. Where another one has a line there, the
// watch ends.
func carriedWhile(ctx context.Context, carry *monitor.Carrying, watch func(context.Context) error) error {
	if carry == nil {
		return watch(ctx)
	}
	watching, end := context.WithCancel(ctx)
	defer end()
	kept, stop := context.WithCancel(context.WithoutCancel(ctx))
	done := make(chan error, 1)
	go func() { // waited for below
		defer end()
		done <- carry.Run(kept)
	}()
	err := watch(watching)
	stop()
	return errors.Join(err, <-done)
}
