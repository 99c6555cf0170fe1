package reach

import (
	"cmp"
	"math"
	"slices"

	"asusual/model/limits"
)

// A trail is what the search for one change leaves to that for its neighbour, which is much like it, and scratch.
type trail struct {
	times float64 // how much larger than guessed the last size was; at first usualTimes
	hard  []int   // the moments, the hardest first
	easy  []bool  // of each moment: it saw all sizes that it was asked for in the search before; at first all are
	after []int   // of each moment: after how many spectra it saw the last size that it saw; 0: none yet

	room     limits.Room
	r        limits.Recall
	f, t     []float64
	parts    []float64
	not, saw []float64 // of each moment, of the search: the largest size that it did not see, and the smallest that it saw
}

// usualTimes is what a change comes to that many spectra show, of what one of them alone would have to show. Chosen so that the first
// search of a line is short; what it finds does not hang on it.
const usualTimes = 0.14

func newTrail(w *watch) *trail {
	n := len(w.starts)
	t := &trail{times: usualTimes, hard: make([]int, n), easy: make([]bool, n), after: make([]int, n), not: make([]float64, n), saw: make([]float64, n)}
	for i := range t.hard {
		t.hard[i] = i
	}
	t.f, t.t, t.parts = make([]float64, w.limits.Len()), make([]float64, w.limits.Placed()-1), make([]float64, w.limits.Parts)
	return t
}

// seek finds the smallest size of the change that a share of the moments sees. The pretreatment is linear only for small changes:
// where the size found moves the spectrum otherwise than a small one does, it is sought again at that size.
func (w *watch) seek(c *change, share float64, t *trail) error {
	guess := w.guess(c)
	c.size = w.smallest(c, share, t.times*guess, firstStep, t)
	if !c.size.Seen() {
		return nil
	}
	t.times = float64(c.size) / guess
	const bent = 0.05
	m, err := w.move(&w.placed.Folds[0], c.raw[:1], float64(c.size))
	if err != nil {
		return nil // so large that the mean spectrum cannot take it: the small change is all there is to go by
	}
	off := 0.0
	for i, v := range m.d[0] {
		off += (v - c.moves[0].d[0][i]) * (v - c.moves[0].d[0][i])
	}
	if off <= bent*bent*dot(m.d[0], m.d[0]) {
		return nil
	}
	for i := range c.moves {
		if c.moves[i], err = w.move(&w.placed.Folds[i], c.raw, float64(c.size)); err != nil {
			return err
		}
	}
	rows := w.rows(0)
	for i, b := range w.starts {
		w.residuals(rows, b)
		c.along[i] = along(rows, c.moves[w.placed.Of[b.track]].d)
	}
	c.size = w.smallest(c, share, float64(c.size), exact, t) // it is near
	return nil
}

// exact is how exactly a size is sought: within 3 %. firstStep is how wide the steps are at first where the size is guessed.
const (
	exact     = 1.03
	firstStep = 1.12
)

// smallest returns the smallest size that a share of the moments sees, from the guess on: it brackets the size, with steps that
// begin as wide as told, then halves the bracket.
func (w *watch) smallest(c *change, share, guess, wide float64, t *trail) Size {
	const least = 0x1p-40 // of the guess: seen without any change, the limits are passed all the time
	if guess == 0 {
		return Never
	}
	s := w.search(c, share, t)
	lo, hi := 0.0, 0.0
	for size := guess; hi == 0 || lo == 0 || hi/lo > exact; {
		// next is the least that may follow while steps are narrow; what is far from what was guessed is seldom.
		if s.enough(size, max(lo, size/min(wide, firstStep))) {
			hi = size
		} else {
			lo = size
		}
		switch {
		case hi == 0 && lo > w.most(c):
			return Never
		case hi == 0:
			size, wide = lo*wide, wide*wide
		case hi < least*guess:
			return Size(hi)
		case lo == 0:
			size, wide = hi/wide, wide*wide
		default:
			size = math.Sqrt(lo * hi)
		}
	}
	return Size(hi)
}

// guess returns a size at which the change moves scores, residual or stretches by about their spread; 0 where it moves nothing.
func (w *watch) guess(c *change) float64 {
	m := c.moves[0]
	var t float64
	for a, v := range m.t[0] {
		t += v * v / (w.limits.Scale[a] * w.limits.Scale[a])
	}
	usual := math.Exp(w.limits.Center[len(m.t[0])])
	speed := math.Sqrt(t) + math.Sqrt(m.r2[0]/usual)
	if m.pull != nil {
		speed = max(speed, 1/w.passing.Alone(m.pull))
	}
	if speed*w.most(c) < 1e-3 {
		return 0
	}
	return 1 / speed
}

