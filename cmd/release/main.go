package main

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"io"
	"os"
	"os/signal"
	"path/filepath"
	"strings"
	"syscall"
)

func main() {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	status := run(ctx, os.Args[1:], os.Stdout, os.Stderr)
	stop()
	os.Exit(status)
}

// everySystem is what a release is made for.
const everySystem = "linux/amd64,linux/arm64,windows/amd64,windows/arm64,darwin/amd64,darwin/arm64"

func run(ctx context.Context, args []string, out, errOut io.Writer) int {
	flags := flag.NewFlagSet("release", flag.ContinueOnError)
	flags.SetOutput(errOut)
	dir := flags.String("dir", "dist", "the `folder` to write to; what stands there under the same names is replaced")
	systems := flags.String("systems", everySystem, "the systems, `GOOS/GOARCH` each")
	changed := flags.Bool("changed", false, "take a tree with changes that are not committed")
	twice := flags.Bool("twice", false, "make it again from a fresh clone, and compare")
	if err := flags.Parse(args); err != nil {
		if errors.Is(err, flag.ErrHelp) {
			return 0
		}
		return 2
	}
	if flags.NArg() > 0 || *changed && *twice {
		fmt.Fprintln(errOut, "release: it takes no arguments, and -twice only what is committed; try: go run ./cmd/release -help")
		return 2
	}
	var on []system
	for s := range strings.SplitSeq(*systems, ",") {
		goos, arch, ok := strings.Cut(s, "/")
		if !ok {
			fmt.Fprintf(errOut, "release: system %q: want GOOS/GOARCH, such as linux/amd64\n", s)
			return 2
		}
		on = append(on, system{goos, arch})
	}
	if err := release(ctx, out, *dir, on, *changed, *twice); err != nil {
		fmt.Fprintln(errOut, "release:", err)
		return 1
	}
	return 0
}

func release(ctx context.Context, out io.Writer, dir string, on []system, changed, twice bool) error {
	top, err := output(ctx, ".", nil, "git", "rev-parse", "--show-toplevel")
	if err != nil {
		return err
	}
	sums, err := makeAll(ctx, out, tree{folder: top}, dir, on, changed)
	if err != nil || !twice {
		return err
	}
	again, err := os.MkdirTemp("", "release-")
	if err != nil {
		return err
	}
	defer os.RemoveAll(again)
	fmt.Fprintln(out, "again, from a fresh clone:")
	t := tree{folder: filepath.Join(again, "elsewhere"), cache: filepath.Join(again, "cache")}
	if _, err := output(ctx, top, nil, "git", "clone", "--quiet", "--no-hardlinks", ".", t.folder); err != nil {
		return err
	}
	others, err := makeAll(ctx, out, t, filepath.Join(again, "dist"), on, false)
	if err != nil {
		return err
	}
	if sums != others {
		return fmt.Errorf("the two differ:\n%s\nagain:\n%s", sums, others)
	}
	fmt.Fprintln(out, "both are the same, byte for byte")
	return nil
}

// makeAll makes the release of a tree in dir, and returns the checksums.
func makeAll(ctx context.Context, out io.Writer, t tree, dir string, on []system, changed bool) (string, error) {
	if err := t.look(ctx, changed); err != nil {
		return "", err
	}
	if err := os.MkdirAll(dir, 0o755); err != nil {
		return "", err
	}
	shared, err := t.beside(ctx)
	if err != nil {
		return "", err
	}
	var sums strings.Builder
	for _, s := range on {
		program, err := t.build(ctx, s)
		if err != nil {
			return "", err
		}
		packages, err := t.pack(s, program, shared)
		if err != nil {
			return "", err
		}
		for _, p := range packages {
			if err := os.WriteFile(filepath.Join(dir, p.name), p.data, 0o644); err != nil {
				return "", err
			}
			fmt.Fprintf(out, "%s: %.1f MB\n", filepath.Join(dir, p.name), float64(len(p.data))/1e6)
			fmt.Fprintf(&sums, "%s  %s\n", p.sum(), p.name)
		}
	}
	return sums.String(), os.WriteFile(filepath.Join(dir, "SHA256SUMS"), []byte(sums.String()), 0o644)
}
