package limits

import (
	"math"
	"slices"
)

// A waysOn is what a leap remembered after each spectrum that came. With a step of the features made white and turned by δ, from the
// first of them on, the innovations move by aδ, then by bδ; their sum by aδ and then bδ more for each; and the level by (αa+βb)δ, α
// and β the shares of the two that it has taken in. So the u of every mark moves by its own multiple of δ. Once innovations are drawn
// in, this is over: from there on spectra are taken one after another, in a waysOn that knows the size.
type waysOn struct {
	q     *Leap
	d     int
	seen  int // spectra before
	marks []mark
	gain  []gain
	widen []float64

	y, p, sum, level []float64 // a spectrum a row: features, P of a mark there, Σv, and v̄ before it
	n                []float64 // of the innovations in v̄
	alpha, beta      []float64 // before it
	off, offBy       []float32 // how far its innovations are from v̄, and the most that this moves for a |δ| of 1

	root, by []float32 // of the marks of each octave, of each spectrum: the largest root of an answer, and the most that it moves for a |δ| of 1

	topRoot, topBy []float32 // the largest of all octaves

	now    Leaping // at the moment; of one that knows the size, after the last spectrum
	taking bool    // it knows the size
	since  int     // earlier spectra cannot be asked any more: a doubt was believed
}

// begin makes it that of a leap that has seen none of n spectra.
func (w *waysOn) begin(q *Leap, r *Leaping, n int) {
	d := q.To - q.From
	*w = waysOn{q: q, d: d, seen: r.Seen, marks: r.Marks}
	w.now.copyFrom(&Leaping{Seen: r.Seen, Y: r.Y, Sum: r.Sum, Level: r.Level, N: r.N})
	w.now.Doubt.prepare(d)
	w.now.y, w.now.v, w.now.white, w.now.gain, w.widen = q.scratch()
	w.gain = w.now.gain
	if n == 0 {
		return
	}
	all := make([]float64, 4*n*d)
	for i, rows := range []*[]float64{&w.y, &w.p, &w.sum, &w.level} {
		*rows = all[i*n*d : (i+1)*n*d]
	}
	all = make([]float64, 3*n)
	w.n, w.alpha, w.beta = all[:n], all[n:2*n], all[2*n:]
}

// straight works out all from y, as if nothing were drawn in.
func (w *waysOn) straight() {
	d, n, alpha, beta := w.d, w.now.N, 0.0, 0.0
	last, sum, level := slices.Clone(w.now.Y), slices.Clone(w.now.Sum), slices.Clone(w.now.Level)
	w.off, w.offBy = make([]float32, len(w.n)), make([]float32, len(w.n))
	for j := range w.n {
		w.n[j], w.alpha[j], w.beta[j] = n, alpha, beta
		in, off, offBy := max(1/(n+1), 1/w.q.Base), 0.0, 0.0
		byA, byB := w.moved(j)
		for c, g := range w.gain {
			i := j*d + c
			v := (w.y[i] - w.q.Phi[c]*last[c]) * g.a
			sum[c] += v
			w.p[i], w.sum[i], w.level[i] = g.a*v-g.b*sum[c], sum[c], level[c]
			off += (v - level[c]) * (v - level[c])
			offBy = max(offBy, math.Abs(byA*g.a+byB*g.b))
			level[c] += in * (v - level[c])
		}
		w.off[j], w.offBy[j] = float32(math.Sqrt(off)), float32(offBy)
		copy(last, w.y[j*d:])
		n, alpha, beta = min(n+1, w.q.Base), (1-in)*alpha, (1-in)*beta
		if j == 0 {
			alpha += in
		} else {
			beta += in
		}
	}
	w.bound()
}

// moved returns by how much a δ and b δ the innovations of spectrum j move against the level before it.
func (w *waysOn) moved(j int) (a, b float64) {
	if j == 0 {
		return 1, 0
	}
	return -w.alpha[j], 1 - w.beta[j]
}

