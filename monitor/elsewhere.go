package monitor

import (
	"context"
	"fmt"
	"path/filepath"
	"sync"

	"asusual/model/check"
	"asusual/model/spectrum"
	"asusual/monitor/arrive"
)

// elsewhere watches the folders in which the instrument's own spectra lie besides the watched one, and hands on what they hold, also what
// was there at the start: the committer knows which of it is new. A folder that cannot be watched is told in the log, for the line can
// be watched without it. It returns when the context ends.
func elsewhere(ctx context.Context, line *Line, to chan<- spectrum.Spectrum) {
	var watching sync.WaitGroup
	for _, folder := range line.Instrument.Folders {
		watching.Go(func() {
			if err := watchOwn(ctx, line, folder, to); err != nil && ctx.Err() == nil {
				line.Log.Error("a folder of the instrument's own spectra is not watched", "folder", folder, "reason", err)
			}
		})
	}
	watching.Wait()
}

// watchOwn hands on the spectra of one folder as they arrive.
func watchOwn(ctx context.Context, line *Line, folder string, to chan<- spectrum.Spectrum) error {
	tree, err := arrive.OpenDisk(folder)
	if err != nil {
		return err
	}
	defer tree.Close()
	scanner, err := arrive.New(arrive.Options{Tree: tree, Patterns: line.Patterns, Order: line.Order, Settle: line.Settle, Poll: line.Poll, Log: line.Log})
	if err != nil {
		return err
	}
	reader := spectrum.NewReader(line.Read)
	return scanner.Run(ctx, func(f arrive.File) error {
		if err := readOwn(ctx, line, tree, reader, f, folder, to); err != nil && ctx.Err() == nil {
			line.Log.Warn("a file of the instrument's own spectra cannot be read", "file", filepath.Join(folder, f.Rel), "reason", err)
		}
		return ctx.Err()
	})
}

// readOwn hands on what one file holds.
func readOwn(ctx context.Context, line *Line, tree arrive.Tree, reader *spectrum.Reader, f arrive.File, folder string, to chan<- spectrum.Spectrum) error {
	if f.Refused != "" {
		return fmt.Errorf("it is refused: %s", f.Refused)
	}
	in, err := tree.Open(f.Rel)
	if err != nil {
		return err
	}
	defer in.Close()
	path := filepath.Join(folder, filepath.FromSlash(f.Rel))
	text, err := spectrum.Open(in, path, line.Read.MaxBytes)
	if err != nil {
		return err
	}
	var first error
	for s, err := range reader.Read(text, spectrum.Source{Name: path, Modified: f.Modified}) {
		if err != nil {
			if first == nil {
				first = err // the rest goes on
			}
			continue
		}
		if s.Time.IsZero() {
			s.Time = f.Modified
		}
		select {
		case to <- s:
		case <-ctx.Done():
			return ctx.Err()
		}
	}
	return first
}

// fromElsewhere takes a spectrum of the instrument's own that lies besides the watched folder: it is checked where it is newer than all that
// were, and else kept for absorbances, unless it is at hand.
func (c *committer) fromElsewhere(s spectrum.Spectrum) {
	k := c.own
	role := k.rules.Of(s)
	if role == check.Sample {
		return
	}
	var err error
	switch {
	case s.Time.After(k.clock.newest):
		_, err = c.check(role, s, s.Time)
	case role != check.Standard && !k.has(role, &s):
		err = k.keep(role, s)
	default:
		return
	}
	if err != nil {
		c.line.Log.Warn("a spectrum of the instrument's own cannot be used", "file", s.Name(), "reason", err)
		return
	}
	c.line.Log.Info("a spectrum of the instrument's own is taken in", "role", role.String(), "file", s.Name())
}
