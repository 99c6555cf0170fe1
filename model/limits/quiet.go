package limits

import "math"

// ages is how many ages of its marks an octave has bounds for: of the first, 0 to 3 spectra, of another o, from 4 to 7 times 2^(o−1).
const ages = 4

// bounds are what the answers of a leap come to at most, by the octave and the age of a mark.
type bounds struct {
	gains []float64 // by features, too: the answer to a u of 1
	steps []float64 // the root of an answer, for innovations whose distances from the level before add up to 1
	first float64   // the same of the spectrum at the mark
}

// A calm remembers that the answers at some marks were found to be far from the threshold.
type calm struct {
	at   int     // the newest spectrum of their octave then, in steps of the octave: the marks are the same until the next
	seen int     // the spectrum then
	path float64 // how far innovations had come by then
	root float64 // the root of the largest answer, at most
	off  float64 // how far the level had moved since the marks, with that spectrum
	n    float64 // innovations that the level before is the mean of, at least
}

// keeps reports whether the answers are still below the limit, where one step of the path moves the root of an answer by no more
// than step.
//
// With each spectrum the u of a mark moves by b(v−v̄), v̄ the mean before the mark. Innovations that have come some way x from the level,
// k of them, have moved it by at most x + k·off, and by x/4 for the level's own way while k is below N/4.
func (k *calm) keeps(r *Leaping, newest int, step, limit float64) bool {
	since := float64(r.Seen - k.seen)
	return k.at == newest && 4*since <= k.n && k.root+step*(1.25*(r.path-k.path)+since*k.off) < limit
}

// bounds works them out. The level before is known from no more than Base innovations, and the older a mark is the more its u varies,
// so that what holds at an age holds for older ones of the same octave.
func (q *Leap) bounds() bounds {
	var b bounds
	d := q.To - q.From
	for o := range q.Inflate {
		for age := range ages {
			n, step := float64(age), 0.0
			if o > 0 {
				n = float64((ages + age) << (o - 1))
			}
			for c := range d {
				a, per := 1/q.Sigma[c], (1-q.Phi[c])/q.Sigma[c]
				ab := a + per*n
				gain := 1 / (q.widened(o, c) * (a*a + per*per*n + ab*ab/q.Base))
				b.gains = append(b.gains, gain)
				step = max(step, gain*per*per)
				if o == 0 && age == 0 {
					b.first = max(b.first, math.Sqrt(gain*a*a))
				}
			}
			b.steps = append(b.steps, math.Sqrt(step))
		}
	}
	return b
}

// passes is step for who wants to know only whether the share is 1 or more.
func (q *Leap) passes(r *Leaping, features []float64, by *bounds) bool {
	if len(r.gain) != q.To-q.From {
		q.prepare(r)
	}
	q.apart(r.y, r.white, features[q.From:q.To])
	if q.advance(r) {
		return false
	}
	if r.Held == nil && q.quiet(r, by) {
		q.conclude(r, 0, 0)
		return false
	}
	squared, at := q.largest(r, nil)
	return q.conclude(r, squared, at) >= 1
}

// quiet reports whether the answer at no mark passes the threshold. It may say no where none passes. What calms remember does not hold
// where a doubt gave back what it had taken off.
func (q *Leap) quiet(r *Leaping, by *bounds) bool {
	if len(r.calms) != len(q.Inflate)+perOctave-1 {
		r.calms = make([]calm, len(q.Inflate)+perOctave-1)
	}
	if r.stood || r.walked != r.Seen-1 {
		clear(r.calms)
	}
	r.walked = r.Seen
	x := 0.0
	for c, v := range r.v {
		x += (v - r.Level[c]) * (v - r.Level[c])
		r.white[c] = r.gain[c].b * r.Sum[c]
	}
	x = math.Sqrt(x)
	r.way, r.path = x, r.path+x
	limit := q.Threshold / sure
	for back := range perOctave { // in the first octave the newest mark is another for each spectrum
		at := r.Seen - back
		k := &r.calms[at&(perOctave-1)]
		switch now := (calm{at: at, seen: r.Seen, path: r.path, root: by.first * x, off: x / r.N, n: r.N}); {
		case back == 0 && !r.stood && now.root < limit:
			*k = now
		case k.keeps(r, at, by.steps[back], limit):
		case q.look(r, k, by, 0, r.Seen, back, back):
			k.at = at
		default:
			return false
		}
	}
	for o := 1; o < len(q.Inflate); o++ {
		newest, age := r.Seen>>o, r.Seen>>(o-1)&1
		k := &r.calms[perOctave-1+o]
		if k.keeps(r, newest, by.steps[o*ages+age], limit) {
			continue
		}
		if !q.look(r, k, by, o, newest, perOctave/2, perOctave-1) { // younger ones are looked at in the octave below
			return false
		}
		k.at = newest
	}
	return true
}

// look looks at the marks of an octave that are from to to steps older than the newest, and reports whether the answers there stay
// below the threshold; then k holds what is to be remembered of them, but for their place.
func (q *Leap) look(r *Leaping, k *calm, by *bounds, octave, newest, from, to int) bool {
	limit := q.Threshold / sure
	*k = calm{at: -1, seen: r.Seen, path: r.path, n: math.Inf(1)}
	for back := from; back <= to; back++ {
		m := &r.Marks[octave*perOctave+(newest-back)&(perOctave-1)]
		if m.At == 0 || m.N < leastBefore {
			continue
		}
		after := r.Seen - m.At
		age := after
		if octave > 0 {
			age = after>>(octave-1) - ages
		}
		root, off := q.bound(r, m, after, by.gains[(octave*ages+min(age, ages-1))*len(r.gain):])
		if !(root < limit) && !(math.Sqrt(q.answer(r, m, octave)) < limit) {
			return false
		}
		k.root, k.off, k.n = max(k.root, root), max(k.off, off+r.way/m.N), min(k.n, m.N)
	}
	return true
}

// bound returns at least the root of the answer at a mark, given what the answer to a u of 1 is at most, and how far the level is
// from what it was before the mark.
func (q *Leap) bound(r *Leaping, m *mark, after int, gains []float64) (root, off float64) {
	d := len(r.gain)
	n, told, level, before, past, by := float64(after), r.white[:d], r.Level[:d], m.B[:d], m.P[:d], gains[:d]
	sum, moved := 0.0, 0.0
	for c, g := range r.gain {
		u := past[c] + told[c] - (g.a+g.b*n)*before[c]
		sum += u * u * by[c]
		moved += (level[c] - before[c]) * (level[c] - before[c])
	}
	return math.Sqrt(sum), math.Sqrt(moved)
}
