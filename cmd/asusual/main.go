package main

import (
	"context"
	"os"
	"os/signal"
	"runtime/debug"
	"syscall"
	_ "time/tzdata" // Windows has no time zones of its own
)

func main() {
	if os.Getenv("GOGC") == "" {
		percent := 50 // what is held are numbers, without pointers: collecting twice as often costs nothing and saves a quarter of the memory
		switch {
		case len(os.Args) > 1 && os.Args[1] == "watch":
			percent = 200 // a watch holds little and drops much: collecting seldom saves a sixth of its time
		case len(os.Args) > 1 && os.Args[1] == "learn":
			percent = 25 // it holds all spectra: what is dropped beside them had better be used again soon than come to anew
		}
		debug.SetGCPercent(percent)
	}
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	status := run(ctx, os.Args[1:], os.Stdin, os.Stdout, os.Stderr)
	stop()
	os.Exit(status)
}
