package main

import (
	"context"
	"errors"
	"os"
	"path/filepath"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"asusual/cmd/asusual/words"
	"asusual/monitor/archive"
	"asusual/monitor/history"
	"asusual/monitor/keep"
)

// addHistory adds the option that has a command read another history than that of the configuration.
func (a *app) addHistory(f *pflag.FlagSet) {
	f.StringVar(&a.historyFile, "history", "", "read this `FILE`, such as import makes, instead of the history of the line")
}

// exportMonth writes what history holds of a month as CSV files.
func (a *app) exportMonth(ctx context.Context, o exportOptions, dir string) (err error) {
	if o.from != "" || o.to != "" {
		return wrongUse("--month and --from or --to exclude each other")
	}
	c, err := a.config()
	if err != nil {
		return err
	}
	if _, err := o.query(c); err != nil {
		return err
	}
	db, err := a.openHistory(ctx, c)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, db.Close()) }()
	m := archive.Month{Name: o.month, Zone: c.Zone()}
	if _, _, err := m.Period(); err != nil {
		return wrongUse("--month: %v", err)
	}
	if m.Lines, err = o.lines(ctx, c, db); err != nil {
		return err
	}
	p := a.progress()
	p.step("writing the month", 0, 0)
	folder, about, err := archive.Write(ctx, db, m, dir)
	p.end()
	if err != nil {
		return err
	}
	if a.json {
		return writeJSON(a.out, monthJSON{"archive", folder, about})
	}
	a.say("%s: %s of %s, with their means, episodes, groups, alarms and checks.", folder, words.Count(about.Rows("spectra.csv"), "spectrum", "spectra"), words.List(about.Lines))
	return nil
}

// A monthJSON is a month that was written or read, as other programs read it.
type monthJSON struct {
	Kind   string `json:"kind"` // archive or imported
	Folder string `json:"folder"`
	archive.About
}

func (a *app) importCommand() *cobra.Command {
	var into string
	c := &cobra.Command{
		Use:  "import",
		Args: cobra.MinimumNArgs(1),
		RunE: func(c *cobra.Command, args []string) error {
			if into == "" {
				return wrongUse("--history is missing: into which file?")
			}
			return a.importMonths(c.Context(), args, into)
		},
	}
	c.Flags().StringVar(&into, "history", "", "the `FILE` of the history to read them into; it is made where there is none")
	return c
}

// importMonths reads months that were exported into a history of their own.
func (a *app) importMonths(ctx context.Context, folders []string, into string) (err error) {
	c, err := a.config()
	if err != nil {
		return err
	}
	if c.File != "" && whole(into) == whole(c.History) {
		return wrongUse("--history %s: that is the history of the lines; name another file", into)
	}
	for _, f := range folders { // before a file is made
		if _, err := archive.Look(f); err != nil {
			return err
		}
	}
	if exists(into) {
		return a.importInto(ctx, folders, into, into)
	}
	made, err := os.MkdirTemp(filepath.Dir(into), keep.Prefix) // a new one is there whole, or not at all
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, os.RemoveAll(made)) }()
	if err := a.importInto(ctx, folders, filepath.Join(made, "history"), into); err != nil {
		return err
	}
	return keep.Rename(filepath.Join(made, "history"), into)
}

// importInto reads the months into the history of the path at, which is told as that of the path into.
func (a *app) importInto(ctx context.Context, folders []string, at, into string) (err error) {
	db, err := history.Open(ctx, at, "asusual import")
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, db.Close()) }()
	for _, f := range folders {
		p := a.progress()
		p.step("reading "+f, 0, 0)
		about, err := archive.Read(ctx, f, db)
		p.end()
		if errors.Is(err, archive.ErrPart) && at == into {
			return &words.HalfRead{History: into, Stopped: ctx.Err() != nil, Why: err}
		}
		if err != nil {
			return err
		}
		if a.json {
			err = writeJSON(a.out, monthJSON{"imported", f, about})
		}
		if err != nil {
			return err
		}
		a.say("%s: %s of %s are in %s.", f, words.Count(about.Rows("spectra.csv"), "spectrum", "spectra"), words.List(about.Lines), into)
	}
	a.say("asusual handover --history %s --shift NAME --date YYYY-MM-DD makes a report of it.", into)
	return nil
}
