package limits

import (
	"math"
	"slices"
)

// Direction returns the direction in which the run is seen to depart most, and the spread of usual runs along it: for the
// question with the largest answer z, dir = Σ⁻¹z scaled to length 1, over the features of its group, and spread the usual
// distance of a run from usual along dir. Of a leap z is how far it went, and Σ that of a level within a run.
func (l *Limits) Direction(r *Recall) (dir []float64, spread float64) {
	dir = make([]float64, l.Len())
	if len(r.Base.Z) != len(dir) || len(r.Share) != len(l.Questions)+len(l.Leaps) {
		return dir, 1
	}
	worst := 0
	for i, s := range r.Share {
		if s > r.Share[worst] {
			worst = i
		}
	}
	from, to := l.toward(dir, r, worst)
	part := dir[from:to]
	sum := 0.0
	for _, v := range part {
		sum += v * v
	}
	if !(sum > 0) {
		return dir, 1
	}
	for i := range part {
		part[i] /= math.Sqrt(sum)
	}
	// 1/(dirᵀ Σ⁻¹ dir) is the variance along dir given all else; close enough to that of runs.
	return dir, 1 / max(l.slowest(from).White.length(part), 1e-9)
}

// Began returns how many spectra before the newest one the leap that stands out most began, where it is one and is followed.
func (l *Limits) Began(r *Recall) (back int, ok bool) {
	best := 1.0
	for i, s := range r.Share {
		if s < best {
			continue
		}
		best, ok = s, false
		if i >= len(l.Questions) {
			if q := &r.Leaps[i-len(l.Questions)]; q.Held != nil {
				back, ok = q.Seen-q.Held.At, true
			}
		}
	}
	return back, ok
}

// toward fills in the direction of question or leap i, of whatever length, and returns the features of its group.
func (l *Limits) toward(dir []float64, r *Recall, i int) (from, to int) {
	if i < len(l.Questions) {
		q := &l.Questions[i]
		z := slices.Clone(r.Held[i].Z)
		if q.Moved {
			for c := range z {
				z[c] -= r.Base.Z[q.From+c]
			}
		}
		q.White.solve(dir[q.From:q.To], z)
		return q.From, q.To
	}
	q, s := &l.Leaps[i-len(l.Questions)], &r.Leaps[i-len(l.Questions)]
	if len(s.gain) != q.To-q.From {
		q.prepare(s)
	}
	var by []float64
	if s.Held != nil {
		by = slices.Clone(s.Held.By)
	} else {
		_, at := q.largest(s, nil)
		_, by = q.leap(s, at)
	}
	for c, g := range s.gain {
		by[c] *= g.bb
	}
	q.back(dir[q.From:q.To], by)
	return q.From, q.To
}

// slowest returns the slowest question about where the group that begins with that feature stands.
func (l *Limits) slowest(from int) *Question {
	best := -1
	for i := range l.Questions {
		q := &l.Questions[i]
		if q.From == from && !q.Moved && (best < 0 || q.R < l.Questions[best].R) {
			best = i
		}
	}
	return &l.Questions[max(best, 0)]
}

// back fills dst with Wᵀ z.
func (w white) back(dst, z []float64) {
	clear(dst)
	at := 0
	for i, v := range z {
		for j, c := range w[at : at+i+1] {
			dst[j] += c * v
		}
		at += i + 1
	}
}
