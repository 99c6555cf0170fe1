package main

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"slices"
	"text/tabwriter"
	"time"

	"github.com/spf13/cobra"

	"asusual/cmd/asusual/config"
	"asusual/cmd/asusual/words"
	"asusual/monitor"
	"asusual/monitor/history"
	"asusual/monitor/keep"
)

type pruneOptions struct {
	line string
	dry  bool
}

func (a *app) pruneCommand() *cobra.Command {
	var o pruneOptions
	c := &cobra.Command{
		Use:  "prune",
		Args: cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error { return a.prune(c.Context(), o) },
	}
	c.Flags().BoolVar(&o.dry, "dry-run", false, "count what would be taken out, and take nothing out")
	c.Flags().StringVar(&o.line, "line", "", "`NAME` of the line (default all lines)")
	return c
}

// prune takes out of history what is older than is to be kept: of the file, and of the server where the history is on one.
func (a *app) prune(ctx context.Context, o pruneOptions) error {
	c, err := a.config()
	if err != nil {
		return err
	}
	lines := c.Lines
	if c.Server == "" && len(lines) == 0 || o.line != "" && len(lines) > 0 {
		l, err := c.Find(o.line)
		if err != nil {
			return err
		}
		lines = []config.Line{l}
	}
	if c.Keep == (config.Keeping{}) {
		return &words.NothingToKeep{}
	}
	var names []string
	for _, l := range lines {
		names = append(names, l.Name)
	}
	if len(lines) == 0 && o.line != "" { // a computer that has no line of its own and cares for the server
		names = []string{o.line}
	}
	if c.Server != "" {
		if err := a.pruneIn(ctx, c, c.Server, names, o.dry); err != nil {
			return err
		}
		if len(lines) == 0 || !exists(c.History) {
			return nil
		}
	}
	err = a.pruneIn(ctx, c, c.History, names, o.dry)
	var watched *words.Watched
	if c.Server != "" && errors.As(err, &watched) {
		a.say("%s: a watch has it, and takes out the same by itself, once a day.", c.History)
		return nil
	}
	return err
}

// pruneIn takes what is too old out of the history in one place; without names, of all lines that are there.
func (a *app) pruneIn(ctx context.Context, c *config.Config, where string, names []string, dry bool) (err error) {
	db, err := a.openToPrune(ctx, where, dry)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, db.Close()) }()
	there, err := db.Lines(ctx)
	if err != nil {
		return err
	}
	if len(names) == 0 {
		names = there
	}
	for _, name := range names {
		if len(c.Lines) == 0 && !slices.Contains(there, name) {
			return &words.NoLineThere{Line: name, History: db.Path(), There: there}
		}
		at, err := a.pruneAt(ctx, db, name, c.Keep)
		if err != nil {
			return err
		}
		p, err := db.Prune(ctx, name, history.Keep(c.Keep), at, dry)
		if err != nil {
			return err
		}
		var unsure error
		if i := slices.IndexFunc(c.Lines, func(l config.Line) bool { return l.Name == name }); i >= 0 {
			if p.Files, err = a.forget(ctx, db, c, c.Lines[i], at, dry); errors.Is(err, monitor.ErrNoFolder) {
				unsure = err
			} else if err != nil {
				return err
			}
		}
		if err := a.tellPruned(pruned{db.Path(), name, p, at, dry, c.Server != ""}, c.Keep); err != nil {
			return err
		}
		if unsure != nil {
			a.say("%v; %s", unsure, words.FilesStay)
		}
	}
	return nil
}

// standsMost is how long a line may have had no spectrum, and the computer's clock still says by when things are too old. Chosen so that a
// holiday counts, and a clock that was set a year ahead takes out days and not everything.
const standsMost = 14 * 24 * time.Hour

// pruneAt returns the time by which things of a line are too old: now, but no more than standsMost, or half of what is to be kept, after its
// newest spectrum.
func (a *app) pruneAt(ctx context.Context, db *history.DB, line string, k config.Keeping) (time.Time, error) {
	now := a.now()
	_, newest, ok, err := db.Span(ctx, line)
	if err != nil || !ok {
		return now, err
	}
	most := standsMost
	for _, keep := range []time.Duration{k.Spectra, k.Means, k.Episodes} {
		if keep > 0 {
			most = min(most, keep/2)
		}
	}
	if last := newest.Add(most); last.Before(now) {
		return last, nil
	}
	return now, nil
}

// forget takes out of the line's own file what is known of files that are gone; of a server, which sees no folder, nothing.
func (a *app) forget(ctx context.Context, db *history.DB, c *config.Config, l config.Line, at time.Time, dry bool) (int, error) {
	if history.IsServer(db.Path()) || l.Watch == "" {
		return 0, nil
	}
	return monitor.Forget(ctx, db, l.Name, l.Watch, history.Keep(c.Keep), at, dry)
}

// openToPrune opens the history in one place; it makes none, and brings none forward.
func (a *app) openToPrune(ctx context.Context, where string, dry bool) (*history.DB, error) {
	db, err := history.Read(ctx, where)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, noHistory(where)
	}
	if err != nil || dry {
		return db, err
	}
	if err := db.Close(); err != nil {
		return nil, err
	}
	db, err = history.Open(ctx, where, "asusual prune")
	var held *keep.Held
	if errors.As(err, &held) {
		return nil, &words.Watched{Err: err}
	}
	return db, err
}

