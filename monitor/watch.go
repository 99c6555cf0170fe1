package monitor

import (
	"context"
	"errors"
	"fmt"
	"sync"
	"sync/atomic"

	"asusual/model/verdict"
	"asusual/monitor/arrive"
)

// A job is one file on its way through the workers.
type job struct {
	file arrive.File
	new  bool // history does not have its name
	ref  *Reference
	out  chan piece
}

// A flight holds the names of files that are handed on and not kept yet: a name that comes again waits, so that what is known
// of it is true when it is read.
type flight struct {
	mu    sync.Mutex
	names map[string]chan struct{}
}

// start waits until the name is free, and takes it.
func (f *flight) start(ctx context.Context, name string) error {
	for {
		f.mu.Lock()
		landed, ok := f.names[name]
		if !ok {
			f.names[name] = make(chan struct{})
			f.mu.Unlock()
			return nil
		}
		f.mu.Unlock()
		select {
		case <-landed:
		case <-ctx.Done():
			return ctx.Err()
		}
	}
}

func (f *flight) land(name string) {
	f.mu.Lock()
	defer f.mu.Unlock()
	if c, ok := f.names[name]; ok {
		close(c)
		delete(f.names, name)
	}
}

// run watches the line, or with all, goes over it once.
func run(ctx context.Context, line Line, all bool) (err error) {
	line, err = line.withDefaults()
	if err != nil {
		return err
	}
	tree, err := arrive.OpenDisk(line.Folder)
	if err != nil {
		return fmt.Errorf("the watched folder: %w", err)
	}
	defer func() { err = errors.Join(err, tree.Close()) }()
	if _, err := line.References.Current(); err != nil {
		return err
	}
	c, err := newCommitter(ctx, &line)
	if err != nil {
		return err
	}
	names := &register{line: &line, new: map[string]struct{}{}}
	opt := arrive.Options{Tree: tree, Patterns: line.Patterns, Order: line.Order, Settle: line.Settle, Poll: line.Poll,
		Rescan: line.Rescan, Log: line.Log, Known: names.known}
	if !all && !line.NoEvents {
		n, err := arrive.NewNotifier(line.Folder)
		if err != nil {
			line.Log.Warn("no notifications; listing the folder often", "reason", err)
		} else {
			opt.Source = n
			defer func() { _ = n.Close() }() // nothing is lost by notifications that come no more
		}
	}
	if c.scanner, err = arrive.New(opt); err != nil {
		return err
	}
	c.all, c.flight = all, &flight{names: map[string]chan struct{}{}}
	return pipeline(ctx, c, names, tree)
}

// A register tells the scanner which files history has as they are now, and remembers the names that it does not have, so
// that a backlog is looked up in chunks and not file by file.
type register struct {
	line *Line
	mu   sync.Mutex
	new  map[string]struct{}
}

// maxNew bounds the names remembered: a name that is not is looked up once more, that is all.
const maxNew = 1 << 17

func (r *register) known(ctx context.Context, files []arrive.File) ([]bool, error) {
	names := make([]string, len(files))
	for i, f := range files {
		names[i] = f.Rel
	}
	seen, err := r.line.History.Seen(ctx, r.line.Name, names)
	if err != nil {
		return nil, err
	}
	r.mu.Lock()
	defer r.mu.Unlock()
	is := make([]bool, len(files))
	for i, f := range files {
		k, ok := seen[f.Rel]
		is[i] = ok && k.Size == f.Size && k.Modified.Equal(f.Modified) && k.Bytes == k.Size && !k.Partial
		if !ok && len(r.new) < maxNew {
			r.new[f.Rel] = struct{}{}
		}
	}
	return is, nil
}

// isNew reports whether history is known not to have the name. It says so once: after that, history may have it.
func (r *register) isNew(name string) bool {
	r.mu.Lock()
	defer r.mu.Unlock()
	_, is := r.new[name]
	delete(r.new, name)
	return is
}

// pipeline runs the scanner, the workers and the committer, and waits for all of them.
func pipeline(parent context.Context, c *committer, names *register, tree arrive.Tree) error {
	ctx, cancel := context.WithCancelCause(parent)
	defer cancel(nil)
	n := workers()
	todo := make(chan *job)
	ordered := make(chan *job, 4*n)
	var queued atomic.Int64
	c.waiting = func() int { return c.scanner.Behind() + int(queued.Load()) }

	var reading, keeping sync.WaitGroup
	for range n {
		reading.Go(func() {
			w := newWorker(c.line, tree, c.all)
			for j := range todo {
				w.do(ctx, j)
				queued.Add(-1)
			}
		})
	}
	var kept error
	keeping.Go(func() {
		if kept = c.run(ctx, ordered); kept != nil {
			cancel(kept)
		}
	})
	feed := func(f arrive.File) error {
		if err := c.flight.start(ctx, f.Rel); err != nil {
			return err
		}
		ref, err := c.line.References.Current()
		if err != nil {
			return err
		}
		j := &job{file: f, new: names.isNew(f.Rel), ref: ref, out: make(chan piece, 2)}
		queued.Add(1)
		for _, to := range []chan<- *job{todo, ordered} {
			select {
			case to <- j:
			case <-ctx.Done():
				return ctx.Err()
			}
		}
		return nil
	}
	var err error
	if c.all {
		err = c.scanner.Once(ctx, feed)
	} else {
		err = c.scanner.Run(ctx, feed)
	}
	close(todo)
	reading.Wait()
	close(ordered)
	keeping.Wait()
	switch {
	case kept != nil:
		return kept
	case !c.all && parent.Err() != nil:
		return nil // stopped in good order
	}
	return err
}

// WatchAll watches several lines until the context ends. One that fails does not stop the others: its board says so, and
// its error is among those returned when all have ended.
func WatchAll(ctx context.Context, lines []Line, board *Board) error {
	var watching sync.WaitGroup
	errs := make([]error, len(lines))
	for i, line := range lines {
		line.Board = board
		watching.Go(func() {
			if err := Watch(ctx, line); err != nil {
				errs[i] = fmt.Errorf("line %q: %w", line.Name, err)
				board.Set(Status{Line: line.Name, Verdict: verdict.CannotSay.String(), Instrument: "unknown", Trouble: err.Error()})
				if line.Log != nil {
					line.Log.Error("the line is not watched any more", "line", line.Name, "reason", err)
				}
			}
		})
	}
	if board == nil {
		watching.Wait()
		return errors.Join(errs...)
	}
	var showing sync.WaitGroup
	show, stop := context.WithCancel(context.WithoutCancel(ctx))
	showing.Go(func() { board.Run(show) })
	watching.Wait()
	stop()
	showing.Wait()
	return errors.Join(errs...)
}
