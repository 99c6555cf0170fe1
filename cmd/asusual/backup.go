package main

import (
	"context"
	"errors"
	"os"
	"time"

	"github.com/spf13/cobra"

	"asusual/cmd/asusual/words"
)

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
	// SQLite would write a log that a killed watch left into whatever file stands beside it (SQLite documentation, "How To Corrupt An
	// SQLite Database File", section 1.4).
	a.say("To go back to it, stop the watch, remove %[1]s-wal and %[1]s-shm where they are left, and put it in the place of %[1]s.", db.Path())
	return nil
}
