package condition

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"time"

	"gonum.org/v1/gonum/stat/distuv"
)

// Groups finds, while spectra arrive, the uncharted ones that lie together, without labels and in bounded memory.
//
// Spectra are gathered into spots, each a centre with a count (the clustering features of Zhang, Ramakrishnan and
// Livny, BIRCH, SIGMOD 1996); spots with enough spectra that lie within reach of each other and in the same direction
// from usual belong to one group (density connection after Ester, Kriegel, Sander and Xu, DBSCAN, KDD 1996, carried
// to streams as by Cao, Ester, Qian and Zhou, DenStream, SDM 2006). A spot that gathers too few is a stray and is
// forgotten. A group that has been quiet for long is closed: what comes later is a new group, and Seen says that it
// is the same place.
//
// The zero value is ready; its fields are the whole state, so that JSON keeps it over a restart.
type Groups struct {
	Open   []*Group `json:"open,omitempty"`
	Closed []*Group `json:"closed,omitempty"` // the latest maxClosed, in order of time
	Spots  []*Spot  `json:"spots,omitempty"`  // not yet of a group
	Day    string   `json:"day,omitempty"`    // day of the last name given
	Letter int      `json:"letter,omitempty"` // how many names that day has had
}

// A Group is uncharted spectra that lie together in one stretch of time.
type Group struct {
	Name    string    `json:"name"` // such as "group 2026-11-25 A"
	From    time.Time `json:"from"`
	To      time.Time `json:"to"`
	Spectra int       `json:"spectra"`
	Spots   []*Spot   `json:"spots"`
	Seen    string    `json:"seen,omitempty"` // the earlier group or the condition at the same place
}

// A Spot is a centre in the space of signatures and how many spectra it stands for.
type Spot struct {
	Centre  []float64 `json:"centre"`
	Spectra int       `json:"spectra"`
	From    time.Time `json:"from"`
	To      time.Time `json:"to"`
}

const (
	enough    = 8                // spectra make a spot a place rather than a stray; minPts in DBSCAN's words
	quiet     = 30 * time.Minute // without a member closes a group, and forgets a stray spot
	maxSpots  = 64               // not yet of a group
	maxClosed = 200              // groups remembered
	perGroup  = 16               // spots a group
	within    = 0.999            // share of a place's spectra that lie within its radius
	direction = 0.7              // least cosine between the directions of two spots of a group, seen from usual
)

// spreads is how much wider than usual a place is for its distance from usual: what scatters by a factor, such as the
// path, scatters a far spectrum more. Chosen so that the demonstration's rinse water and another product are one group each.
const spreads = 0.2

// radius is how far from its centre the spectra of a spot lie. Signatures have d places of variance 1, so that near
// usual the squared distance is χ² with d degrees of freedom; further out it grows with the distance from usual.
func radius(centre []float64) float64 {
	near := math.Sqrt(distuv.ChiSquared{K: float64(len(centre))}.Quantile(within))
	return near + spreads*math.Sqrt(dot(centre, centre))
}

// Add takes the signature of an uncharted spectrum, measured at the given time, and returns the group that it is of,
// or nil where it is not yet clear that it is of any. begun says that this very spectrum made the group.
func (g *Groups) Add(y []float64, at time.Time) (group *Group, begun bool) {
	g.tidy(at)
	r := radius(y)
	for _, one := range g.Open {
		if s := nearest(one.Spots, y, r); s != nil {
			s.add(y, at)
			one.To, one.Spectra = at, one.Spectra+1
			return one, false
		}
	}
	s := nearest(g.Spots, y, r)
	if s == nil {
		s = &Spot{Centre: slices.Clone(y), From: at}
		s.Spectra, s.To = 1, at
		g.Spots = append(g.Spots, s)
		return nil, false
	}
	s.add(y, at)
	if s.Spectra < enough {
		return nil, false
	}
	return g.settle(s)
}

// settle makes a spot that has gathered enough part of a group that it touches, or a group of its own.
func (g *Groups) settle(s *Spot) (group *Group, begun bool) {
	g.Spots = slices.DeleteFunc(g.Spots, func(o *Spot) bool { return o == s })
	for _, one := range g.Open {
		if one.touches(s) {
			one.take(s)
			one.Seen = g.seen(one)
			return one, false
		}
	}
	one := &Group{Name: g.name(s.From), From: s.From, To: s.To, Spectra: s.Spectra, Spots: []*Spot{s}}
	one.Seen = g.seen(one)
	g.Open = append(g.Open, one)
	return one, true
}

