package main

import (
	"context"
	"flag"
	"fmt"
	"io"
	"os"
	"os/signal"
	"runtime"
	"slices"
	"strings"
	"sync"

	"asusual/model/limits"
)

func main() {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt)
	defer stop()
	os.Exit(run(ctx, os.Args[1:], os.Stdout, os.Stderr))
}

// A plan says how much to simulate.
type plan struct {
	seeds   int // sets of good runs to learn from, for each line
	fresh   int // new good runs for each of them
	changed int // runs with each change for each of them
	rivals  int // good runs on which the rivals' limits are found
	first   uint64
	promise limits.Promise
}

func run(ctx context.Context, args []string, out, errOut io.Writer) int {
	p := plan{promise: limits.Promise{}.OrUsual()}
	fs := flag.NewFlagSet("trust", flag.ContinueOnError)
	fs.SetOutput(errOut)
	fs.IntVar(&p.seeds, "seeds", 60, "sets of good runs to learn from, for each line")
	fs.IntVar(&p.fresh, "fresh", 40, "new good runs for each set")
	fs.IntVar(&p.changed, "changed", 2, "runs with each change for each set")
	fs.IntVar(&p.rivals, "rivals", 600, "good runs on which the rivals' limits are found")
	fs.Uint64Var(&p.first, "seed", 1, "first seed")
	short := fs.Bool("short", false, "a few small lines only")
	only := fs.String("only", "", "lines whose name in the tables contains this")
	compares := fs.Bool("compare", false, "how often two periods of usual production are said to differ, instead")
	fs.TextVar(&p.promise, "promise", p.promise, "false episodes accepted")
	if fs.Parse(args) != nil {
		return 2
	}
	if p.seeds < 1 || p.fresh < 1 || p.changed < 1 || p.rivals < 20 || fs.NArg() > 0 {
		fmt.Fprintln(errOut, "trust: -seeds, -fresh and -changed are at least 1, -rivals at least 20, and nothing follows the flags")
		return 2
	}
	lines := all()
	if *short {
		lines = few()
	}
	lines = slices.DeleteFunc(lines, func(l line) bool { return !strings.Contains(l.String(), *only) })
	if len(lines) == 0 {
		fmt.Fprintf(errOut, "trust: no line's name contains %q\n", *only)
		return 2
	}
	if *compares {
		if err := compareAll(ctx, lines, p, out, errOut); err != nil {
			fmt.Fprintln(errOut, "trust:", err)
			return 1
		}
		return 0
	}
	results, err := study(ctx, lines, p, errOut)
	if err != nil {
		fmt.Fprintln(errOut, "trust:", err)
		return 1
	}
	if err := write(out, results, p); err != nil {
		fmt.Fprintln(errOut, "trust:", err)
		return 1
	}
	return 0
}

// study simulates the lines, as many at a time as there are processors.
func study(ctx context.Context, lines []line, p plan, progress io.Writer) ([]result, error) {
	results, errs := make([]result, len(lines)), make([]error, len(lines))
	var mu sync.Mutex
	each(len(lines), func(i int) {
		results[i], errs[i] = lines[i].study(ctx, p)
		mu.Lock()
		defer mu.Unlock()
		fmt.Fprintf(progress, "%v: done\n", lines[i])
	})
	for i, err := range errs {
		if err != nil {
			return nil, fmt.Errorf("%v: %w", lines[i], err)
		}
	}
	return results, nil
}

// each does n things, as many at a time as there are processors.
func each(n int, do func(i int)) {
	next := make(chan int)
	var done sync.WaitGroup
	for range runtime.GOMAXPROCS(0) {
		done.Go(func() {
			for i := range next {
				do(i)
			}
		})
	}
	for i := range n {
		next <- i
	}
	close(next)
	done.Wait()
}
