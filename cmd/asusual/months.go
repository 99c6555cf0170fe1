package main

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"time"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"asusual/cmd/asusual/config"
	"asusual/cmd/asusual/words"
	"asusual/monitor/archive"
	"asusual/monitor/history"
	"asusual/monitor/keep"
)

// addHistory adds the option that has a command read another history than that of the configuration.
func (a *app) addHistory(f *pflag.FlagSet) {
	f.StringVar(&a.historyFile, "history", "", "read this `FILE`, such as import makes, instead of the history of the line")
}

// monthRest is how long after a month its last spectra may still come in, or wait to be judged: chosen so that an hour's backlog is in.
const monthRest = time.Hour

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
	_, end, err := m.Period()
	if err != nil {
		return wrongUse("--month: %v", err)
	}
	if whole := end.Add(monthRest); a.now().Before(whole) {
		return &words.NotOver{Month: m.Name, End: whole}
	}
	if err := a.allThere(ctx, c, db); err != nil {
		return err
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
	a.say("%s: %s of %s, with their means, episodes, groups, alarms and checks.", folder, words.Spectra(about.Rows("spectra.csv")), words.List(about.Lines))
	return nil
}

// allThere is an error where this computer has kept for a while what the server lacks, which the history is read from: an archive without it
// would lack it for good.
func (a *app) allThere(ctx context.Context, c *config.Config, db *history.DB) (err error) {
	if !history.IsServer(db.Path()) || !exists(c.History) {
		return nil
	}
	file, err := history.Read(ctx, c.History)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, file.Close()) }()
	for _, l := range c.Lines {
		w, err := file.Waiting(ctx, l.Name)
		if err != nil {
			return err
		}
		if w.Batches > 0 && a.now().Sub(w.Since) >= waitLong {
			return &words.NotBrought{Line: l.Name, Spectra: w.Spectra, Since: w.Since.In(c.Zone()), History: c.History}
		}
	}
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
	if history.IsServer(into) {
		return wrongUse("--history: months are read into a file, and this is the address of a server")
	}
	if dir := filepath.Dir(into); !exists(dir) {
		return wrongUse("--history %s: there is no folder %s", into, dir)
	}
	for _, f := range folders { // before a file is made
		if _, err := archive.Look(f); err != nil {
			return err
		}
	}
	var read []monthJSON
	if exists(into) {
		read, err = a.importInto(ctx, folders, into)
		if errors.Is(err, archive.ErrPart) {
			err = &words.HalfRead{History: into, Stopped: ctx.Err() != nil, Why: err}
		}
	} else {
		read, err = a.importAnew(ctx, folders, into)
	}
	if told := a.tellImported(read, into); err != nil || told != nil {
		return errors.Join(err, told)
	}
	a.say("asusual handover --history %s --shift NAME --date YYYY-MM-DD makes a report of it.", into)
	return nil
}

// importAnew reads the months into a history that is there whole, or not at all.
func (a *app) importAnew(ctx context.Context, folders []string, into string) (read []monthJSON, err error) {
	for _, log := range []string{into + "-wal", into + "-journal"} {
		if exists(log) { // the new file would get what it says, and be damaged
			return nil, &words.LeftBehind{Log: log, History: into}
		}
	}
	made, err := os.MkdirTemp(filepath.Dir(into), keep.Prefix)
	if err != nil {
		return nil, fmt.Errorf("--history %s: %w", into, err)
	}
	defer func() { err = errors.Join(err, os.RemoveAll(made)) }()
	at := filepath.Join(made, "history")
	if read, err = a.importInto(ctx, folders, at); err != nil {
		return nil, fmt.Errorf("%s: nothing was read in: %w", into, err)
	}
	if err := renameWhole(at, into); err != nil {
		return nil, err
	}
	return read, nil
}

// renameWhole gives a history that is closed the name that it is to have. All of it must be in its file: where the disk is full, SQLite
// leaves the last of it in the log beside it, and says nothing.
func renameWhole(from, to string) error {
	if log, err := os.Stat(from + "-wal"); err == nil && log.Size() > 0 {
		return fmt.Errorf("%s: nothing was read in: the last %d bytes could not be written into the file; is the disk full?", to, log.Size())
	}
	return keep.Rename(from, to)
}

// importInto reads the months into the history of that path, and returns those that were read.
func (a *app) importInto(ctx context.Context, folders []string, path string) (read []monthJSON, err error) {
	db, err := history.Open(ctx, path, "asusual import")
	if err != nil {
		return nil, err
	}
	defer func() { err = errors.Join(err, db.Close()) }()
	for _, f := range folders {
		p := a.progress()
		p.step("reading "+f, 0, 0)
		about, err := archive.Read(ctx, f, db)
		p.end()
		if err != nil {
			return read, err
		}
		read = append(read, monthJSON{"imported", f, about})
	}
	return read, nil
}

// tellImported says which months are in the history of the path into.
func (a *app) tellImported(read []monthJSON, into string) error {
	for _, m := range read {
		if a.json {
			if err := writeJSON(a.out, m); err != nil {
				return err
			}
		}
		a.say("%s: %s of %s are in %s.", m.Folder, words.Spectra(m.Rows("spectra.csv")), words.List(m.Lines), into)
	}
	return nil
}
