package main

import (
	"context"
	"os"
	"os/signal"
	"syscall"
	_ "time/tzdata" // Windows has no time zones of its own
)

func main() {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	status := run(ctx, os.Args[1:], os.Stdin, os.Stdout, os.Stderr)
	stop()
	os.Exit(status)
}
