package condition

import (
	"fmt"
	"slices"
	"time"
)

// Groups finds, while spectra arrive, the uncharted ones that lie together, without labels and in bounded memory.
//
// Spectra are gathered into spots, each a centre with a count (the clustering features of Zhang, Ramakrishnan and
// Livny, BIRCH, SIGMOD 1996). A spectrum goes to the nearest spot that reaches it, else it begins one. A spot that has
// gathered enough is a place: it joins the group that it touches in the same direction from usual, else it makes one
// (density connection after Ester, Kriegel, Sander and Xu, DBSCAN, KDD 1996, carried to streams as by Cao, Ester, Qian and
// Zhou, DenStream, SDM 2006). A spot that gathers too few is a stray and is forgotten. A group that has been quiet for
// long is closed: what comes later is a new group, and Seen says that it is the same place. Groups that grow together
// stay two, since a name that was told does not go away.
//
// The zero value is ready; its fields are the whole state, so that JSON keeps it over a restart. However long it runs, it
// holds no more than maxSpots spots of no group, perGroup spots of each open group and keptSpots of each of the maxClosed
// latest closed ones. It is not safe for concurrent use.
//
// Note: distances are plain ones between signatures, so places nearer than about a radius are one. Their covariance would
// tell them apart better, but d(d+1)/2 figures are not to be had from the eight spectra that make a place.
type Groups struct {
	Open   []*Group `json:"open,omitempty"`
	Closed []*Group `json:"closed,omitempty"` // the latest maxClosed, in the order in which they were closed
	Spots  []*Spot  `json:"spots,omitempty"`  // not yet of a group
	Day    string   `json:"day,omitempty"`    // day of the last name given
	Letter int      `json:"letter,omitempty"` // how many names that day has had
}

const (
	enough    = 8                // spectra make a spot a place rather than a stray; minPts in DBSCAN's words
	quiet     = 30 * time.Minute // without a member closes a group, and forgets a stray spot
	maxSpots  = 64               // spots not yet of a group
	maxClosed = 200              // closed groups remembered: with a few a day, those of some months
	perGroup  = 16               // spots of an open group: a drift has a place at each of its steps
	keptSpots = 4                // of these, where it is closed: enough to know the place again
)

// Add takes the signature of an uncharted spectrum, measured at the given time, and returns the group that it is of,
// or nil where it is not yet clear that it is of any. begun says that this very spectrum made the group. y is not kept.
func (g *Groups) Add(y []float64, at time.Time) (group *Group, begun bool) {
	g.tidy(at)
	if one, s := g.home(y); one != nil {
		s.add(y, at)
		one.Spectra++
		one.To = later(one.To, at)
		return one, false
	}
	s := nearest(g.Spots, y, radius(y))
	if s == nil {
		g.Spots = append(g.Spots, &Spot{Centre: slices.Clone(y), Spectra: 1, From: at, To: at})
		return nil, false
	}
	s.add(y, at)
	if s.Spectra < enough {
		return nil, false
	}
	return g.settle(s)
}

// home returns the open group that reaches y, and its spot: that with the nearest spot where there are several.
func (g *Groups) home(y []float64) (group *Group, spot *Spot) {
	r := radius(y)
	for _, one := range g.Open {
		if s := nearest(one.Spots, y, r); s != nil {
			group, spot, r = one, s, apart(s.Centre, y)
		}
	}
	return group, spot
}

// settle makes a spot that has gathered enough part of a group that it touches, or a group of its own.
func (g *Groups) settle(s *Spot) (group *Group, begun bool) {
	g.Spots = slices.DeleteFunc(g.Spots, func(o *Spot) bool { return o == s })
	for _, one := range g.Open {
		if one.touches(s) {
			one.take(s)
			if seen := g.seen(one); seen != "" {
				one.Seen = seen
			}
			return one, false
		}
	}
	one := &Group{Name: g.name(s.From), From: s.From, To: s.To, Spectra: s.Spectra, Spots: []*Spot{s}}
	one.Seen = g.seen(one)
	g.Open = append(g.Open, one)
	return one, true
}

// name gives the next name of the day: A to Z, then AA, AB … A place that began before the last name's day is named on
// that day, for the letters of its own have been given.
func (g *Groups) name(at time.Time) string {
	if day := at.Format("2006-01-02"); day > g.Day {
		g.Day, g.Letter = day, 0
	}
	g.Letter++
	letters := ""
	for n := g.Letter; n > 0; n = (n - 1) / 26 {
		letters = string(rune('A'+(n-1)%26)) + letters
	}
	return fmt.Sprintf("group %s %s", g.Day, letters)
}

// tidy closes groups that have been quiet and forgets strays, and keeps the memory bounded.
func (g *Groups) tidy(at time.Time) {
	g.Open = slices.DeleteFunc(g.Open, func(one *Group) bool {
		if at.Sub(one.To) <= quiet {
			return false
		}
		one.shrink(keptSpots)
		g.Closed = append(g.Closed, one)
		return true
	})
	g.Closed = slices.Delete(g.Closed, 0, max(0, len(g.Closed)-maxClosed))
	g.Spots = slices.DeleteFunc(g.Spots, func(s *Spot) bool { return at.Sub(s.To) > quiet })
	if len(g.Spots) >= maxSpots { // the oldest of those that gathered nothing goes, or else the oldest
		i := max(0, slices.IndexFunc(g.Spots, func(s *Spot) bool { return s.Spectra == 1 }))
		g.Spots = slices.Delete(g.Spots, i, i+1)
	}
}

// seen returns the name of the latest closed group at the place where most of this one lies, or "".
func (g *Groups) seen(one *Group) string {
	most := one.main()
	for _, old := range slices.Backward(g.Closed) {
		if old.At(most.Centre) {
			return old.Name
		}
	}
	return ""
}