// drawn reports whether the innovations of spectrum j may be drawn in, with a change by size times y, of that length, from the first on.
func (w *waysOn) drawn(j int, y []float64, size, length float64) bool {
	if far := float64(w.off[j]) + length*float64(w.offBy[j]); far*far*sure < w.q.Stray {
		return false
	}
	byA, byB := w.moved(j)
	sum, past, told, level := 0.0, w.p[j*w.d:][:w.d], w.sum[j*w.d:][:w.d], w.level[j*w.d:][:w.d]
	for c, g := range w.gain {
		v := (past[c]+g.b*told[c])*w.q.Sigma[c] - level[c] + size*y[c]*(byA*g.a+byB*g.b)
		sum += v * v
	}
	return !(sum < w.q.Stray*(1-near))
}

// from makes w what o is before spectrum j, with a change by size times y from the first on.
func (w *waysOn) from(o *waysOn, j int, y []float64, size float64) {
	d := o.d
	w.q, w.d, w.seen, w.marks, w.gain, w.widen, w.taking, w.since = o.q, d, o.seen, o.marks, o.gain, o.widen, true, 0
	w.p, w.sum, w.level, w.y = append(w.p[:0], o.p[:j*d]...), append(w.sum[:0], o.sum[:j*d]...), append(w.level[:0], o.level[:j*d]...), append(w.y[:0], o.y[:j*d]...)
	w.n = append(w.n[:0], o.n[:j]...)
	for i := range j {
		for c, g := range w.gain {
			by, v, s := size*y[c], g.b, g.a+float64(i)*g.b
			if i == 0 {
				v = g.a
			}
			at := i*d + c
			w.y[at] += by
			w.p[at] += by * (g.a*v - g.b*s)
			w.sum[at] += by * s
			w.level[at] += by * (o.alpha[i]*g.a + o.beta[i]*g.b)
		}
	}
	w.now.copyFrom(&o.now)
	w.now.y, w.now.v, w.now.gain = slices.Grow(w.now.y[:0], d)[:d], slices.Grow(w.now.v[:0], d)[:d], o.gain
	if j == 0 {
		return
	}
	r := &w.now
	r.Seen, r.N = o.seen+j, o.n[j]
	copy(r.Y, w.y[(j-1)*d:])
	copy(r.Sum, w.sum[(j-1)*d:])
	for c, g := range w.gain {
		r.Level[c] = o.level[j*d+c] + size*y[c]*(o.alpha[j]*g.a+o.beta[j]*g.b)
	}
}

// take takes in the next spectrum, whose features are in now.y, as a Leap does.
func (w *waysOn) take() {
	r, q := &w.now, w.q
	if w.d == 1 && r.Doubt.At == 0 && r.N >= leastBefore && r.Seen >= unsettled && w.takeOne(r.y[0]) {
		return
	}
	r.Seen++
	for c, y := range r.y {
		r.v[c] = (y - q.Phi[c]*r.Y[c]) * w.gain[c].a
	}
	w.level, w.n = append(w.level, r.Level...), append(w.n, r.N)
	q.draw(r)
	for c, v := range r.v {
		r.Sum[c] += v
		w.p = append(w.p, w.gain[c].a*v-w.gain[c].b*r.Sum[c])
	}
	w.y, w.sum = append(w.y, r.y...), append(w.sum, r.Sum...)
	if at := r.Doubt.At; at != 0 && q.decide(r) {
		w.believe(at - w.seen - 1)
	}
	if r.Doubt.At == 0 {
		q.settle(r)
	}
	copy(r.Y, r.y)
}

// believe gives back what was taken off from spectrum j on, as (*Leaping).believe does.
func (w *waysOn) believe(j int) {
	for c, g := range w.gain {
		whole := 0.0
		for i, off := range w.now.Doubt.Off {
			whole += off[c]
			w.p[(j+i)*w.d+c] += g.a*off[c] - g.b*whole
		}
	}
	w.since = len(w.n) - 1
	copy(w.sum[w.since*w.d:], w.now.Sum)
}

