package arrive_test

import (
	"io/fs"
	"strings"
	"testing"
	"testing/fstest"
	"testing/synctest"
	"time"

	"asusual/monitor/arrive"
)

func TestTroubleWhileTheFolderIsAway(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		r := start(t, arrive.Options{Poll: 2 * time.Second})
		defer r.stop(t)
		r.after(time.Minute)
		if _, why := r.s.Trouble(); why != nil {
			t.Errorf("Trouble of a folder that is there = %v, want none", why)
		}
		began := time.Now()
		r.locked(func() { r.gone = true })
		r.after(time.Hour)
		since, why := r.s.Trouble()
		if why == nil || !strings.Contains(why.Error(), "cannot be listed") || since.Before(began) || since.After(began.Add(2*time.Second)) {
			t.Errorf("Trouble of a folder that is gone since %v = %v, %v, want that it cannot be listed, since within a listing's pause", began, why, since)
		}
		r.locked(func() { r.gone = false })
		r.after(2 * time.Second)
		if _, why := r.s.Trouble(); why != nil {
			t.Errorf("Trouble of a folder that is back = %v, want none", why)
		}
	})
}

// A hanging is a folder that leaves questions without an answer while its channel is there.
type hanging struct {
	*memory
	hang chan struct{} // closed: it answers
}

func (h *hanging) Open(name string) (fs.File, error) {
	<-h.hang
	return h.memory.Open(name)
}

func TestTroubleWhileTheFolderDoesNotAnswer(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		h := &hanging{&memory{files: fstest.MapFS{}}, make(chan struct{})}
		began := time.Now()
		r := startOn(t, h.memory, arrive.Options{Tree: h, Poll: 2 * time.Second})
		defer r.stop(t)
		r.after(time.Minute)
		if _, why := r.s.Trouble(); why != nil {
			t.Errorf("Trouble after a minute without an answer = %v, want none yet", why)
		}
		r.after(2 * time.Minute)
		if since, why := r.s.Trouble(); why == nil || !strings.Contains(why.Error(), "has not answered") || !since.Equal(began) {
			t.Errorf("Trouble after three minutes = %v, %v, want that it does not answer, since %v", why, since, began)
		}
		close(h.hang)
		r.after(2 * time.Second)
		if _, why := r.s.Trouble(); why != nil {
			t.Errorf("Trouble of a folder that answers again = %v, want none", why)
		}
	})
}
