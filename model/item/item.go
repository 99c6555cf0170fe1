package item

import (
	"fmt"
	"math"
	"time"

	"asusual/model/finding"
	"asusual/model/spectrum"
)

// A Presence tells an item from the empty belt by the mean of a spectrum's values between two positions. Where a named
// condition tells it instead, the caller says so to Add.
type Presence struct {
	From, To float64 // in the unit of the axis; both 0: the whole axis
	Above    float64 // an item is there where the mean is above this
	Below    bool    // turned around: an item is there where the mean is below Above, as a reflectance is
}

// Options say what makes an item. At least one of Presence, ByBelt, ByID and Gap must be set.
type Options struct {
	Presence *Presence     // nil: whatever comes is an item, or the caller says
	ByBelt   bool          // the caller says which spectra show the empty belt
	ByID     bool          // spectra with one trigger id are one item; one without an id shows the empty belt
	Gap      time.Duration // a pause longer than this ends an item, and so does a time further back; an empty belt ends it, too
	Trim     int           // spectra to leave out at the beginning and at the end of each item, where its edges are
	Least    int           // spectra that an item needs to be judged; 0: 1
	Most     int           // spectra after which an item is closed whatever comes; 0: 1,000
}

const defaultMost = 1000

// An Item is one thing that passed the instrument, as its spectra tell.
type Item struct {
	Number   int64 // from 1, in the order in which items began
	ID       string
	Spectrum spectrum.Spectrum // the mean, with the first spectrum's name and the time of the middle; no values if Count is 0
	Count    int               // spectra that were averaged
	Trimmed  int               // spectra that were left out at its edges
	From, To time.Time         // of all its spectra
	Enough   bool              // Count is at least Options.Least: it may be judged
	Findings []finding.Finding // what is doubtful about it
}

// A Gatherer makes items of a stream of spectra. It holds one item, whatever its length: a sum, and the last Trim spectra,
// which may turn out to be an edge. It is not safe for concurrent use.
type Gatherer struct {
	opt    Options
	empty  int   // spectra of the empty belt so far
	number int64 // of the latest item

	open    bool
	item    Item
	sum     []float64
	seen    int
	held    []spectrum.Spectrum // the last ones, not in the sum yet
	trimmed int

	closed []Closed // the latest items that ended, oldest first
}

// NewGatherer returns a gatherer with those options.
func NewGatherer(opt Options) (*Gatherer, error) {
	if err := opt.fill(); err != nil {
		return nil, err
	}
	return &Gatherer{opt: opt}, nil
}

// fill sets what was left open, and refuses what cannot be.
func (o *Options) fill() error {
	if o.Least == 0 {
		o.Least = 1
	}
	if o.Most == 0 {
		o.Most = defaultMost
	}
	opt := *o
	switch {
	case !opt.ByID && opt.Gap <= 0 && opt.Presence == nil && !opt.ByBelt:
		return fmt.Errorf("nothing tells one item from the next; set a gap in time, a trigger id or a rule of presence")
	case opt.Gap < 0 || opt.Trim < 0 || opt.Least < 0:
		return fmt.Errorf("a gap of %v, %d spectra trimmed, %d needed; none can be below zero", opt.Gap, opt.Trim, opt.Least)
	case opt.Most < opt.Least+2*opt.Trim:
		return fmt.Errorf("an item ends after %d spectra, of which %d are edges and %d are needed; set a larger number", opt.Most, 2*opt.Trim, opt.Least)
	}
	if p := opt.Presence; p != nil && (math.IsNaN(p.Above) || math.IsInf(p.Above, 0) || !(p.From <= p.To)) {
		return fmt.Errorf("an item is told by a level of %g from %g to %g; a number is needed, and the first position before the second", p.Above, p.From, p.To)
	}
	return nil
}

// Present reports whether an item is there, by the rule of presence. It is an error if the rule looks where the
// spectrum has no channel.
func (p Presence) Present(s spectrum.Spectrum) (bool, error) {
	sum, n := 0.0, 0
	for i, v := range s.Values {
		if at := s.Axis.At(i); p.From == 0 && p.To == 0 || at >= p.From && at <= p.To {
			sum += v
			n++
		}
	}
	if n == 0 {
		return false, fmt.Errorf("%s: no channel lies from %g to %g, where an item is told from the empty belt; the spectrum has %v", s.Name(), p.From, p.To, s.Axis)
	}
	return (sum/float64(n) > p.Above) != p.Below, nil
}

// A Mark is what the caller knows of a spectrum beside itself.
type Mark struct {
	ID    string // of the trigger
	Empty bool   // it shows the empty belt, as a named condition tells
}

// An Added is what became of a spectrum.
type Added struct {
	Of    int64   // the number of the item that it is of; 0 for the empty belt
	Ended *Item   // the item that ended before it, or with it where the item is full; nil for none
	Late  *Closed // the item that it is of and that ended before it came: it is in no mean; nil for none
}

