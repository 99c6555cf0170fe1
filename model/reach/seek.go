package reach

import (
	"math"

	"asusual/model/limits"
)

// seek finds the smallest size of the change that a share of the moments sees, from times the guess on, and returns how
// many times the guess it is. The pretreatment is linear only for small changes: where the size found moves the spectrum
// otherwise than a small one does, it is sought again at that size.
func (w *watch) seek(c *change, share, times float64) (float64, error) {
	guess := w.guess(c)
	c.size = w.smallest(c, share, times*guess)
	if !c.size.Seen() {
		return times, nil
	}
	times = float64(c.size) / guess
	const bent = 0.05
	m, err := w.move(&w.placed.Folds[0], c.raw[:1], float64(c.size))
	if err != nil {
		return times, nil // so large that the mean spectrum cannot take it: the small change is all there is to go by
	}
	off := 0.0
	for i, v := range m.d[0] {
		off += (v - c.moves[0].d[0][i]) * (v - c.moves[0].d[0][i])
	}
	if off <= bent*bent*dot(m.d[0], m.d[0]) {
		return times, nil
	}
	for i := range c.moves {
		if c.moves[i], err = w.move(&w.placed.Folds[i], c.raw, float64(c.size)); err != nil {
			return times, err
		}
	}
	for i, b := range w.starts {
		c.along[i] = along(w.residuals(b), c.moves[w.placed.Of[b.track]].d)
	}
	c.size = w.smallest(c, share, float64(c.size))
	return times, nil
}

// smallest returns the smallest size that a share of the moments sees, within 3 %, from the guess on: it brackets the size,
// then halves the bracket. A moment that sees a size is taken to see all larger ones, so that each step tries fewer moments.
func (w *watch) smallest(c *change, share, guess float64) Size {
	const (
		exact = 1.03
		least = 0x1p-40 // of the guess: seen without any change, the limits are passed all the time
	)
	if guess == 0 {
		return Never
	}
	need := int(math.Ceil(share*float64(len(w.starts)) - 1e-9))
	open := make([]int, len(w.starts)) // moments that may see a size between lo and hi
	for i := range open {
		open[i] = i
	}
	certain := 0 // moments that see lo
	lo, hi := 0.0, 0.0
	try := w.trial(c)
	for size, wide := guess, 1.2; hi == 0 || lo == 0 || hi/lo > exact; {
		seen, not := try(open, size)
		if certain+len(seen) >= need {
			hi, open = size, seen
		} else {
			certain += len(seen)
			lo, open = size, not
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

// guess returns a size at which the change moves scores or residual by about their spread; 0 where it moves nothing.
func (w *watch) guess(c *change) float64 {
	m := c.moves[0]
	var t float64
	for a, v := range m.t[0] {
		t += v * v / (w.limits.Scale[a] * w.limits.Scale[a])
	}
	usual := math.Exp(w.limits.Center[len(m.t[0])])
	speed := math.Sqrt(t) + math.Sqrt(m.r2[0]/usual)
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

// trial returns a function that tries a size at some of the moments and parts them into those that see it and those that
// do not. It keeps scratch between calls.
func (w *watch) trial(c *change) func(open []int, size float64) (seen, not []int) {
	var r limits.Recall
	l := w.limits
	f := make([]float64, l.Len())
	t := make([]float64, l.Len()-1)
	sees := func(i int, size float64) bool {
		b := &w.starts[i]
		restore(&r, &b.held)
		m := &c.moves[w.placed.Of[b.track]]
		points := w.placed.Tracks[b.track].Points[b.at:]
		for j := range w.within {
			p, n := &points[j], j%len(m.t)
			for a, v := range p.T {
				t[a] = v + size*m.t[n][a]
			}
			q := p.Q + size*(2*c.along[i][j]+size*m.r2[n])
			l.Features(f, t, max(q, 0))
			if l.Step(&r, f) >= 1 {
				return true
			}
		}
		return false
	}
	return func(open []int, size float64) (seen, not []int) {
		for _, i := range open {
			if sees(i, size) {
				seen = append(seen, i)
			} else {
				not = append(not, i)
			}
		}
		return seen, not
	}
}
