package main

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"sync"
	"time"

	"asusual/monitor/history"
)

// bring has a watcher of each line bring spectra at the same time, kept in a file of its own first.
func (b *bench) bring(ctx context.Context) error {
	dir, err := os.MkdirTemp("", "asusual-sitebench")
	if err != nil {
		return err
	}
	defer os.RemoveAll(dir)
	const batch = 500
	fars := make([]*history.Far, b.lines)
	nears := make([]*history.DB, b.lines)
	for i := range b.lines {
		if nears[i], err = history.Open(ctx, filepath.Join(dir, fmt.Sprint(i)), "sitebench"); err != nil {
			return err
		}
		defer nears[i].Close()
		line := fmt.Sprintf("new %d", i+1)
		if fars[i], err = history.OpenFar(ctx, nears[i], b.s.Address(place), "sitebench"); err != nil {
			return err
		}
		defer fars[i].Close()
		if _, err := fars[i].Join(ctx, line); err != nil {
			return err
		}
		for n := 0; n < b.brink; n += batch {
			if err := nears[i].Append(ctx, spectra(line, b.end.Add(time.Duration(n)*time.Second), min(batch, b.brink-n))); err != nil {
				return err
			}
		}
	}
	start := time.Now()
	errs := make([]error, b.lines)
	var all sync.WaitGroup
	for i := range b.lines {
		all.Go(func() {
			for more := true; more && errs[i] == nil; {
				_, more, errs[i] = fars[i].Deliver(ctx, fmt.Sprintf("new %d", i+1))
			}
		})
	}
	all.Wait()
	took := time.Since(start)
	fmt.Fprintf(b.out, "%d watchers at the same time bring %d spectra that waited, a file each: %.0f a second\n", b.lines, b.lines*b.brink,
		float64(b.lines*b.brink)/took.Seconds())
	if err := errors.Join(errs...); err != nil {
		return err
	}
	// One spectrum after another, as they come: how long until each is at the server.
	start = time.Now()
	const singles = 50
	for n := range singles {
		if err := nears[0].Append(ctx, spectra("new 1", b.end.Add(time.Duration(b.brink+n)*time.Second), 1)); err != nil {
			return err
		}
		if _, _, err := fars[0].Deliver(ctx, "new 1"); err != nil {
			return err
		}
	}
	fmt.Fprintf(b.out, "one spectrum kept and brought: %.1f ms\n", ms(start)/singles)
	return nil
}

// shifts reads shifts of eight hours.
func (b *bench) shifts(ctx context.Context) (err error) {
	db, err := history.Read(ctx, b.s.Address(place))
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, db.Close()) }()
	middle := b.begin.Add(b.end.Sub(b.begin) / 2).Truncate(time.Hour)
	for _, at := range []struct {
		what string
		from time.Time
	}{{"in the middle", middle}, {"at the end", b.end.Add(-8 * time.Hour)}} {
		q := history.Query{Line: name(b.lines / 2), From: at.from, To: at.from.Add(8 * time.Hour)}
		for _, when := range []string{"first", "again"} {
			start, n := time.Now(), 0
			for _, err := range db.Spectra(ctx, q) {
				if err != nil {
					return err
				}
				n++
			}
			records := ms(start)
			start = time.Now()
			c, err := db.Counts(ctx, q, time.Minute)
			if err != nil {
				return err
			}
			fmt.Fprintf(b.out, "a shift %s, %s: %d records %.0f ms, counts of %d %.0f ms\n", at.what, when, n, records, c.Judged, ms(start))
		}
	}
	return nil
}

// prune takes the oldest day of one line out.
func (b *bench) prune(ctx context.Context) (err error) {
	db, err := history.Open(ctx, b.s.Address(place), "sitebench")
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, db.Close()) }()
	start, kept := time.Now(), b.end.Sub(b.begin)-24*time.Hour
	p, err := db.Prune(ctx, name(0), history.Keep{Spectra: kept}, b.end, false)
	if err != nil {
		return err
	}
	fmt.Fprintf(b.out, "the oldest day of a line taken out: %d spectra in %.0f ms\n", p.Spectra, ms(start))
	return nil
}

// forget has the server and, where that can be asked for, the operating system forget what they have read.
func (b *bench) forget() error {
	if err := b.s.Halt(); err != nil {
		return err
	}
	err := filepath.WalkDir(b.s.Folder(), func(path string, d fs.DirEntry, err error) error {
		if err != nil || !d.Type().IsRegular() {
			return err
		}
		// dd of GNU: "nocache" asks the system to discard what it has of the whole file.
		if said, err := exec.Command("dd", "if="+path, "iflag=nocache", "count=0", "status=none").CombinedOutput(); err != nil {
			return fmt.Errorf("dd: %w: %s", err, said)
		}
		return nil
	})
	return errors.Join(err, b.s.Again())
}