// Add takes the next spectrum, in order of time. One that comes late touches no item but its own: it is told where that has ended.
func (g *Gatherer) Add(s spectrum.Spectrum, m Mark) (Added, error) {
	if s.Axis == nil || len(s.Values) != s.Axis.Len() || len(s.Values) == 0 {
		return Added{}, fmt.Errorf("%s: %d values and no axis of as many channels", s.Name(), len(s.Values))
	}
	present := !m.Empty && (m.ID != "" || !g.opt.ByID)
	if present && g.opt.Presence != nil {
		var err error
		if present, err = g.opt.Presence.Present(s); err != nil {
			return Added{}, err
		}
	}
	if !present {
		g.empty++
		if g.open && s.Time.Before(g.item.From) && g.item.From.Sub(s.Time) <= g.near() {
			return Added{}, nil // it was overtaken: the item began after it
		}
		return Added{Ended: g.end(s.Time)}, nil
	}
	if late := g.lateOf(s.Time, m.ID); late != nil {
		return Added{Of: late.Number, Late: late}, nil
	}
	var done *Item
	if why, ends := g.ends(s, m); ends {
		if why != "" {
			g.item.Findings = append(g.item.Findings, finding.Of(finding.ItemChanged, why))
		}
		done = g.end(s.Time)
	}
	g.take(s, m)
	of := g.number
	if g.seen >= g.opt.Most && done == nil {
		g.item.Findings = append(g.item.Findings, finding.Of(finding.LongItem, g.name(), float64(g.seen)))
		done = g.end(g.item.To)
	}
	return Added{Of: of, Ended: done}, nil
}

// ends reports whether the open item ends before s, and why, where that is no usual end.
func (g *Gatherer) ends(s spectrum.Spectrum, m Mark) (why string, ends bool) {
	if !g.open {
		return "", false
	}
	first := g.item.Spectrum
	switch {
	case g.opt.ByID && m.ID != g.item.ID:
		return "", true
	case g.opt.Gap > 0 && (s.Time.Sub(g.item.To) > g.opt.Gap || g.item.From.Sub(s.Time) > g.opt.Gap):
		return "", true
	case !first.Axis.Equal(s.Axis):
		return "the axis", true
	case first.Quantity != s.Quantity:
		return "the quantity", true
	}
	return "", false
}

// take puts a spectrum into the open item, or begins one.
func (g *Gatherer) take(s spectrum.Spectrum, m Mark) {
	if !g.open {
		g.open, g.seen, g.trimmed, g.held = true, 0, 0, g.held[:0]
		g.number++
		g.item = Item{Number: g.number, ID: m.ID, Spectrum: s, From: s.Time, To: s.Time}
		g.sum = make([]float64, len(s.Values))
	}
	g.seen++
	if s.Time.Before(g.item.From) { // it was overtaken on its way here
		g.item.From = s.Time
	}
	if s.Time.After(g.item.To) {
		g.item.To = s.Time
	}
	if g.seen <= g.opt.Trim {
		g.trimmed++
		return
	}
	if g.opt.Trim == 0 {
		g.add(s)
		return
	}
	for len(g.held) >= g.opt.Trim {
		g.add(g.held[0])
		g.held = append(g.held[:0], g.held[1:]...)
	}
	g.held = append(g.held, s)
}

func (g *Gatherer) add(s spectrum.Spectrum) {
	for i, v := range s.Values {
		g.sum[i] += v
	}
	g.item.Count++
}

// Close ends the open item and returns it, or nil if none is open: when nothing came for longer than the gap. What comes later and
// is of that item is then told to be late.
func (g *Gatherer) Close() *Item { return g.end(time.Time{}) }

// Finish is Close at the end of a folder: what comes after it is of no item before.
func (g *Gatherer) Finish() *Item {
	it := g.Close()
	g.closed = nil
	return it
}

// end ends the open item, if one is, by what was measured then; zero: by nothing.
func (g *Gatherer) end(by time.Time) *Item {
	if !g.open {
		return nil
	}
	if by.Before(g.item.To) {
		by = time.Time{} // what was overtaken says nothing of when the item was over
	}
	g.open = false
	it := g.item
	it.Trimmed = g.trimmed + len(g.held)
	it.Enough = it.Count >= g.opt.Least
	it.Spectrum.Values = nil
	if !it.From.IsZero() {
		it.Spectrum.Time = it.From.Add(it.To.Sub(it.From) / 2)
	}
	if it.Count > 0 {
		for i := range g.sum {
			g.sum[i] /= float64(it.Count)
		}
		it.Spectrum.Values, g.sum = g.sum, nil
	}
	if !it.Enough {
		it.Findings = append(it.Findings, finding.Of(finding.FewInItem, g.name(), float64(it.Count), float64(g.opt.Least)))
	}
	g.remember(&it, by)
	clear(g.held)
	g.held = g.held[:0]
	return &it
}

// name says which item it is: by its id, or by its first spectrum.
func (g *Gatherer) name() string {
	if g.item.ID != "" {
		return g.item.ID
	}
	return g.item.Spectrum.Name()
}

// Empty returns how many spectra showed the empty belt so far.
func (g *Gatherer) Empty() int { return g.empty }

// Open reports whether an item is open, and when its last spectrum was measured, so that a watch can close it when nothing
// comes.
func (g *Gatherer) Open() (last time.Time, open bool) { return g.item.To, g.open }
