package main

import (
	"context"
	"errors"
	"fmt"
	"os"
	"text/tabwriter"
	"time"

	"github.com/spf13/cobra"

	"asusual/cmd/asusual/config"
	"asusual/cmd/asusual/words"
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

// prune takes out of history what is older than is to be kept.
func (a *app) prune(ctx context.Context, o pruneOptions) (err error) {
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
	if c.Keep == (config.Keeping{}) {
		return &words.NothingToKeep{}
	}
	db, err := a.openToPrune(ctx, c, o.dry)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, db.Close()) }()
	for _, l := range lines {
		p, err := db.Prune(ctx, l.Name, history.Keep(c.Keep), a.now(), o.dry)
		if err != nil {
			return err
		}
		if err := a.tellPruned(l.Name, p, c.Keep, o.dry); err != nil {
			return err
		}
	}
	return nil
}

func (a *app) openToPrune(ctx context.Context, c *config.Config, dry bool) (*history.DB, error) {
	if dry {
		return a.openHistory(ctx, c)
	}
	where := c.Where()
	if !history.IsServer(where) && !exists(where) {
		return nil, &words.NoHistory{Path: where}
	}
	db, err := history.Open(ctx, where, "asusual prune")
	var held *keep.Held
	if errors.As(err, &held) {
		return nil, &words.Watched{Err: err}
	}
	return db, err
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

func (a *app) tellPruned(line string, p history.Pruned, k config.Keeping, dry bool) error {
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
		}{"pruned", line, dry, p.Spectra, p.Own, p.Unreadable, p.Copies, p.Means, p.Episodes, p.Groups, p.Acts, p.Checks})
	}
	if a.quiet {
		return nil
	}
	what := "taken out"
	if dry {
		what = "to be taken out, were this no dry run"
	}
	t := tabwriter.NewWriter(a.out, 0, 4, 2, ' ', 0)
	fmt.Fprintf(t, "%s: %s\n", line, what)
	for _, c := range counts(p, k) {
		if c.keep > 0 {
			fmt.Fprintf(t, "  %s\t%s\tolder than %s, before %s\n", c.name, words.Number(c.n), words.Duration(c.keep), a.now().Add(-c.keep).Format(time.DateOnly))
		}
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

func (r *shifts) pruneOnce(ctx context.Context) {
	for _, l := range r.lines {
		p, err := r.db.Prune(ctx, l.Name, history.Keep(r.config.Keep), r.now(), false)
		switch {
		case ctx.Err() != nil:
			return
		case err != nil:
			r.log.Error("what is too old could not be taken out of history; tomorrow it is tried again", "line", l.Name, "reason", err)
		case p != history.Pruned{}:
			r.log.Info("what is too old was taken out of history", "line", l.Name, "spectra", p.Spectra, "means", p.Means, "episodes", p.Episodes)
		}
	}
}

func (a *app) backupCommand() *cobra.Command {
	return &cobra.Command{
		Use:  "backup",
		Args: cobra.ExactArgs(1),
		RunE: func(c *cobra.Command, args []string) error { return a.backup(c.Context(), args[0]) },
	}
}

// backup copies the history to a file.
func (a *app) backup(ctx context.Context, path string) (err error) {
	c, err := a.config()
	if err != nil {
		return err
	}
	db, err := a.openHistory(ctx, c)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, db.Close()) }()
	began := a.now()
	p := a.progress()
	p.step("copying", 0, 0)
	err = db.Backup(ctx, path)
	p.end()
	if err != nil {
		return err
	}
	info, err := os.Stat(path)
	if err != nil {
		return err
	}
	took := a.now().Sub(began)
	if a.json {
		return writeJSON(a.out, struct {
			Kind    string    `json:"kind"`
			History string    `json:"history"`
			File    string    `json:"file"`
			Bytes   int64     `json:"bytes"`
			At      time.Time `json:"at"`
			Took    float64   `json:"took"` // s
		}{"backup", db.Path(), path, info.Size(), began.In(c.Zone()), took.Seconds()})
	}
	a.say("%s as it stood at %s is in %s, %.1f MB, in %.1f s.", db.Path(), words.Moment(began.In(c.Zone())), path, float64(info.Size())/1e6, took.Seconds())
	a.say("To go back to it, stop the watch and put it in the place of %s.", db.Path())
	return nil
}
