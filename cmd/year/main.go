package main

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"io"
	"os"
	"os/signal"
	"syscall"
	"time"

	"asusual/model/limits"
)

func main() {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	status := run(ctx, os.Args[1:], os.Stdout, os.Stderr)
	stop()
	os.Exit(status)
}

// Options are what the command line says.
type options struct {
	seed     uint64
	every    time.Duration
	channels int
	days     int
	upsets   int
	season   float64
	promise  limits.Promise
	dir      string
}

func run(ctx context.Context, args []string, out, errOut io.Writer) int {
	flags := flag.NewFlagSet("year", flag.ContinueOnError)
	flags.SetOutput(errOut)
	var o options
	flags.Uint64Var(&o.seed, "seed", 1, "the `NUMBER` that makes this year and no other")
	flags.DurationVar(&o.every, "every", time.Minute, "from spectrum to spectrum")
	flags.IntVar(&o.channels, "channels", 128, "of the detector, 64 to 1024")
	flags.IntVar(&o.days, "days", 365, "how long the year is")
	flags.IntVar(&o.upsets, "upsets", 40, "how many")
	flags.Float64Var(&o.season, "season", 0.02, "the `SHARE` of water that the season adds, at its most")
	flags.TextVar(&o.promise, "promise", limits.Promise{}, "at most so many false episodes, such as \"1 per 30 days\"")
	flags.StringVar(&o.dir, "dir", "", "the `FOLDER` for files and history, kept afterwards; otherwise one is made and removed")
	if err := flags.Parse(args); err != nil {
		if errors.Is(err, flag.ErrHelp) {
			return 0
		}
		return 2
	}
	if flags.NArg() > 0 || o.every < time.Second || o.every > 10*time.Minute || o.days < 1 || o.days > 3660 || o.upsets < 0 || o.upsets > 3*o.days ||
		!(o.season >= 0 && o.season <= 0.5) {
		fmt.Fprintln(errOut, "year: it takes no arguments, a spectrum every 1s to 10m, 1 to 3660 days, at most 3 upsets a day and a season of 0 to 0.5; try: go run ./cmd/year -help")
		return 2
	}
	if err := o.year(ctx, out, errOut); err != nil {
		fmt.Fprintln(errOut, "year:", err)
		return 1
	}
	return 0
}

// year plans, plays and tells.
func (o options) year(ctx context.Context, out, progress io.Writer) (err error) {
	if o.dir == "" {
		if o.dir, err = os.MkdirTemp("", "year-"); err != nil {
			return err
		}
		defer func() { err = errors.Join(err, os.RemoveAll(o.dir)) }()
	}
	began := time.Now()
	p, err := o.plan()
	if err != nil {
		return err
	}
	g, err := o.open(ctx, p, progress)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, g.history.Close()) }()
	if err := g.play(ctx); err != nil {
		return err
	}
	return g.tell(out, time.Since(began))
}