// most returns the largest size worth trying: ten times the largest absorbance of the mean spectrum. A change that moves
// nothing at that size is one that the pretreatment takes out.
func (w *watch) most(c *change) float64 {
	var top, unit float64
	for i, v := range w.mean {
		top = max(top, math.Abs(v))
		unit = max(unit, math.Abs(c.raw[0][i]))
	}
	return 10 * top / max(unit, 1e-300)
}

// A search tries sizes of one change. It keeps what it learned of each moment. A moment that sees a size is taken to
// see all larger ones, so that it is asked again only between the largest that it did not see and the smallest that it did.
type search struct {
	*trail
	w    *watch
	c    *change
	need int // moments that have to see a size
}

func (w *watch) search(c *change, share float64, t *trail) *search {
	for i := range t.saw {
		t.easy[i], t.not[i], t.saw[i] = t.not[i] == 0, 0, math.Inf(1)
	}
	return &search{trail: t, w: w, c: c, need: int(math.Ceil(share*float64(len(w.starts)) - 1e-9))}
}

// enough reports whether enough moments see the size. It stops at the moment that decides, and has the hard ones decide first the
// next time. Moments for which the search before was easy are asked for next at once, a smaller size, below which the search will hardly go: those
// that see it are asked no more.
func (s *search) enough(size, next float64) bool {
	order := s.hard
	not, spare := 0, len(order)-s.need
	for j := 0; not <= spare && j-not < s.need; j++ {
		i := order[j]
		if s.easy[i] && s.not[i] < next && s.asks(i, next) {
			continue
		}
		if !s.asks(i, size) {
			not++
		}
	}
	slices.SortStableFunc(order, s.harder)
	return not <= spare
}

// harder orders moments: those first that did not see so large a size, or saw only larger ones, or those later.
func (s *search) harder(a, b int) int {
	return cmp.Or(cmp.Compare(s.not[b], s.not[a]), cmp.Compare(s.saw[b], s.saw[a]), cmp.Compare(s.after[b], s.after[a]))
}

// asks reports whether a moment sees the size.
func (s *search) asks(i int, size float64) bool {
	switch {
	case s.saw[i] <= size:
		return true
	case s.not[i] >= size:
		return false
	}
	after := s.w.sees(s, i, size)
	if after == 0 {
		s.not[i] = size
		return false
	}
	s.saw[i], s.after[i] = size, after
	return true
}

// sees returns after how many spectra the change of that size is seen when it begins at moment i; 0 if it is not.
func (w *watch) sees(s *search, i int, size float64) int {
	b := &w.starts[i]
	m := &s.c.moves[w.placed.Of[b.track]]
	if b.ahead == nil || m.pull == nil {
		return w.follows(s, i, size)
	}
	points, along, r2 := w.placed.Tracks[b.track].Points[b.at:], s.c.along[i], m.r2[0]
	residual := func(j int) float64 { return max(points[j].Q+size*(2*along[j]+size*r2), 0) }
	after, sure := b.ahead.Seen(m.pull, size, residual, max(s.after[i]-limits.Sustained, 0), &s.room)
	if !sure {
		return w.follows(s, i, size)
	}
	return after
}

// follows is sees by letting the memories take one spectrum after another.
func (w *watch) follows(s *search, i int, size float64) int {
	b := &w.starts[i]
	s.r.CopyFrom(&b.held)
	m := &s.c.moves[w.placed.Of[b.track]]
	points := w.placed.Tracks[b.track].Points[b.at:]
	above := 0
	for j := range w.within {
		p, n := &points[j], j%len(m.t)
		for a, v := range p.T {
			s.t[a] = v + size*m.t[n][a]
		}
		q := p.Q + size*(2*s.c.along[i][j]+size*m.r2[n])
		for a, v := range p.Parts {
			s.parts[a] = v + size*m.parts[n][a]
		}
		w.limits.Features(s.f, s.t, max(q, 0), s.parts)
		if above++; !w.passing.Step(&s.r, s.f) {
			above = 0
		}
		if above == limits.Sustained {
			return j + 1
		}
	}
	return 0
}
