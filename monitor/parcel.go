package monitor

import (
	"context"
	"io/fs"
	"path"
	"time"

	"asusual/monitor/arrive"
)

// A parcel is some files that one worker reads one after another: handing on files one by one, and asking history for each,
// would cost more than reading them.
type parcel struct {
	jobs []*job
	out  chan []found // what the worker found, in the order of the files
}

// A found is a piece of a file.
type found struct {
	job   *job
	piece piece
}

const (
	parcelMost = 32                    // files of a parcel, and spectra after which a worker hands on what it found so far
	parcelTime = 20 * time.Millisecond // after which it does so in any case
	parcels    = 32                    // that wait for the committer: what workers read while it writes history
)

// pack makes parcels of the files that wait: of one alone where one comes at a time.
func pack(ctx context.Context, waiting <-chan *job, todo, ordered chan<- *parcel) {
	for j := range waiting {
		p := &parcel{jobs: []*job{j}, out: make(chan []found, 1)}
		for more := true; more && len(p.jobs) < parcelMost; {
			select {
			case j, more = <-waiting:
				if more {
					p.jobs = append(p.jobs, j)
				}
			default:
				more = false
			}
		}
		for _, to := range []chan<- *parcel{todo, ordered} {
			select {
			case to <- p:
			case <-ctx.Done():
				return
			}
		}
	}
}

// parcel reads and judges the files of a parcel.
func (w *worker) parcel(ctx context.Context, p *parcel) {
	defer close(p.out)
	defer w.leave()
	w.out, w.found, w.held, w.since, w.many = p.out, nil, 0, time.Now(), len(p.jobs) > 1
	err := w.look(ctx, p)
	for _, j := range p.jobs {
		if ctx.Err() != nil {
			return
		}
		w.do(ctx, j, err)
	}
	if len(w.found) > 0 {
		w.hand(ctx)
	}
}

// send hands a piece on, with those of other files where it is small and came soon. It reports whether to go on.
func (w *worker) send(ctx context.Context, p piece) bool {
	w.found = append(w.found, found{w.job, p})
	w.held += len(p.spectra)
	if p.last && w.held < parcelMost && time.Since(w.since) < parcelTime {
		return true
	}
	return w.hand(ctx)
}

func (w *worker) hand(ctx context.Context) bool {
	select {
	case w.out <- w.found:
		w.found, w.held, w.since = nil, 0, time.Now()
		return true
	case <-ctx.Done():
		return false
	}
}

// enter opens the folder of a file, once for all files of a parcel that lie in it, and returns the name of the file there.
func (w *worker) enter(rel string) string {
	dir, base := path.Split(rel)
	if dir != w.dir || w.below == nil && w.many {
		w.leave()
		if below, err := w.tree.Below(path.Clean(dir)); err == nil {
			w.dir, w.below = dir, below
		}
	}
	return base
}

// open opens a file through its folder.
func (w *worker) open(rel string) (fs.File, error) {
	base := w.enter(rel)
	if w.below != nil {
		if in, err := w.below.Open(base); err == nil {
			return in, nil
		}
	}
	return w.tree.Open(rel) // a link may lead out of its folder and not out of the watched one
}

// whole reads a small file in one go, where that can be.
func (w *worker) whole(f arrive.File) (whole arrive.Whole, ok bool) {
	if !w.many || f.Size > smallFile { // opening the folder does not pay for one file alone
		return arrive.Whole{}, false
	}
	base := w.enter(f.Rel)
	if w.below == nil {
		return arrive.Whole{}, false
	}
	return w.below.ReadWhole(base, w.buf, smallFile)
}

// leave closes the folder that was opened.
func (w *worker) leave() {
	if w.below != nil {
		_ = w.below.Close() // nothing was written through it
	}
	w.dir, w.below = "", nil
}

// look finds out what history knows of the files' names.
func (w *worker) look(ctx context.Context, p *parcel) error {
	w.seen = nil
	var names []string
	for _, j := range p.jobs {
		if !j.new {
			names = append(names, j.file.Rel)
		}
	}
	if len(names) == 0 {
		return nil
	}
	return w.ask(ctx, func() (err error) {
		w.seen, err = w.line.History.Seen(ctx, w.line.Name, names)
		return err
	})
}
