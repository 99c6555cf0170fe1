package monitor

import (
	"context"
	"sync"
	"sync/atomic"
	"time"

	"asusual/monitor/arrive"
	"asusual/monitor/history"
)

// A job is one file on its way through the workers.
type job struct {
	file arrive.File
	new  bool // history does not have its name
	ref  *Reference
}

// written returns when the file was written to last.
func (j *job) written() time.Time { return written(j.file.Modified) }

// written returns when a file was written to that bears that time: now, for one that history could not keep. A share may give the year 1601.
func written(modified time.Time) time.Time {
	if history.CheckTime(modified) != nil {
		return time.Now()
	}
	return modified
}

// pipeline runs the scanner, the workers and the committer, and waits for all of them.
func pipeline(parent context.Context, c *committer, names *register, tree *arrive.Disk) error {
	ctx, cancel := context.WithCancelCause(parent)
	defer cancel(nil)
	n := workers()
	waiting := make(chan *job, parcelMost)
	todo, ordered := make(chan *parcel, n), make(chan *parcel, parcels) // one lies ready for each worker
	var queued atomic.Int64
	c.waiting = func() int { return c.scanner.Behind() + int(queued.Load()) }

	var packing, reading, keeping, looking sync.WaitGroup
	if i := c.line.Instrument; i != nil && len(i.Folders) > 0 && !c.all {
		own := make(chan arrival)
		c.elsewhere = own
		looking.Go(func() { watchElsewhere(ctx, c.line, own) })
	}
	defer looking.Wait()
	defer cancel(nil) // before it is waited for
	packing.Go(func() { pack(ctx, waiting, todo, ordered) })
	for range n {
		reading.Go(func() {
			w := newWorker(c.line, tree, c.all)
			for p := range todo {
				w.parcel(ctx, p)
				queued.Add(-int64(len(p.jobs)))
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
		queued.Add(1)
		select {
		case waiting <- &job{file: f, new: names.isNew(f.Rel), ref: ref}:
			return nil
		case <-ctx.Done():
			return ctx.Err()
		}
	}
	var err error
	if c.all {
		err = c.scanner.Once(ctx, feed)
	} else {
		err = c.scanner.Run(ctx, feed)
	}
	close(waiting)
	packing.Wait()
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

// A flight holds the names of files that are handed on and not kept yet: a name that comes again waits, so that what is known
// of it is true when it is read.
type flight struct {
	mu    sync.Mutex
	names map[string]chan struct{} // closed where one waits and the name is free again; nil where none waits
}

// start waits until the name is free, and takes it.
func (f *flight) start(ctx context.Context, name string) error {
	for {
		f.mu.Lock()
		landed, ok := f.names[name]
		if !ok {
			f.names[name] = nil
			f.mu.Unlock()
			return nil
		}
		if landed == nil {
			landed = make(chan struct{})
			f.names[name] = landed
		}
		f.mu.Unlock()
		select {
		case <-landed:
		case <-ctx.Done():
			return ctx.Err()
		}
	}
}

// has reports for each of the files whether its name is in flight.
func (f *flight) has(files []arrive.File) []bool {
	f.mu.Lock()
	defer f.mu.Unlock()
	is := make([]bool, len(files))
	for i, file := range files {
		_, is[i] = f.names[file.Rel]
	}
	return is
}

func (f *flight) land(name string) {
	f.mu.Lock()
	defer f.mu.Unlock()
	if landed := f.names[name]; landed != nil {
		close(landed)
	}
	delete(f.names, name)
}

// A register tells the scanner which files history has as they are now, and remembers the names that it does not have, so
// that a backlog is looked up in chunks and not file by file.
type register struct {
	line   *Line
	flight *flight
	mu     sync.Mutex
	new    map[string]struct{}
}

// maxNew bounds the names remembered: a name that is not is looked up once more, that is all.
const maxNew = 1 << 17

func (r *register) known(ctx context.Context, files []arrive.File) ([]bool, error) {
	names := make([]string, len(files))
	for i, f := range files {
		names[i] = f.Rel
	}
	flying := r.flight.has(files) // history may have them in a moment
	seen, err := r.line.History.Seen(ctx, r.line.Name, names)
	if err != nil {
		return nil, err
	}
	r.mu.Lock()
	defer r.mu.Unlock()
	is := make([]bool, len(files))
	for i, f := range files {
		k, ok := seen[f.Rel]
		is[i] = ok && k.Size == f.Size && k.Modified.Equal(history.Kept(f.Modified)) && k.Bytes == k.Size && !k.Partial
		if !ok && !flying[i] && len(r.new) < maxNew {
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
