package limits

import (
	"math"
	"slices"
)

// An Ahead is what came after a moment of a run, so that it can be asked many times whether a change that begins there would be
// seen. Where nothing is drawn in or clipped, what memories and leaps hold moves straight with the size of the change; so it is
// worked out once for the spectra as they came and once for the change, and any spectrum can be asked at once. Every third is,
// since three in a row have to pass. log Q does not move straight, and is taken anew for every size.
//
// It decides as a Passing does that is given one spectrum after another: where something may be drawn in, or an answer is so near
// to its threshold that rounding might decide, it says that it is not sure. A test compares them. It does not change, and is safe
// for concurrent use.
type Ahead struct {
	l         *Limits
	n         int        // spectra
	far       []float64  // of each: the largest feature so far, without log Q
	leaps     []waysOn   // those of log Q have seen nothing of what came
	questions []memoryOn // the same
	log       int        // the feature that is log Q
}

// near is how near to its threshold, as a share, an answer has to be for rounding to be feared: far more than there is.
const near = 1e-9

// Ahead returns what came after the moment at which r stands. It is nil where memories or leaps stand so that they will not move
// straight: in doubt, above a threshold, or at the first spectrum of a run.
func (p *Passing) Ahead(r *Recall, points []Point) *Ahead {
	l := p.l
	if p.moves || len(r.Held) != len(l.Questions) || len(r.Leaps) != len(l.Leaps) {
		return nil
	}
	a := &Ahead{l: l, n: len(points), log: l.Placed() - 1, leaps: make([]waysOn, len(l.Leaps)), questions: make([]memoryOn, len(l.Questions))}
	for i := range l.Leaps {
		q, at := &l.Leaps[i], &r.Leaps[i]
		if at.Held != nil || at.Doubt.At != 0 || at.Above != 0 || at.Seen == 0 || q.From < a.log && q.To > a.log || q.From == a.log && q.To > a.log+1 {
			return nil
		}
		n := len(points)
		if q.From == a.log {
			n = 0
		}
		a.leaps[i].begin(q, at, n)
	}
	for i := range l.Questions {
		a.questions[i].begin(&l.Questions[i], &r.Held[i], len(points))
	}
	a.take(points)
	return a
}

// take takes the spectra in as they came.
func (a *Ahead) take(points []Point) {
	f, far, scratch := make([]float64, a.l.Len()), 0.0, make([]float64, a.l.Len())
	for j, p := range points {
		a.l.plainly(f, p.T, p.Parts)
		far = max(far, furthest(f))
		a.far = append(a.far, far)
		for i := range a.questions {
			if q := &a.questions[i]; q.q.From != a.log {
				q.add(f[q.q.From:q.q.To])
			}
		}
		for i := range a.leaps {
			if w := &a.leaps[i]; w.q.From != a.log {
				w.q.apart(w.y[j*w.d:(j+1)*w.d], scratch[:w.d], f[w.q.From:w.q.To])
			}
		}
	}
	for i := range a.leaps {
		if w := &a.leaps[i]; w.q.From != a.log {
			w.straight()
		}
	}
}

// plainly fills dst with the features that scores and stretches give, not clipped, and 0 for log Q.
func (l *Limits) plainly(dst, t, parts []float64) {
	clear(dst)
	for i, v := range t {
		dst[i] = (v - l.Center[i]) / l.Scale[i]
	}
	for i, v := range parts {
		j := len(t) + 1 + i
		dst[j] = (v - l.Center[j]) / l.Scale[j]
	}
}

func furthest(f []float64) float64 {
	far := 0.0
	for _, v := range f {
		far = max(far, math.Abs(v))
	}
	return far
}

// A Pull is what a change does to features, per unit of its size.
type Pull struct {
	far       float64 // the most that it does to one
	leaps     []pull  // white and turned; nil for log Q
	questions []pull  // white
}

// A pull is that of one group.
type pull struct {
	y      []float64
	length float64
}

// Pull returns what moving the scores by t and what stretches have left over by parts does.
func (p *Passing) Pull(t, parts []float64) *Pull {
	l := p.l
	f, scratch := make([]float64, l.Len()), make([]float64, l.Len())
	for i, v := range t {
		f[i] = v / l.Scale[i]
	}
	for i, v := range parts {
		f[len(t)+1+i] = v / l.Scale[len(t)+1+i]
	}
	by := &Pull{far: furthest(f), leaps: make([]pull, len(l.Leaps)), questions: make([]pull, len(l.Questions))}
	log := l.Placed() - 1
	for i := range l.Leaps {
		q := &l.Leaps[i]
		if q.From == log {
			continue
		}
		y := make([]float64, q.To-q.From)
		q.apart(y, scratch[:len(y)], f[q.From:q.To])
		by.leaps[i] = pull{y: y, length: math.Sqrt(squareOf(y))}
	}
	for i := range l.Questions {
		q := &l.Questions[i]
		if q.From == log {
			continue
		}
		y := make([]float64, q.To-q.From)
		q.White.times(y, f[q.From:q.To])
		by.questions[i] = pull{y: y, length: math.Sqrt(squareOf(y))}
	}
	return by
}

