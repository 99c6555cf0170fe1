package monitor

import (
	"context"
	"errors"
	"fmt"
	"io"
	"path/filepath"
	"sync"
	"time"

	"asusual/model/check"
	"asusual/model/spectrum"
	"asusual/monitor/arrive"
	"asusual/monitor/history"
)

// An arrival is what came to a folder of the instrument's own besides the watched one: a spectrum, or a file of which something cannot
// be read, with the reason.
type arrival struct {
	spectrum spectrum.Spectrum
	file     history.File // of what cannot be read; its name is the whole path
	reason   string       // "" for a spectrum
}

// An elsewhere watches one folder in which the instrument's own spectra lie besides the watched one, and hands on what it holds, also
// what was there at the start: the committer knows which of it is new.
type elsewhere struct {
	line    *Line
	folder  string
	tree    *arrive.Disk
	scanner *arrive.Scanner
	reader  *spectrum.Reader
	tries   tries // of files that could not be opened
	to      chan<- arrival
}

// watchElsewhere watches all such folders, and returns when the context ends.
func watchElsewhere(ctx context.Context, line *Line, to chan<- arrival) {
	var watching sync.WaitGroup
	for _, folder := range line.Instrument.Folders {
		e := &elsewhere{line: line, folder: folder, reader: spectrum.NewReader(line.Read), tries: tries{}, to: to}
		watching.Go(func() {
			if err := e.run(ctx); err != nil && ctx.Err() == nil {
				line.Log.Error("a folder of the instrument's own spectra is not watched", "folder", folder, "reason", err)
			}
		})
	}
	watching.Wait()
}

// open opens the folder. One that is not there, as a share that is mounted later, is waited for: the line is watched without it.
func (e *elsewhere) open(ctx context.Context) (err error) {
	for told := false; ; told = true {
		if e.tree, err = arrive.OpenDisk(e.folder); err == nil {
			if told {
				e.line.Log.Info("a folder of the instrument's own spectra is there now", "folder", e.folder)
			}
			return nil
		}
		if !told {
			e.line.Log.Error("a folder of the instrument's own spectra is not watched; trying again", "folder", e.folder, "reason", err)
		}
		select {
		case <-ctx.Done():
			return ctx.Err()
		case <-time.After(max(e.line.Poll, arriveSettle(e.line))):
		}
	}
}

func (e *elsewhere) run(ctx context.Context) (err error) {
	if err := e.open(ctx); err != nil {
		return err
	}
	defer e.tree.Close()
	e.scanner, err = arrive.New(arrive.Options{Tree: e.tree, Patterns: e.line.Patterns, Order: e.line.Order, Settle: e.line.Settle, Poll: e.line.Poll, Log: e.line.Log})
	if err != nil {
		return err
	}
	return e.scanner.Run(ctx, func(f arrive.File) error {
		if err := e.file(ctx, f); err != nil {
			e.failed(ctx, f, err)
		} else {
			delete(e.tries, f.Rel)
		}
		return ctx.Err()
	})
}

// An unopened is the error of a file that could not be opened or read to its end, which may pass.
type unopened struct{ error }

func (u unopened) Error() string { return reasonOf(u.error) }

// failed tells of a file in which something cannot be read, and tries again where that may pass.
func (e *elsewhere) failed(ctx context.Context, f arrive.File, err error) {
	path := e.path(f)
	var closed unopened
	if errors.As(err, &closed) {
		if missing(closed.error) {
			delete(e.tries, f.Rel)
			e.scanner.Forget(f)
			return
		}
		n := e.tries.count(f.Rel)
		e.scanner.Again(f, arriveSettle(e.line)<<min(n, tryLater))
		if n == 1 {
			e.line.Log.Warn("a file of the instrument's own spectra cannot be read yet; trying again", "file", path, "reason", err)
		}
		if n != tryMost {
			return
		}
	}
	e.send(ctx, arrival{reason: err.Error(), file: history.File{Name: filepath.ToSlash(path), Size: f.Size, Modified: f.Modified, Received: time.Now()}})
}

func (e *elsewhere) path(f arrive.File) string {
	return filepath.Join(e.folder, filepath.FromSlash(f.Rel))
}

