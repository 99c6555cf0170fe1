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

// Alone returns how large a change has to be for one spectrum by itself to come to a threshold of a leap from a level known for
// certain, without what log Q tells: infinity where none asks.
func (p *Passing) Alone(by *Pull) float64 {
	alone := math.Inf(1)
	for i := range p.l.Leaps {
		alone = min(alone, p.l.Leaps[i].Threshold/by.leaps[i].length)
	}
	return alone
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
	logs      []float64  // log Q of the spectra so far, as a feature
	questions []memoryOn // those of log Q, as far as they were asked
	leaps     []waysOn   // those of log Q and those in which something was drawn in
	plain     []int      // of each leap: so many spectra are known to be drawn in nowhere
	passed    int        // the leap whose answer passed last
	u         []float64
}

// Seen returns after how many spectra the change of that size is seen, 0 if it is not; q returns the Q residual that a spectrum
// then has. It looks from spectrum first on and then at those before it, so that who guesses well is answered soon; with first 0 it
// is the first time that is returned. It is not to be relied on where sure is false.
func (a *Ahead) Seen(by *Pull, size float64, q func(j int) float64, first int, room *Room) (after int, sure bool) {
	c := &asking{Ahead: a, by: by, size: size, residual: q, room: room, straight: a.straight(by, size)}
	c.start()
	first = min(max(first, 0), a.n) / Sustained * Sustained
	for _, part := range [...][2]int{{first, a.n}, {0, first}} {
		for j := part[0] + Sustained - 1; j < part[1] && !c.unsure; j += Sustained {
			if after := c.around(j); after > 0 {
				return after, true
			}
		}
	}
	return 0, !c.unsure
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
		*r = Room{leaps: make([]waysOn, len(c.leaps)), questions: make([]memoryOn, len(c.questions)), plain: make([]int, len(c.leaps)), u: make([]float64, c.l.Len())}
	}
	r.logs = r.logs[:0]
	clear(r.plain)
	for i := range c.leaps {
		r.leaps[i].taking = false
		if w := &c.leaps[i]; w.q.From == c.log {
			r.leaps[i].from(w, 0, nil, 0)
		}
	}
	for i := range c.questions {
		if q := &c.questions[i]; q.q.From == c.log {
			r.questions[i].copyFrom(q)
		}
	}
}

// around returns after how many spectra the change is seen with spectrum j among those that pass, 0 where it is not. At most
// Sustained−1 before j are looked at: what came before them was looked at from another j.
func (c *asking) around(j int) int {
	if !c.passes(j) {
		return 0
	}
	first, last := j, j
	for first > j-Sustained+1 && c.passes(first-1) {
		first--
	}
	for last < first+Sustained-1 && last+1 < c.n && c.passes(last+1) {
		last++
	}
	if c.unsure || last < first+Sustained-1 {
		return 0
	}
	return last + 1
}

// passes reports whether some answer to spectrum j reaches its threshold, and notes where it is not sure. What moves straight is
// asked first: log Q has to be taken spectrum by spectrum.
func (c *asking) passes(j int) bool {
	if c.unsure || j >= c.straight {
		c.unsure = true
		return false
	}
	if n := len(c.leaps); n > 0 && c.leaps[c.room.passed].q.From != c.log && c.leapPasses(c.room.passed, j) {
		return true
	}
	for _, log := range [...]bool{false, true} {
		for i := range c.questions {
			if (c.questions[i].q.From == c.log) == log && c.questionPasses(i, j) {
				return true
			}
		}
		for i := range c.leaps {
			if (c.leaps[i].q.From == c.log) == log && c.leapPasses(i, j) {
				c.room.passed = i
				return true
			}
		}
	}
	return false
}

// questionPasses is passes for one question.
func (c *asking) questionPasses(i, j int) bool {
	if c.unsure {
		return false
	}
	q := &c.questions[i]
	if q.q.From != c.log {
		passes, sure := q.passes(j, &c.by.questions[i], c.size)
		c.unsure = !sure
		return passes && sure
	}
	q = &c.room.questions[i]
	for x := len(q.far); x <= j; x++ {
		q.addOne(c.logQ(x))
	}
	if q.far[j] > q.most {
		c.unsure = true
		return false
	}
	passes, sure := q.passes(j, nil, 0)
	c.unsure = !sure
	return passes && sure
}

// logQ returns log Q of spectrum j as a feature; those before it were asked for already.
func (c *asking) logQ(j int) float64 {
	r, l := c.room, c.l
	if j == len(r.logs) {
		r.logs = append(r.logs, l.clip((math.Log(max(c.residual(j), l.FloorQ))-l.Center[c.log])/l.Scale[c.log]))
	}
	return r.logs[j]
}

// leapPasses is passes for one leap.
func (c *asking) leapPasses(i, j int) bool {
	if c.unsure {
		return false
	}
	w := c.take(i, j)
	if c.unsure {
		return false
	}
	p := &pull{}
	if !w.taking {
		p = &c.by.leaps[i]
	}
	passes, sure := w.passes(j, p, c.size, c.room.u)
	c.unsure = !sure
	return passes && sure
}

// take returns leap i such that spectrum j can be asked. Where it has to be taken spectrum by spectrum, for it is that of log Q or
// something was drawn in, it is taken up to j; it is not sure where a leap is held from a spectrum on, which is not followed.
func (c *asking) take(i, j int) *waysOn {
	r, from, y := c.room, &c.leaps[i], c.by.leaps[i].y
	w := &r.leaps[i]
	if !w.taking {
		length := c.by.leaps[i].length * c.size
		for r.plain[i] <= j && !from.drawn(r.plain[i], y, c.size, length) {
			r.plain[i]++
		}
		if r.plain[i] > j {
			return from
		}
		w.from(from, r.plain[i], y, c.size)
	}
	for x := len(w.n); x <= j && !c.unsure; x++ {
		if y == nil {
			w.now.y[0] = w.q.White[0] * c.logQ(x) // a single feature is not turned
		} else {
			for f, v := range from.y[x*w.d:][:w.d] {
				w.now.y[f] = v + c.size*y[f]
			}
		}
		if w.take(); w.since == x && x > 0 {
			passes, sure := w.passes(x, &pull{}, 0, r.u)
			c.unsure = passes || !sure
		}
	}
	return w
}