// name gives the next name of the day: A to Z, then AA, AB …
func (g *Groups) name(at time.Time) string {
	if day := at.Format("2006-01-02"); day != g.Day {
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
		g.Closed = append(g.Closed, one)
		return true
	})
	g.Closed = g.Closed[max(0, len(g.Closed)-maxClosed):]
	g.Spots = slices.DeleteFunc(g.Spots, func(s *Spot) bool { return at.Sub(s.To) > quiet })
	if len(g.Spots) >= maxSpots {
		least := slices.IndexFunc(g.Spots, func(s *Spot) bool { return s.Spectra == 1 })
		least = max(least, 0)
		g.Spots = slices.Delete(g.Spots, least, least+1)
	}
}

// seen returns the name of the latest closed group at the place where most of this one lies, or "".
func (g *Groups) seen(one *Group) string {
	most := slices.MaxFunc(one.Spots, func(a, b *Spot) int { return cmp.Compare(a.Spectra, b.Spectra) })
	for _, old := range slices.Backward(g.Closed) {
		if old.At(most.Centre) {
			return old.Name
		}
	}
	return ""
}

// At reports whether a signature, or the centre of a spot, lies at the group's place.
func (one *Group) At(y []float64) bool {
	s := nearest(one.Spots, y, radius(y))
	return s != nil && cosine(s.Centre, y) >= direction
}

func (one *Group) touches(s *Spot) bool {
	r := radius(s.Centre)
	return slices.ContainsFunc(one.Spots, func(o *Spot) bool {
		return apart(o.Centre, s.Centre) <= 2*r && cosine(o.Centre, s.Centre) >= direction
	})
}

// take adds a spot; where there are too many, the two nearest become one.
func (one *Group) take(s *Spot) {
	one.Spots = append(one.Spots, s)
	one.Spectra += s.Spectra
	if s.From.Before(one.From) {
		one.From = s.From
	}
	if s.To.After(one.To) {
		one.To = s.To
	}
	if len(one.Spots) <= perGroup {
		return
	}
	bi, bj, best := 0, 1, math.Inf(1)
	for i := range one.Spots {
		for j := i + 1; j < len(one.Spots); j++ {
			if d := apart(one.Spots[i].Centre, one.Spots[j].Centre); d < best {
				bi, bj, best = i, j, d
			}
		}
	}
	one.Spots[bi].merge(one.Spots[bj])
	one.Spots = slices.Delete(one.Spots, bj, bj+1)
}

// add moves the centre to the mean of what the spot stands for.
func (s *Spot) add(y []float64, at time.Time) {
	s.Spectra++
	for i, v := range y {
		s.Centre[i] += (v - s.Centre[i]) / float64(s.Spectra)
	}
	s.To = at
}

func (s *Spot) merge(o *Spot) {
	n := float64(s.Spectra + o.Spectra)
	for i, v := range o.Centre {
		s.Centre[i] += (v - s.Centre[i]) * float64(o.Spectra) / n
	}
	s.Spectra += o.Spectra
	if o.From.Before(s.From) {
		s.From = o.From
	}
	if o.To.After(s.To) {
		s.To = o.To
	}
}

// nearest returns the spot whose centre lies nearest to y and within r, or nil.
func nearest(spots []*Spot, y []float64, r float64) *Spot {
	var best *Spot
	for _, s := range spots {
		if d := apart(s.Centre, y); d <= r {
			best, r = s, d
		}
	}
	return best
}

func apart(a, b []float64) float64 {
	sum := 0.0
	for i, v := range a {
		sum += (v - b[i]) * (v - b[i])
	}
	return math.Sqrt(sum)
}

// cosine is that of the angle between a and b, and 0 where one of them has no direction.
func cosine(a, b []float64) float64 {
	if length := math.Sqrt(dot(a, a) * dot(b, b)); length > 0 {
		return dot(a, b) / length
	}
	return 0
}

func dot(a, b []float64) float64 {
	sum := 0.0
	for i, v := range a {
		sum += v * b[i]
	}
	return sum
}
