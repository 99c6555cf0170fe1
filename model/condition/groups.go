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
// holds no more than maxSpots spots of no group, perGroup spots of each of maxOpen open groups and keptSpots of each of the
// maxClosed latest closed ones; and the mean spectrum of each spot of no group and each open group. It is not safe for
// concurrent use.
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
	maxOpen   = 32               // open groups: more places within half an hour are a scatter
	maxClosed = 200              // closed groups remembered: with a few a day, those of some months
	perGroup  = 16               // spots of an open group: a drift has a place at each of its steps
	keptSpots = 4                // of these, where it is closed: enough to know the place again
)

// Add takes the signature y of an uncharted spectrum x, measured at the given time, and returns the group that it is of,
// or nil where it is not yet clear that it is of any. begun says that this very spectrum made the group. x is its absorbance,
// for the mean spectra; nil: there are none. Neither is kept.
func (g *Groups) Add(y, x []float64, at time.Time) (group *Group, begun bool) {
	g.Close(at)
	if one, s := g.home(y); one != nil {
		s.add(y, at)
		one.Spectra++
		one.To = later(one.To, at)
		if x != nil {
			one.mean().add(x)
		}
		return one, false
	}
	s := nearest(g.Spots, y, radius(y))
	if s == nil {
		g.forget()
		s = &Spot{Centre: make([]float64, len(y)), From: at, To: at}
		g.Spots = append(g.Spots, s)
	}
	s.add(y, at)
	if x != nil {
		if s.Mean == nil {
			s.Mean = new(Mean)
		}
		s.Mean.add(x)
	}
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
	one := &Group{Name: g.name(s.From), From: s.From, To: s.To}
	one.take(s)
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

// Close closes the groups that have been quiet at the given time, or longest where there are too many, and forgets the strays;
// Add does so itself first. It returns the groups as they ended, with their mean spectra, which are not kept any longer.
func (g *Groups) Close(at time.Time) (ended []Group) {
	for _, one := range slices.Clone(g.Open) {
		if at.Sub(one.To) > quiet {
			ended = append(ended, g.close(one))
		}
	}
	for len(g.Open) >= maxOpen {
		ended = append(ended, g.close(slices.MinFunc(g.Open, func(a, b *Group) int { return a.To.Compare(b.To) })))
	}
	g.Spots = slices.DeleteFunc(g.Spots, func(s *Spot) bool { return at.Sub(s.To) > quiet })
	return ended
}

// close closes one group and returns it as it was.
func (g *Groups) close(one *Group) Group {
	was := *one
	was.Spots = slices.Clone(one.Spots)
	one.Mean = nil
	one.shrink(keptSpots)
	g.Open = slices.DeleteFunc(g.Open, func(o *Group) bool { return o == one })
	g.Closed = append(g.Closed, one)
	g.Closed = slices.Delete(g.Closed, 0, max(0, len(g.Closed)-maxClosed))
	return was
}

// forget makes room for one more spot: the oldest of those that gathered nothing goes, or else the oldest.
func (g *Groups) forget() {
	if len(g.Spots) >= maxSpots {
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