// A pruned says what was taken out of a line in one place, or would be.
type pruned struct {
	history, line string
	history.Pruned
	at     time.Time // by when
	dry    bool
	placed bool // there is more than one place, so it is said which
}

// counts are what of a line was taken out, by its name, in the order in which it is said.
func counts(p history.Pruned, k config.Keeping) []struct {
	name string
	n    int
	keep time.Duration
} {
	return []struct {
		name string
		n    int
		keep time.Duration
	}{
		{"spectra", p.Spectra, k.Spectra}, {"own spectra", p.Own, k.Spectra}, {"unreadable", p.Unreadable, k.Spectra}, {"copies", p.Copies, k.Spectra},
		{"means", p.Means, k.Means},
		{"episodes", p.Episodes, k.Episodes}, {"groups", p.Groups, k.Episodes}, {"acts", p.Acts, k.Episodes}, {"checks", p.Checks, k.Episodes},
	}
}

func (a *app) tellPruned(p pruned, k config.Keeping) error {
	if a.json {
		return writeJSON(a.out, struct {
			Kind       string `json:"kind"`
			Line       string `json:"line"`
			DryRun     bool   `json:"dry_run"`
			Spectra    int    `json:"spectra"`
			Own        int    `json:"own"`
			Unreadable int    `json:"unreadable"`
			Copies     int    `json:"copies"`
			Means      int    `json:"means"`
			Episodes   int    `json:"episodes"`
			Groups     int    `json:"groups"`
			Acts       int    `json:"acts"`
			Checks     int    `json:"checks"`
			History    string `json:"history"`
			Files      int    `json:"files"` // that are forgotten
		}{"pruned", p.line, p.dry, p.Spectra, p.Own, p.Unreadable, p.Copies, p.Means, p.Episodes, p.Groups, p.Acts, p.Checks, p.history, p.Files})
	}
	if a.quiet {
		return nil
	}
	what := "taken out"
	if p.dry {
		what = "to be taken out, were this no dry run"
	}
	if p.placed {
		what += ", of " + p.history
	}
	t := tabwriter.NewWriter(a.out, 0, 4, 2, ' ', 0)
	fmt.Fprintf(t, "%s: %s\n", p.line, what)
	for _, c := range counts(p.Pruned, k) {
		if c.keep > 0 {
			fmt.Fprintf(t, "  %s\t%s\tolder than %s, before %s\n", c.name, words.Number(c.n), words.Duration(c.keep), p.at.Add(-c.keep).Format(time.DateOnly))
		}
	}
	if k.Spectra > 0 && !history.IsServer(p.history) {
		fmt.Fprintf(t, "  %s\t%s\t%s\n", "files", words.Number(p.Files), words.GoneFiles)
	}
	return t.Flush()
}

// pruneAfter is how long after its start a watch first looks for what is too old, and pruneEvery how long until the next look.
const (
	pruneAfter = 10 * time.Minute
	pruneEvery = 24 * time.Hour
)

// pruneDaily takes out what is older than is to be kept, once a day until the context ends.
func (r *shifts) pruneDaily(ctx context.Context) {
	if r.config.Keep == (config.Keeping{}) {
		return
	}
	for wait := pruneAfter; ; wait = pruneEvery {
		select {
		case <-ctx.Done():
			return
		case <-time.After(wait):
		}
		r.pruneOnce(ctx)
	}
}

// pruneOnce takes it out of the watch's own file, and of the server that it is carried to.
func (r *shifts) pruneOnce(ctx context.Context) {
	r.pruneLines(ctx, r.db)
	if r.config.Server == "" || ctx.Err() != nil {
		return
	}
	// In a session of its own, so that what is judged meanwhile goes on being brought.
	far, err := history.Open(ctx, r.config.Server, "asusual watch")
	if err != nil {
		if ctx.Err() == nil {
			r.log.Error(notPruned, "history", history.ServerName(r.config.Server), "reason", err)
		}
		return
	}
	r.pruneLines(ctx, far)
	if err := far.Close(); err != nil && ctx.Err() == nil {
		r.log.Error(notPruned, "history", far.Path(), "reason", err)
	}
}

const notPruned = "what is too old could not be taken out of history; tomorrow it is tried again"

func (r *shifts) pruneLines(ctx context.Context, db *history.DB) {
	for _, l := range r.lines {
		var p history.Pruned
		at, err := r.pruneAt(ctx, db, l.Name, r.config.Keep)
		if err == nil {
			p, err = db.Prune(ctx, l.Name, history.Keep(r.config.Keep), at, false)
		}
		if err == nil {
			p.Files, err = r.forget(ctx, db, r.config, l, at, false)
		}
		if errors.Is(err, monitor.ErrNoFolder) {
			r.log.Info(words.FilesStay, "line", l.Name, "history", db.Path(), "reason", err)
			err = nil
		}
		switch {
		case ctx.Err() != nil:
			return
		case err != nil:
			r.log.Error(notPruned, "line", l.Name, "history", db.Path(), "reason", err)
		case p != history.Pruned{}:
			r.log.Info("what is too old was taken out of history", "line", l.Name, "history", db.Path(), "spectra", p.Spectra, "means", p.Means, "episodes", p.Episodes, "files", p.Files)
		}
	}
}
