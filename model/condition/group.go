package condition

import (
	"cmp"
	"math"
	"slices"
	"time"

	"gonum.org/v1/gonum/stat/distuv"
)

// A Group is uncharted spectra that lie together in one stretch of time.
type Group struct {
	Name    string    `json:"name"` // such as "group 2026-11-25 A"
	From    time.Time `json:"from"`
	To      time.Time `json:"to"`
	Spectra int       `json:"spectra"`
	Spots   []*Spot   `json:"spots"`
	Seen    string    `json:"seen,omitempty"` // the latest earlier group at the same place, or the condition that it lies in
	Mean    *Mean     `json:"mean,omitempty"` // absorbance; nil where it is closed, or its spectra were not handed on
}

// A Spot is a place in the space of signatures and how many spectra it stands for.
type Spot struct {
	Centre  []float64 `json:"centre"` // their mean, d
	Spectra int       `json:"spectra"`
	From    time.Time `json:"from"`
	To      time.Time `json:"to"`
	Mean    *Mean     `json:"mean,omitempty"` // absorbance, until it is a place; nil as above
}

const (
	within    = 0.999 // share of a place's spectra that lie within its radius, near usual
	touching  = 1.25  // radii that two spots of one place lie apart at most; the spots of a drift follow each other at little more than one
	direction = 0.7   // least cosine between the directions of two spots of one place, seen from usual: 45°
	// spreads is how much wider a place is for its distance from usual: what scatters by a factor, such as the
	// path, scatters a far spectrum more. Chosen so that the invented line's rinse water and another product are one group each.
	spreads = 0.2
)

// radius is how far from its centre c, d values, the spectra of a spot lie. Signatures have d places of variance 1, so that
// near usual the squared distance is χ² with d degrees of freedom; further out it grows with the distance from usual:
//
//	r = √χ²_d(0.999) + 0.2 ‖c‖
func radius(centre []float64) float64 {
	near := math.Sqrt(distuv.ChiSquared{K: float64(len(centre))}.Quantile(within))
	return near + spreads*math.Sqrt(dot(centre, centre))
}

// At reports whether y, the signature of a spectrum or the centre of a spot, lies at the group's place: within the radius
// of one of its spots, and in the same direction from usual.
func (one *Group) At(y []float64) bool {
	s := nearest(one.Spots, y, radius(y))
	return s != nil && cosine(s.Centre, y) >= direction
}

// touches reports whether the spot lies about within the radius of one of the group's, in the same direction from usual.
func (one *Group) touches(s *Spot) bool {
	r := radius(s.Centre)
	return slices.ContainsFunc(one.Spots, func(o *Spot) bool {
		return apart(o.Centre, s.Centre) <= touching*r && cosine(o.Centre, s.Centre) >= direction
	})
}

// main returns the spot that stands for most spectra.
func (one *Group) main() *Spot {
	return slices.MaxFunc(one.Spots, func(a, b *Spot) int { return cmp.Compare(a.Spectra, b.Spectra) })
}

// take adds a spot, whose mean becomes the group's.
func (one *Group) take(s *Spot) {
	one.Spots = append(one.Spots, s)
	if s.Mean != nil {
		one.mean().merge(*s.Mean)
		s.Mean = nil
	}
	one.Spectra += s.Spectra
	one.From, one.To = earlier(one.From, s.From), later(one.To, s.To)
	one.shrink(perGroup)
}

// mean returns the group's own, an empty one where it had none.
func (one *Group) mean() *Mean {
	if one.Mean == nil {
		one.Mean = new(Mean)
	}
	return one.Mean
}

// shrink makes one spot of the two nearest until no more than n are left.
func (one *Group) shrink(n int) {
	for len(one.Spots) > n {
		bi, bj, best := 0, 1, math.Inf(1)
		for i, a := range one.Spots {
			for j, b := range one.Spots[:i] {
				if d := apart(a.Centre, b.Centre); d < best {
					bi, bj, best = j, i, d
				}
			}
		}
		one.Spots[bi].merge(one.Spots[bj])
		one.Spots = slices.Delete(one.Spots, bj, bj+1)
	}
}

// add moves the centre to the mean of what the spot stands for.
func (s *Spot) add(y []float64, at time.Time) {
	s.Spectra++
	for i, v := range y {
		s.Centre[i] += (v - s.Centre[i]) / float64(s.Spectra)
	}
	s.To = later(s.To, at)
}

// merge makes s stand for what o stands for as well.
func (s *Spot) merge(o *Spot) {
	n := float64(s.Spectra + o.Spectra)
	for i, v := range o.Centre {
		s.Centre[i] += (v - s.Centre[i]) * float64(o.Spectra) / n
	}
	s.Spectra += o.Spectra
	s.From, s.To = earlier(s.From, o.From), later(s.To, o.To)
}

func earlier(a, b time.Time) time.Time {
	if b.Before(a) {
		return b
	}
	return a
}

func later(a, b time.Time) time.Time {
	if b.After(a) {
		return b
	}
	return a
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

// apart is the distance ‖a − b‖.
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
