package monitor

import (
	"context"
	"errors"
	"fmt"
	"time"

	"asusual/monitor/arrive"
)

// A watch that was killed within soonKilled of its start, or before it judged anything, may be killed as soon again: the next one
// begins to judge after haste, in whatever order is known by then. Chosen so that it has kept something within its first second.
const (
	soonKilled = 10 * time.Second
	haste      = 100 * time.Millisecond
)

// run watches the line, or with all, goes over it once.
func run(ctx context.Context, line Line, all bool) (err error) {
	line, err = line.withDefaults()
	if err != nil {
		return err
	}
	tree, err := arrive.OpenDisk(line.Folder)
	if err != nil {
		return fmt.Errorf("the watched folder: %w", err)
	}
	defer func() { err = errors.Join(err, tree.Close()) }()
	if _, err := line.References.Current(); err != nil {
		return err
	}
	c, err := newCommitter(ctx, &line)
	if err != nil {
		return err
	}
	c.all, c.flight = all, &flight{names: map[string]chan struct{}{}}
	if !all {
		if err := c.inbox.make(); err != nil {
			line.Log.Warn("the folder of requests cannot be made", "folder", string(c.inbox), "reason", err)
		}
	}
	names := &register{line: &line, flight: c.flight, new: map[string]struct{}{}}
	opt := arrive.Options{Tree: tree, Patterns: line.Patterns, Order: line.Order, After: c.status.last.File, Settle: line.Settle, Poll: line.Poll,
		Rescan: line.Rescan, Growing: true, Log: line.Log, Known: names.known}
	if killed := line.History.Killed(); !all && !killed.IsZero() && c.status.last.Received.Sub(killed) < soonKilled {
		opt.Haste = haste
	}
	if !all && !line.NoEvents {
		n, err := arrive.NewNotifier(line.Folder)
		if err != nil {
			line.Log.Warn("no notifications; listing the folder often", "reason", err)
		} else {
			opt.Source = n
			defer func() { _ = n.Close() }() // nothing is lost by notifications that come no more
		}
	}
	if c.scanner, err = arrive.New(opt); err != nil {
		return err
	}
	return pipeline(ctx, c, names, tree)
}
