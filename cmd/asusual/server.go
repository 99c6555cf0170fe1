package main

import (
	"context"
	"errors"
	"log/slog"

	"asusual/cmd/asusual/config"
	"asusual/monitor"
	"asusual/monitor/history"
)

// carrying joins the lines with the server that the history is on. It returns nil where the history is a file: one that was
// carried to a server before is not any more.
func carrying(ctx context.Context, c *config.Config, db *history.DB, lines []config.Line, board *monitor.Board, log *slog.Logger) (*monitor.Carrying, error) {
	if c.Server == "" {
		return nil, db.Carry(ctx, false)
	}
	s := monitor.Server{Address: c.Server, Watcher: "asusual watch", Board: board, Log: log}
	for _, l := range lines {
		s.Lines = append(s.Lines, l.Name)
	}
	return monitor.NewCarrying(ctx, db, s)
}

// carriedWhile watches, and brings to the server what is kept until the watch has ended. Where another one has a line there, the
// watch ends.
func carriedWhile(ctx context.Context, carry *monitor.Carrying, watch func(context.Context) error) error {
	if carry == nil {
		return watch(ctx)
	}
	watching, end := context.WithCancel(ctx)
	defer end()
	kept, stop := context.WithCancel(context.WithoutCancel(ctx))
	done := make(chan error, 1)
	go func() { // waited for below
		defer end()
		done <- carry.Run(kept)
	}()
	err := watch(watching)
	stop()
	return errors.Join(err, <-done)
}