// straight returns of how many spectra it is sure that memories move straight with a change of that size.
func (a *Ahead) straight(by *Pull, size float64) int {
	n := upTo(a.far, a.l.Clip*(1-near)-size*by.far)
	for i := range a.questions {
		if q := &a.questions[i]; q.q.From != a.log {
			n = min(n, upTo(q.far, q.most-size*by.questions[i].length))
		}
	}
	return n
}

// upTo returns how many values, which do not fall, are at most so large.
func upTo(values []float64, most float64) int {
	n, _ := slices.BinarySearchFunc(values, most, func(v, most float64) int {
		if v > most {
			return 1
		}
		return -1
	})
	return n
}

// A Room is what an Ahead is asked in. Its zero value is ready to use.
type Room struct {
	leaps     []waysOn
	questions []memoryOn
	taken     int // spectra that were looked at whether they move straight, and log Q taken of them
	u         []float64
}

// Seen returns after how many spectra the change of that size is seen, 0 if it is not; q returns the Q residual that a spectrum
// then has. It is not to be relied on where sure is false.
func (a *Ahead) Seen(by *Pull, size float64, q func(j int) float64, room *Room) (after int, sure bool) {
	c := &asking{Ahead: a, by: by, size: size, residual: q, room: room, straight: a.straight(by, size)}
	c.start()
	for j := Sustained - 1; j < a.n; j += Sustained {
		if !c.passes(j) {
			if c.unsure {
				return 0, false
			}
			continue
		}
		first, last := j, j
		for first > j-Sustained+1 && c.passes(first-1) {
			first--
		}
		for last < first+Sustained-1 && last+1 < a.n && c.passes(last+1) {
			last++
		}
		if c.unsure {
			return 0, false
		}
		if last == first+Sustained-1 {
			return last + 1, true
		}
	}
	return 0, true
}

// An asking is one call of Seen.
type asking struct {
	*Ahead
	by       *Pull
	size     float64
	residual func(j int) float64
	room     *Room
	straight int
	unsure   bool
}

// start makes the room for log Q what it was at the moment.
func (c *asking) start() {
	r := c.room
	if len(r.leaps) != len(c.leaps) || len(r.questions) != len(c.questions) {
		*r = Room{leaps: make([]waysOn, len(c.leaps)), questions: make([]memoryOn, len(c.questions)), u: make([]float64, c.l.Len())}
	}
	r.taken = 0
	for i := range c.leaps {
		w := &c.leaps[i]
		if r.leaps[i].taking = false; w.q.From == c.log {
			r.leaps[i].from(w, 0, nil, 0)
		}
	}
	for i := range c.questions {
		if q := &c.questions[i]; q.q.From == c.log {
			r.questions[i].copyFrom(q)
		}
	}
}

// follow takes all spectra up to j, as far as they have to be taken one after another: log Q, and what was drawn in. It reports
// whether that can be done.
func (c *asking) follow(j int) bool {
	l, r := c.l, c.room
	for ; r.taken <= j; r.taken++ {
		f := l.clip((math.Log(max(c.residual(r.taken), l.FloorQ)) - l.Center[c.log]) / l.Scale[c.log])
		for i := range r.questions {
			if q := &r.questions[i]; q.q != nil {
				if q.addOne(f); q.far[r.taken] > q.most {
					return false
				}
			}
		}
		for i := range r.leaps {
			w, from, y := &r.leaps[i], &c.leaps[i], c.by.leaps[i].y
			if !w.taking {
				if !from.drawn(r.taken, y, c.size) {
					continue
				}
				w.from(from, r.taken, y, c.size)
			}
			if y == nil {
				w.now.y[0] = w.q.White[0] * f // a single feature is not turned
			} else {
				for x, v := range from.y[r.taken*w.d:][:w.d] {
					w.now.y[x] = v + c.size*y[x]
				}
			}
			if w.take(); w.since == r.taken && r.taken > 0 {
				if passes, sure := w.passes(r.taken, &pull{}, 0, r.u); passes || !sure {
					return false // it is held from here on, which is not followed
				}
			}
		}
	}
	return j < c.straight
}

// passes reports whether some answer to spectrum j reaches its threshold, and notes where it is not sure.
func (c *asking) passes(j int) bool {
	if c.unsure || !c.follow(j) {
		c.unsure = true
		return false
	}
	passes, sure := false, true
	for i := range c.questions {
		if q := &c.room.questions[i]; q.q != nil {
			passes, sure = q.passes(j, nil, 0)
		} else {
			passes, sure = c.questions[i].passes(j, &c.by.questions[i], c.size)
		}
		if passes || !sure {
			c.unsure = !sure
			return passes
		}
	}
	for i := range c.leaps {
		if w := &c.room.leaps[i]; w.taking {
			passes, sure = w.passes(j, &pull{}, 0, c.room.u)
		} else {
			passes, sure = c.leaps[i].passes(j, &c.by.leaps[i], c.size, c.room.u)
		}
		if passes || !sure {
			c.unsure = !sure
			return passes
		}
	}
	return false
}