// takeOne is take for a single feature where nothing is drawn in; else it does nothing, and says so.
func (w *waysOn) takeOne(y float64) bool {
	r, q, g := &w.now, w.q, &w.gain[0]
	v := (y - q.Phi[0]*r.Y[0]) * g.a
	off := v - r.Level[0]
	if off*off > q.Stray {
		return false
	}
	r.Seen++
	r.Sum[0] += v
	w.level, w.n, w.y = append(w.level, r.Level[0]), append(w.n, r.N), append(w.y, y)
	w.p, w.sum = append(w.p, g.a*v-g.b*r.Sum[0]), append(w.sum, r.Sum[0])
	r.Level[0] += max(1/(r.N+1), 1/q.Base) * off
	r.N, r.Y[0] = min(r.N+1, q.Base), y
	return true
}

// farOne reports whether the answer to spectrum j at a mark is surely below the threshold, for a single feature that was taken.
// It is answer without its divisions.
func (w *waysOn) farOne(j, octave, back int) bool {
	seen := w.seen + j + 1
	at := (seen>>octave - back) << octave
	var p, level, n float64
	if at > w.seen {
		i := at - w.seen - 1
		p, level, n = w.p[i], w.level[i], w.n[i]
	} else if old := &w.marks[octave*perOctave+at>>octave&(perOctave-1)]; old.At == 0 {
		return true
	} else {
		at, p, level, n = old.At, old.P[0], old.B[0], old.N
	}
	g, after := &w.gain[0], float64(seen-at)
	ab := g.a + g.b*after
	u := p + g.b*w.sum[j] - ab*level
	return u*u*w.widen[octave]*n < w.q.Threshold*w.q.Threshold*(1-near)*((g.aa+g.bb*after)*n+ab*ab)
}

// A place is a mark as it is seen from a later spectrum.
type place struct {
	p, level    []float64
	n, over     float64 // spectra since, one over N
	ab, aa, bb  float64 // what δ moves u by: times ab, a² and b², summed
	alpha, beta float64 // what the level before it has
	octave      int
}

// look finds the mark of an octave that is so many steps older than the newest, as seen from spectrum j; false where there is none
// that is looked at.
func (w *waysOn) look(j, octave, back int) (m place, ok bool) {
	seen := w.seen + j + 1
	at := (seen>>octave - back) << octave
	if at <= w.seen {
		old := &w.marks[octave*perOctave+at>>octave&(perOctave-1)]
		if old.At == 0 || old.N < leastBefore {
			return m, false
		}
		return place{p: old.P, level: old.B, n: float64(seen - old.At), over: 1 / old.N, octave: octave, ab: 1, bb: float64(j)}, true
	}
	i := at - w.seen - 1
	if w.n[i] < leastBefore {
		return m, false
	}
	m = place{p: w.p[i*w.d:], level: w.level[i*w.d:], n: float64(seen - at), over: 1 / w.n[i], octave: octave}
	if w.taking {
		return m, true
	}
	m.alpha, m.beta = w.alpha[i], w.beta[i]
	m.aa, m.ab, m.bb = -m.alpha, -m.alpha*m.n-m.beta, m.n-m.beta*m.n
	if i == 0 {
		m.aa++
	} else {
		m.ab++
	}
	return m, true
}

