package main

import (
	"context"
	"io/fs"
	"log/slog"
	"path/filepath"
	"strings"
	"time"

	"asusual/cmd/asusual/config"
	"asusual/monitor/history"
	"asusual/monitor/keep"
)

// unfinishedFor is how long a file that was being written has to lie there before it is a leftover: writing one takes a moment.
const unfinishedFor = time.Hour

// sweep takes away what power cuts left of files that were being written: in the folders of the state file, of the history and of the
// reports, and never where spectra lie. It ends with the context.
func sweep(ctx context.Context, c *config.Config, now time.Time, log *slog.Logger) {
	take := func(folder string) {
		if amongSpectra(c, folder) {
			return
		}
		if err := keep.Sweep(folder, now.Add(-unfinishedFor)); err != nil {
			log.Warn("what a power cut left of files cannot be taken away", "folder", folder, "reason", err)
		}
	}
	if c.Signal.State != "" {
		take(filepath.Dir(c.Signal.State))
	}
	if c.History != "" && !history.IsServer(c.History) {
		take(filepath.Dir(c.History))
	}
	if c.Reports == "" {
		return
	}
	_ = filepath.WalkDir(c.Reports, func(path string, e fs.DirEntry, err error) error {
		if ctx.Err() != nil {
			return ctx.Err()
		}
		if err == nil && e.IsDir() {
			take(path)
		}
		return nil // what cannot be listed cannot be swept, and whoever writes there says so
	})
}

// amongSpectra reports whether the folder is one of spectra of a line, or lies in one.
func amongSpectra(c *config.Config, folder string) bool {
	for _, l := range c.Lines {
		for _, of := range append([]string{l.Watch}, l.Good...) {
			if of == "" {
				continue
			}
			if rel, err := filepath.Rel(of, folder); err == nil && rel != ".." && !strings.HasPrefix(rel, ".."+string(filepath.Separator)) {
				return true
			}
		}
	}
	return false
}
