package main

import (
	"context"
	"errors"
	"os"
	"sync"
	"time"

	"asusual/cmd/asusual/config"
	"asusual/monitor"
	"asusual/monitor/history"
)

// A histories keeps those open that were asked: opening one anew takes longer than asking it.
type histories struct {
	from  []string
	mu    sync.Mutex
	open  map[string]opened
	ended bool
	slow  map[slowOf]slow
}

// A slowOf is what the time hangs on beside the reference itself: lines may share one.
type slowOf struct {
	reference    string
	approvedOnly bool
	stated       time.Duration
}

// A slow is for how long a verdict holds by a reference file as it was then.
type slow struct {
	file  os.FileInfo
	fresh time.Duration
}

// fresh is for how long a verdict on a line holds, as its watch has it. A reference is read once.
func (h *histories) fresh(a *app, l config.Line) time.Duration {
	info, err := os.Stat(l.Reference)
	if err != nil {
		return l.Fresh
	}
	of := slowOf{l.Reference, l.ApprovedOnly, l.Fresh}
	if s, ok := h.slow[of]; ok && os.SameFile(s.file, info) && s.file.ModTime().Equal(info.ModTime()) {
		return s.fresh
	}
	ref, _, err := a.inForce(l)
	if err != nil { // which is not what this page tells
		return l.Fresh
	}
	s := slow{info, monitor.FreshFor(l.Fresh, ref)}
	if h.slow == nil {
		h.slow = map[slowOf]slow{}
	}
	h.slow[of] = s
	return s.fresh
}

// An opened is a history that is open, the file that it was then, nil for a server, and the index of its log, nil where it had none.
type opened struct {
	*history.DB
	file, index os.FileInfo
}

// isThere reports whether what was opened is there still: an older copy of the file may have been put back. One that was copied over the
// file is the same file to the system, but whoever puts it there takes the log's index away first.
func (o opened) isThere(where string) bool {
	return o.file == nil || isAsItWas(o.file, where) && isAsItWas(o.index, where+"-shm")
}

// isAsItWas reports whether the file is the one that it was, or is as little there.
func isAsItWas(was os.FileInfo, path string) bool {
	now, err := os.Stat(path)
	if was == nil || err != nil {
		return was == nil && err != nil
	}
	return os.SameFile(was, now)
}

func (h *histories) standings(ctx context.Context, where string) ([]monitor.Standing, error) {
	ctx, cancel := context.WithTimeout(ctx, siteWait)
	defer cancel()
	h.mu.Lock()
	db := h.open[where]
	h.mu.Unlock()
	if db.DB != nil && !db.isThere(where) {
		if err := h.drop(where, db); err != nil {
			return nil, err
		}
		db = opened{}
	}
	if db.DB == nil {
		var err error
		if !history.IsServer(where) {
			db.file, _ = os.Stat(where) // before it is opened: what is put in its place meanwhile is another
		}
		if db.DB, err = history.Read(ctx, where); err != nil {
			return nil, err
		}
		if db.file != nil {
			db.index, _ = os.Stat(where + "-shm")
		}
		if !h.keep(where, db) {
			return nil, errors.Join(context.Canceled, db.Close())
		}
	}
	all, err := monitor.Standings(ctx, db.DB)
	if err == nil {
		return all, nil
	}
	return nil, errors.Join(err, h.drop(where, db))
}

// drop closes a history, so that it is opened anew when it is asked next.
func (h *histories) drop(where string, db opened) error {
	h.mu.Lock()
	delete(h.open, where)
	h.mu.Unlock()
	return db.Close()
}

// keep keeps a history open; false: all were closed meanwhile.
func (h *histories) keep(where string, db opened) bool {
	h.mu.Lock()
	defer h.mu.Unlock()
	if h.open == nil {
		h.open = map[string]opened{}
	}
	if !h.ended {
		h.open[where] = db
	}
	return !h.ended
}

// close closes all. One who asks still, as a reader whom the end of the page did not wait for, opens none again.
func (h *histories) close() {
	h.mu.Lock()
	defer h.mu.Unlock()
	h.ended = true
	for _, db := range h.open {
		_ = db.Close() // it was only read
	}
}
