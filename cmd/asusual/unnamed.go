package main

import (
	"context"
	"log/slog"
	"time"

	"asusual/cmd/asusual/config"
	"asusual/monitor/history"
)

// An unnamedLine is one that a history has spectra of and that no configuration names: it got another name, or is out of use.
type unnamedLine struct {
	name string
	last time.Time
}

// unnamed returns the lines of the history's file that the configuration does not name. Those of a server are other watches'.
func unnamed(ctx context.Context, c *config.Config, db *history.DB) (all []unnamedLine, err error) {
	names, err := db.Lines(ctx)
	if err != nil || len(c.Lines) == 0 {
		return nil, err
	}
	for _, name := range names {
		if _, err := c.Find(name); err == nil {
			continue
		}
		_, last, ok, err := db.Span(ctx, name)
		if err != nil {
			return nil, err
		}
		if ok {
			all = append(all, unnamedLine{name, last})
		}
	}
	return all, nil
}

// tellUnnamed says at the start of a watch which lines are not watched any more, as long as they were not long ago.
func (a *app) tellUnnamed(ctx context.Context, c *config.Config, db *history.DB, log *slog.Logger) error {
	all, err := unnamed(ctx, c, db)
	for _, l := range all {
		if a.now().Sub(l.last) <= leftAfter {
			log.Warn("history has a line that no [[line]] names: it got another name, or is not watched any more", "line", l.name, "last spectrum", l.last.In(c.Zone()).Format(time.DateTime))
		}
	}
	return err
}
