package main

import (
	"context"
	"os"
	"os/signal"
	"runtime/debug"
	"syscall"
	_ "time/tzdata" // Windows has no time zones of its own

	"github.com/spf13/cobra"

	"asusual/cmd/asusual/gather"
)

func main() {
	percent := 50 // what is held are numbers, without pointers: collecting twice as often costs nothing and saves a quarter of the memory
	switch {
	case len(os.Args) > 1 && os.Args[1] == "watch":
		percent = 200 // a watch holds little and drops much: collecting seldom saves a sixth of its time
	case len(os.Args) > 1 && os.Args[1] == "learn":
		percent = 25 // it holds all spectra: what is dropped beside them had better be used again soon than come to anew
	}
	collect(percent)
	os.Exit(run(context.Background(), os.Args[1:], os.Stdin, os.Stdout, os.Stderr))
}

// collect has memory collected when it has grown by so many percent of what is in use, unless the environment says when.
func collect(percent int) {
	if os.Getenv("GOGC") == "" {
		debug.SetGCPercent(percent)
	}
}

// heed has the context of a command end when somebody stops the program. Only what runs has something to end: help is there sooner.
func (a *app) heed(c *cobra.Command, _ []string) {
	ctx, stop := signal.NotifyContext(c.Context(), os.Interrupt, syscall.SIGTERM)
	c.SetContext(ctx)
	a.unheed = stop
	if c.Name() != "watch" { // which goes on for months, and had better stay small
		gather.LargeHeap(heapSoon)
	}
}

// heapSoon is about what reading or judging a folder takes.
const heapSoon = 32 << 20
