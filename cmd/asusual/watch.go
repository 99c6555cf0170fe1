package main

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"log/slog"
	"os"

	"github.com/spf13/cobra"

	"asusual/cmd/asusual/config"
	"asusual/cmd/asusual/words"
	"asusual/monitor"
	"asusual/monitor/history"
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
	all, err := a.places(ctx, c, lines, log)
	if err != nil {
		return err
	}
	tell, err := signals(c.Signal, log)
	if err != nil {
		return err
	}
	if isBare(tell.Broker) {
		log.Warn("the password of the broker goes over the network as it is", "broker", tell.Broker.Broker)
	}
	if isIdle(c.Signal.MQTT) {
		log.Warn("trust says nothing of a broker at mqtt://, which is not encrypted", "broker", c.Signal.MQTT.Broker)
	}
	db, err := history.Open(ctx, c.History, "asusual watch")
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, db.Close()) }()
	if err := a.tellUnnamed(ctx, c, db, log); err != nil { // which is no reason not to watch the others
		log.Warn("which lines of the history nothing names was not found out", "reason", err)
	}
	board := monitor.NewBoard(c.Signal.State, log)
	carry, err := carrying(ctx, c, db, lines, board, log)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, carry.Close()) }() // for the ways out before it runs
	r := &shifts{app: a, config: c, db: db, lines: lines, log: log}
	w := &watchers{shifts: r, board: board, places: all, tidy: func(ctx context.Context) { sweep(ctx, c, a.now(), log) }}
	if w.page, err = r.openLive(o.listen.settled(c.Live, given), given("listen")); err != nil {
		return err
	}
	defer w.page.close()
	for _, p := range all {
		if p.why != nil {
			continue
		}
		if err := w.ready(ctx, p); err != nil {
			return err
		}
	}
	return carriedWhile(ctx, carry, func(ctx context.Context) error { return w.run(ctx, tell) })
}

// logger writes what happens to the terminal, a line each, as text or as JSON, with what to try where something is wrong.
func (a *app) logger() *slog.Logger {
	level := slog.LevelInfo
	if a.quiet {
		level = slog.LevelWarn
	}
	opt := &slog.HandlerOptions{Level: level}
	if a.json {
		return slog.New(words.Advising{Handler: slog.NewJSONHandler(a.errOut, opt)})
	}
	return slog.New(words.Advising{Handler: slog.NewTextHandler(a.errOut, opt)})
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
		return none, &config.Missing{What: fmt.Sprintf("line %q has no folder to watch", l.Name),
			Try: "watch = \"…\" in its [[line]] of " + config.Name + ": the folder that the spectrometer writes to"}
	}
	if l.Reference == "" {
		return none, &config.Missing{What: fmt.Sprintf("line %q has no reference", l.Name), Try: "reference = \"FILE\" in its [[line]] of " + config.Name + ", which asusual learn writes"}
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
	read := readOptions(l, c.Zone())
	own, again, err := a.instrumentOf(ctx, l, read, log)
	if err != nil {
		return none, err
	}
	return monitor.Line{
		Name: l.Name, Folder: l.Watch, References: refs, Read: read, Patterns: l.Spectra.Files, Log: log,
		Prepare: again, Instrument: own, Longest: l.Longest(), Grace: l.Grace, Fresh: l.Fresh, Expected: l.Expected(c.Zone()),
		Order: l.Order, Settle: l.Settle, Poll: l.Poll, NoEvents: l.Poll > 0, Stretch: c.MeanLength, KeepActs: c.Keep.Episodes,
	}, nil
}
