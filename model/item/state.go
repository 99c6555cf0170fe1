package item

import (
	"encoding/binary"
	"encoding/json"
	"fmt"
	"math"
	"slices"
	"time"

	"asusual/model/finding"
	"asusual/model/spectrum"
)

// A State is where a gatherer stands: what a watch keeps, so that an item that is open when it is stopped or killed goes on.
type State struct {
	Number int64 `json:"number"` // of the latest item
	Empty  int   `json:"empty"`
	Open   *Open `json:"open,omitempty"` // nil: no item is open
	// Closed are the latest items that ended, oldest first: a spectrum of one that comes now is late.
	Closed []Closed `json:"closed,omitempty"`
}

// An Open is an item that is open.
type Open struct {
	ID       string            `json:"id,omitempty"`
	First    spectrum.Spectrum `json:"first"` // of its spectra, without values
	From     time.Time         `json:"from"`
	To       time.Time         `json:"to"`
	Count    int               `json:"count"` // in the sum
	Seen     int               `json:"seen"`
	Trimmed  int               `json:"trimmed"`
	Sum      numbers           `json:"sum"`
	Held     []numbers         `json:"held,omitempty"`
	Findings []finding.Finding `json:"findings,omitempty"`
}

// numbers are written bit by bit: a sum must not lose a digit on its way, nor an infinite one stop everything.
type numbers []float64

func (n numbers) MarshalJSON() ([]byte, error) {
	b := make([]byte, 0, 8*len(n))
	for _, v := range n {
		b = binary.LittleEndian.AppendUint64(b, math.Float64bits(v))
	}
	return json.Marshal(b)
}

func (n *numbers) UnmarshalJSON(text []byte) error {
	var b []byte
	if err := json.Unmarshal(text, &b); err != nil {
		return err
	}
	if len(b)%8 != 0 {
		return fmt.Errorf("%d bytes are no numbers of eight", len(b))
	}
	*n = make(numbers, len(b)/8)
	for i := range *n {
		(*n)[i] = math.Float64frombits(binary.LittleEndian.Uint64(b[8*i:]))
	}
	return nil
}

// State returns where the gatherer stands. It shares no memory with it.
func (g *Gatherer) State() State {
	s := State{Number: g.number, Empty: g.empty, Closed: slices.Clone(g.closed)}
	if !g.open {
		return s
	}
	first := g.item.Spectrum
	first.Values = nil
	s.Open = &Open{ID: g.item.ID, First: first, From: g.item.From, To: g.item.To, Count: g.item.Count, Seen: g.seen, Trimmed: g.trimmed,
		Sum: append(numbers{}, g.sum...), Findings: append([]finding.Finding(nil), g.item.Findings...)}
	for _, h := range g.held {
		s.Open.Held = append(s.Open.Held, append(numbers{}, h.Values...))
	}
	return s
}

// Resume returns a gatherer that goes on from a state. Where edges are trimmed otherwise than the state was kept with, its open item
// goes on with what it has.
func Resume(opt Options, s State) (*Gatherer, error) {
	g, err := NewGatherer(opt)
	if err != nil {
		return nil, err
	}
	g.number, g.empty, g.closed = s.Number, s.Empty, slices.Clone(s.Closed)
	o := s.Open
	if o == nil {
		return g, nil
	}
	if o.First.Axis == nil || len(o.Sum) != o.First.Axis.Len() || o.Count < 0 || o.Seen < o.Count {
		return nil, fmt.Errorf("the item that was open: a sum of %d values of %d spectra does not go with its axis", len(o.Sum), o.Count)
	}
	g.open, g.seen, g.trimmed, g.sum = true, o.Seen, o.Trimmed, o.Sum
	g.item = Item{Number: s.Number, ID: o.ID, Spectrum: o.First, From: o.From, To: o.To, Count: o.Count, Findings: o.Findings}
	for _, h := range o.Held {
		if len(h) != len(o.Sum) {
			return nil, fmt.Errorf("the item that was open: an edge of %d values, the others have %d", len(h), len(o.Sum))
		}
		held := o.First
		held.Values = h
		g.held = append(g.held, held)
	}
	return g, nil
}
