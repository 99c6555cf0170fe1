package item

import "time"

// keepClosed is how many items that ended are remembered, so that a spectrum that comes late is known to be of one: a few minutes of
// a quick line, and a state that is written within a moment. Chosen; no source.
const keepClosed = 256

// reach is how near in time a spectrum is to its item where no gap is set.
const reach = time.Minute

// A Closed is an item that ended.
type Closed struct {
	Number int64     `json:"number"`
	ID     string    `json:"id,omitempty"`
	Name   string    `json:"name"` // the id, or the name of its first spectrum
	From   time.Time `json:"from"`
	To     time.Time `json:"to"`
	// By is when that was measured which ended it, the empty belt say. It is zero where nothing came for longer than the gap: what
	// comes within the gap all the same is then of this item.
	By time.Time `json:"by,omitzero"`
}

// remember keeps the item that just ended.
func (g *Gatherer) remember(it *Item, by time.Time) {
	if it.To.IsZero() {
		return // without times nothing can be told to be late
	}
	if len(g.closed) >= keepClosed {
		g.closed = append(g.closed[:0], g.closed[len(g.closed)-keepClosed+1:]...)
	}
	g.closed = append(g.closed, Closed{it.Number, it.ID, g.name(), it.From, it.To, by})
}

// lateOf returns the item that a spectrum measured then is of, where that ended before the spectrum came; nil for none. By an id it is
// the item of that id; without ids the nearest one, which may be the one that is open.
func (g *Gatherer) lateOf(at time.Time, id string) *Closed {
	if at.IsZero() {
		return nil
	}
	near := g.near()
	if g.open {
		if g.opt.ByID && id == g.item.ID {
			return nil
		}
		if !g.opt.ByID {
			near = min(near, apart(at, g.item.From, g.item.To)-1) // the open one is as near
		}
	}
	var of *Closed
	for i := len(g.closed) - 1; i >= 0; i-- {
		c := &g.closed[i]
		if g.opt.ByID && c.ID != id || !c.By.IsZero() && !at.Before(c.By) {
			continue
		}
		if d := apart(at, c.From, c.To); d <= near {
			of, near = c, d-1
		}
	}
	return of
}

// near is how near in time a spectrum is to its item.
func (g *Gatherer) near() time.Duration {
	if g.opt.Gap > 0 {
		return g.opt.Gap
	}
	return reach
}

// apart returns how far a time lies from a stretch of time; 0 within it.
func apart(at, from, to time.Time) time.Duration {
	return max(from.Sub(at), at.Sub(to), 0)
}
