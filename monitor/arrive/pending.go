package arrive

import (
	"cmp"
	"container/heap"
	"time"
)

// A candidate is a file that has to stand still until it is due.
type candidate struct {
	file  File // as it was last seen
	due   time.Time
	since time.Time // it has been written to
	still time.Time // when it will have stood still
	found bool      // by a listing, and no notification has spoken of it
	again bool      // it waits because Again or Rest asked …
	rest  bool      // … Rest, for which it is quiet once it has stood still
	idle  bool      // … Again, and after so long that nobody is to wait for it
}

// pending holds the candidates and says which is due next.
type pending struct {
	by    map[string]*candidate
	idle  int // of them
	queue dueHeap
}

// A dueAt is a place in the queue. Files that one listing found are due at the same moment: the older goes first, so that
// a folder that is polled gives them in the order in which they were written.
type dueAt struct {
	at       time.Time
	modified time.Time
	rel      string
}

type dueHeap []dueAt

func (h dueHeap) Len() int { return len(h) }
func (h dueHeap) Less(i, j int) bool {
	a, b := h[i], h[j]
	return cmp.Or(a.at.Compare(b.at), a.modified.Compare(b.modified), cmp.Compare(a.rel, b.rel)) < 0
}
func (h dueHeap) Swap(i, j int) { h[i], h[j] = h[j], h[i] }
func (h *dueHeap) Push(x any)   { *h = append(*h, x.(dueAt)) }
func (h *dueHeap) Pop() any {
	last := (*h)[len(*h)-1]
	*h = (*h)[:len(*h)-1]
	return last
}

func newPending() *pending { return &pending{by: map[string]*candidate{}} }

// put makes c wait until it is due, in place of an earlier one of its name.
func (p *pending) put(c *candidate) {
	p.drop(c.file.Rel)
	p.by[c.file.Rel] = c
	if c.idle {
		p.idle++
	}
	heap.Push(&p.queue, dueAt{c.due, c.file.Modified, c.file.Rel})
}

func (p *pending) drop(rel string) {
	if c := p.by[rel]; c != nil {
		p.stir(c)
		delete(p.by, rel)
	}
}

// stir makes a candidate count among those that settle.
func (p *pending) stir(c *candidate) {
	if c.idle {
		c.idle = false
		p.idle--
	}
}

// settling returns how many candidates settle, without the idle ones.
func (p *pending) settling() int { return len(p.by) - p.idle }

// next returns when the next one is due.
func (p *pending) next() (time.Time, bool) {
	if len(p.queue) == 0 {
		return time.Time{}, false
	}
	return p.queue[0].at, true
}

// take returns a candidate that is due, or nil.
func (p *pending) take(now time.Time) *candidate {
	for len(p.queue) > 0 && !p.queue[0].at.After(now) {
		d := heap.Pop(&p.queue).(dueAt)
		c := p.by[d.rel]
		switch {
		case c == nil:
		case c.due.After(now):
			if c.due.After(d.at) {
				heap.Push(&p.queue, dueAt{c.due, d.modified, d.rel})
			}
		default:
			p.drop(d.rel)
			return c
		}
	}
	return nil
}
