package main

import (
	"context"
	"log/slog"
	"slices"
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
		if _, ok := named(c, name, names); ok {
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

// named returns the [[line]] that means the line of that name, of all that a history has. One whose name differs in capitals alone means
// it, unless the history has its own name, too: history knows them apart.
func named(c *config.Config, name string, all []string) (config.Line, bool) {
	l, err := c.Find(name)
	return l, err == nil && name != "" && (l.Name == name || !slices.Contains(all, l.Name))
}

// tellUnnamed says at the start of a watch which lines are not watched any more, as long as they were not long ago.
func (a *app) tellUnnamed(ctx context.Context, c *config.Config, db *history.DB, log *slog.Logger) error {
	all, err := unnamed(ctx, c, db)
	for _, l := range all {
		if a.now().Sub(l.last).Abs() <= leftAfter {
			log.Warn("history has a line that no [[line]] names: it got another name, or is not watched any more", "line", l.name, "last spectrum", l.last.In(c.Zone()).Format(time.DateTime))
		}
	}
	return err
}
