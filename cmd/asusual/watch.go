package main

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"log/slog"
	"os"
	"sync"

	"github.com/spf13/cobra"

	"asusual/cmd/asusual/config"
	"asusual/cmd/asusual/words"
	"asusual/monitor"
	"asusual/monitor/history"
	"asusual/monitor/signal"
)

type watchOptions struct {
	line   string
	listen listening
}

func (a *app) watchCommand() *cobra.Command {
	var o watchOptions
	c := &cobra.Command{
		Use:  "watch",
		Args: cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error { return a.watch(c.Context(), o, c.Flags().Changed) },
	}
	c.Flags().StringVar(&o.line, "line", "", "`NAME` of the line, where the configuration has several (default all of them)")
	o.listen.flags(c.Flags())
	return c
}

// watch watches one line or all until it is stopped.
func (a *app) watch(ctx context.Context, o watchOptions, given func(option string) bool) (err error) {
	c, err := a.config()
	if err != nil {
		return err
	}
	lines := c.Lines
	if o.line != "" || len(lines) == 0 {
		l, err := c.Find(o.line)
		if err != nil {
			return err
		}
		lines = []config.Line{l}
	}
	log := a.logger()
	var watched []monitor.Line
	for _, l := range lines {
		w, err := a.watched(ctx, c, l, log)
		if err != nil {
			return err
		}
		watched = append(watched, w)
	}
	tell, err := signals(c.Signal, log)
	if err != nil {
		return err
	}
	db, err := history.Open(ctx, c.History, "asusual watch")
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, db.Close()) }()
	board := monitor.NewBoard(c.Signal.State, log)
	carry, err := carrying(ctx, c, db, watched, board)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, carry.Close()) }() // for the ways out before it runs
	for i := range watched {
		watched[i].History, watched[i].Board = db, board
	}
	r := &shifts{a, c, db, lines, log}
	page, err := r.openLive(o.listen.settled(c.Live, given))
	if err != nil {
		return err
	}
	if page != nil {
		defer page.at.Close() // for the ways out before it is served
		for i := range watched {
			if err := page.join(ctx, &watched[i]); err != nil {
				return err
			}
		}
	}
	return carriedWhile(ctx, carry, func(ctx context.Context) error { return a.watchAll(ctx, r, watched, board, tell, page) })
}

// logger writes what happens to the terminal, a line each, as text or as JSON.
func (a *app) logger() *slog.Logger {
	level := slog.LevelInfo
	if a.quiet {
		level = slog.LevelWarn
	}
	opt := &slog.HandlerOptions{Level: level}
	if a.json {
		return slog.New(slog.NewJSONHandler(a.errOut, opt))
	}
	return slog.New(slog.NewTextHandler(a.errOut, opt))
}

// referenceFile returns the reference of a line as a watch takes it up.
func referenceFile(l config.Line, log *slog.Logger) (*monitor.ReferenceFile, error) {
	if l.ApprovedOnly {
		return monitor.NewApprovedFile(l.Reference, log)
	}
	return monitor.NewReferenceFile(l.Reference, log)
}

// watched checks that the line can be watched, and says to the monitor how.
func (a *app) watched(ctx context.Context, c *config.Config, l config.Line, log *slog.Logger) (monitor.Line, error) {
	none := monitor.Line{}
	if l.Watch == "" {
		return none, &config.Missing{What: fmt.Sprintf("line %q has no folder to watch", l.Name)}
	}
	if l.Reference == "" {
		return none, &config.Missing{What: fmt.Sprintf("line %q has no reference", l.Name)}
	}
	switch info, err := os.Stat(l.Watch); {
	case errors.Is(err, fs.ErrNotExist), err == nil && !info.IsDir():
		return none, &words.NoWatchFolder{Path: l.Watch}
	case err != nil:
		return none, err
	}
	refs, err := referenceFile(l, log)
	if errors.Is(err, fs.ErrNotExist) {
		return none, &words.NoReference{Path: l.Reference}
	}
	if err != nil {
		return none, err
	}
	if now, err := refs.Current(); err == nil {
		if err := fitsItems(l, now.Model); err != nil {
			return none, err
		}
	}
	read := readOptions(l.Spectra, c.Zone())
	own, again, err := a.instrumentOf(ctx, l, read)
	if err != nil {
		return none, err
	}
	return monitor.Line{
		Name: l.Name, Folder: l.Watch, References: refs, Read: read, Patterns: l.Spectra.Files, Log: log,
		Prepare: again, Instrument: own, Longest: l.Longest(), Grace: l.Grace, Expected: l.Expected(c.Zone()),
	}, nil
}

// watchAll watches the lines, and writes the report of each shift some time after its end.
func (a *app) watchAll(ctx context.Context, r *shifts, watched []monitor.Line, board *monitor.Board, tell signal.Options, page *livePage) error {
	ctx, cancel := context.WithCancel(ctx)
	defer cancel()
	errs := make([]error, len(watched))
	var running sync.WaitGroup
	running.Go(func() { board.Run(ctx) })
	if page != nil {
		running.Go(func() {
			if err := page.run(ctx); err != nil {
				r.log.Error("the live page ended; the lines are watched all the same", "reason", err)
			}
		})
	}
	running.Go(func() { signal.Run(ctx, board, tell) })
	running.Go(func() { r.pruneDaily(ctx) })
	for i, w := range watched {
		running.Go(func() {
			// One line that cannot go on stops the others too: somebody has to look, and a service is started again.
			defer cancel()
			r.log.Info("watching", "line", w.Name, "folder", w.Folder, "history", r.db.Path())
			if errs[i] = monitor.Watch(ctx, w); errs[i] != nil {
				errs[i] = fmt.Errorf("line %s: %w", w.Name, errs[i])
			}
		})
		running.Go(func() { r.follow(ctx, r.lines[i]) })
	}
	running.Wait()
	r.log.Info("stopped; everything that was judged is kept")
	return errors.Join(errs...)
}
