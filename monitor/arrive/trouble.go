package arrive

import (
	"fmt"
	"sync"
	"sync/atomic"
	"time"
)

// silent is after how long a folder that was asked something has left the question without an answer: chosen so that a slow share has
// told of a few hundred files by then.
const silent = 2 * time.Minute

// A health knows what keeps a folder from being listed.
type health struct {
	mu    sync.Mutex
	why   error // of the last listing; nil: it went well
	since time.Time
	asked atomic.Int64 // when a question was put that has no answer yet, Unix ns; 0: none is open
}

// listed notes how a listing ended.
func (h *health) listed(err error, now time.Time) {
	h.mu.Lock()
	defer h.mu.Unlock()
	if err == nil || h.why == nil {
		h.since = now
	}
	h.why = err
}

// asks notes that the folder is asked something, until answered is called.
func (h *health) asks() (answered func()) {
	h.asked.Store(time.Now().UnixNano())
	return h.answered
}

func (h *health) answered() { h.asked.Store(0) }

// Trouble returns what keeps the folder from being listed, and since when; nil where nothing does. It may be called at any time.
func (s *Scanner) Trouble() (since time.Time, why error) {
	h := &s.health
	h.mu.Lock()
	defer h.mu.Unlock()
	if h.why != nil {
		return h.since, fmt.Errorf("the folder cannot be listed: %w", h.why)
	}
	if asked := h.asked.Load(); asked != 0 {
		if at := time.Unix(0, asked); time.Since(at) >= silent {
			return at, fmt.Errorf("the folder has not answered for longer than %d minutes", silent/time.Minute)
		}
	}
	return time.Time{}, nil
}

// renew finds the folder again.
func (s *Scanner) renew() error {
	defer s.health.asks()()
	return s.opt.Tree.Renew()
}

// trouble tells what is wrong, once until it is over.
func (s *Scanner) trouble(about, what string, err error) {
	if !s.told[about] {
		s.told[about] = true
		s.opt.Log.Warn(what, "folder", about, "reason", err)
	}
}

func (s *Scanner) settled(about, what string) {
	if s.told[about] {
		delete(s.told, about)
		s.opt.Log.Info(what, "folder", about)
	}
}