func (e *elsewhere) send(ctx context.Context, a arrival) {
	select {
	case e.to <- a:
	case <-ctx.Done():
	}
}

// file hands on what one file holds.
func (e *elsewhere) file(ctx context.Context, f arrive.File) error {
	if f.Refused != "" {
		return fmt.Errorf("it is refused: %s", f.Refused)
	}
	in, err := e.tree.Open(f.Rel)
	if err != nil {
		return unopened{err}
	}
	defer in.Close()
	path := e.path(f)
	from := &stream{Reader: in}
	text, err := spectrum.Open(from, path, e.line.Read.MaxBytes)
	if from.err != nil {
		return unopened{from.err}
	}
	if err != nil {
		return err
	}
	var first error
	for s, err := range e.reader.Read(text, spectrum.Source{Name: path, Modified: f.Modified}) {
		if err != nil {
			if first == nil {
				first = err // the rest goes on
			}
			continue
		}
		if s.Time.IsZero() {
			s.Time = f.Modified
		}
		if err := history.CheckTime(s.Time); err != nil {
			if first == nil {
				first = errors.New(untimely(err, s, f))
			}
			continue
		}
		if e.send(ctx, arrival{spectrum: s}); ctx.Err() != nil {
			return ctx.Err()
		}
	}
	if from.err != nil {
		return unopened{from.err}
	}
	return first
}

// A stream is read from its beginning, and remembers an error of the disk or the share.
type stream struct {
	io.Reader
	err error
}

func (s *stream) Read(p []byte) (int, error) {
	n, err := s.Reader.Read(p)
	if err != nil && !errors.Is(err, io.EOF) {
		s.err = err
	}
	return n, err
}

// fromElsewhere takes what came to a folder of the instrument's own besides the watched one.
func (c *committer) fromElsewhere(ctx context.Context, a arrival) error {
	if a.reason != "" {
		return c.brokenElsewhere(ctx, a)
	}
	c.ownElsewhere(a.spectrum)
	return nil
}

// brokenElsewhere keeps that something cannot be read, once for a file as it is.
func (c *committer) brokenElsewhere(ctx context.Context, a arrival) error {
	f := a.file
	for i := range c.batch.Files {
		if c.batch.Files[i].File.Name == f.Name { // it changed within a moment: the next listing after a start says so
			return nil
		}
	}
	var was history.File
	err := c.read(func() error {
		seen, err := c.line.History.Seen(ctx, c.line.Name, []string{f.Name})
		was = seen[f.Name]
		return err
	})
	if err != nil || was.ID != 0 && was.Size == f.Size && was.Modified.Equal(history.Kept(f.Modified)) {
		return err
	}
	f.Version, f.Bytes = was.Version+1, f.Size
	u := history.Unreadable{Reason: a.reason, Time: written(f.Modified), Received: f.Received}
	f.Modified = history.Kept(f.Modified)
	c.batch.Files = append(c.batch.Files, history.Judged{File: f, Unreadable: []history.Unreadable{u}})
	c.status.unreadable++
	c.line.Log.Warn("a file of the instrument's own spectra cannot be read", "file", f.Name, "reason", a.reason)
	return nil
}

// ownElsewhere takes a spectrum of the instrument's own that lies besides the watched folder: it is checked where it is newer than all that
// were, or than any could be, and else kept for absorbances, unless it is at hand.
func (c *committer) ownElsewhere(s spectrum.Spectrum) {
	k := c.own
	role := k.rules.Of(s)
	if role == check.Sample {
		return
	}
	var err error
	switch {
	case s.Time.After(k.clock.newest), s.Time.After(earlier(k.clock.written, time.Now())) && !k.has(role, &s): // the latter came since
		_, err = c.check(role, s, s.Time)
	case role != check.Standard && k.wants(role, &s):
		err = k.keep(role, s)
	default:
		return
	}
	if err != nil {
		c.line.Log.Warn(cannotBeUsed, "file", s.Name(), "reason", err)
		return
	}
	c.line.Log.Info("a spectrum of the instrument's own is taken in", "role", role.String(), "file", s.Name())
}