// answer returns the answer at a mark as seen from spectrum j, and leaves its u in u.
func (w *waysOn) answer(j int, m *place, y []float64, size float64, u []float64) float64 {
	d := w.d
	widen, told, level, past := w.widen[m.octave*d:][:d], w.sum[j*d:][:d], m.level[:d], m.p[:d]
	u = u[:d]
	sum := 0.0
	for c, g := range w.gain[:d] {
		ab := g.a + g.b*m.n
		v := past[c] + g.b*told[c] - ab*level[c]
		if !w.taking {
			v += size * y[c] * (m.aa*g.aa + m.ab*g.a*g.b + m.bb*g.bb)
		}
		u[c] = v
		sum += v * v / (g.aa + g.bb*m.n + ab*ab*m.over) * widen[c]
	}
	return sum
}

// bound works out root and by.
func (w *waysOn) bound() {
	octaves := len(w.q.Inflate)
	w.root, w.by = make([]float32, len(w.n)*octaves), make([]float32, len(w.n)*octaves)
	w.topRoot, w.topBy = make([]float32, len(w.n)), make([]float32, len(w.n))
	u, none := make([]float64, w.d), make([]float64, w.d)
	for j := range w.n {
		for o := range octaves {
			root, by := 0.0, 0.0
			for back := youngest(o); back < perOctave; back++ {
				m, ok := w.look(j, o, back)
				if !ok {
					continue
				}
				root = max(root, w.answer(j, &m, none, 0, u))
				for c, g := range w.gain {
					ab, moves := g.a+g.b*m.n, m.aa*g.aa+m.ab*g.a*g.b+m.bb*g.bb
					by = max(by, moves*moves/(g.aa+g.bb*m.n+ab*ab*m.over)*w.widen[o*w.d+c])
				}
			}
			i := j*octaves + o
			w.root[i], w.by[i] = float32(math.Sqrt(root)), float32(math.Sqrt(by))
			w.topRoot[j], w.topBy[j] = max(w.topRoot[j], w.root[i]), max(w.topBy[j], w.by[i])
		}
	}
}

// youngest returns the steps of the youngest mark of an octave that is looked at.
func youngest(octave int) int {
	if octave == 0 {
		return 0
	}
	return perOctave / 2
}

// passes reports whether the answer to spectrum j reaches the threshold, with a change by size times p from the first on, or as the
// spectra were taken.
func (w *waysOn) passes(j int, p *pull, size float64, u []float64) (passes, certain bool) {
	if w.taking && j < w.since {
		return false, false
	}
	limit, most := w.q.Threshold/sure, w.q.Threshold*w.q.Threshold
	by := float32(size * p.length)
	if !w.taking && float64(w.topRoot[j]+by*w.topBy[j]) < limit {
		return false, true
	}
	for o := range w.q.Inflate {
		if i := j*len(w.q.Inflate) + o; !w.taking && float64(w.root[i]+by*w.by[i]) < limit {
			continue
		}
		for back := youngest(o); back < perOctave; back++ {
			if w.taking && w.d == 1 && w.farOne(j, o, back) {
				continue
			}
			m, ok := w.look(j, o, back)
			if !ok {
				continue
			}
			switch sum := w.answer(j, &m, p.y, size, u); {
			case math.Abs(sum-most) <= near*most:
				return false, false
			case sum > most:
				if passes, certain = w.stands(j, &m, p.y, size, u); passes || !certain {
					return passes, certain
				}
			}
		}
	}
	return false, true
}

// stands is (*Leap).stands for a mark whose u is in u.
func (w *waysOn) stands(j int, m *place, y []float64, size float64, u []float64) (stands, certain bool) {
	var p, all float64
	for c, g := range w.gain {
		now, level := w.y[j*w.d+c], m.level[c]
		if !w.taking {
			now += size * y[c]
			level += size * y[c] * (m.alpha*g.a + m.beta*g.b)
		}
		by := u[c] / (g.aa + g.bb*m.n)
		v := g.aa * (1 - w.q.Phi[c]*w.q.Phi[c])
		p += v * (now - level/g.b) * by
		all += v * by * by
	}
	least := 0.5*all - 0.5*math.Sqrt(all)
	return p > least, math.Abs(p-least) > near*(math.Abs(p)+all)
}
