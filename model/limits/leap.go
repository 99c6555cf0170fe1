package limits

import "math"

// A Leap asks of a group of features whether they have left, at some moment of the run so far, the level that they had
// before it, and stay away. Of all moments the one that tells most decides: a generalised likelihood ratio (Willsky,
// Jones, A generalized likelihood ratio approach to the detection and estimation of jumps in linear systems, IEEE
// Transactions on Automatic Control 21, 1976; Lai, Sequential changepoint detection in quality control and dynamical
// systems, Journal of the Royal Statistical Society B 57, 1995).
//
// Neighbours that resemble each other are looked at through what a spectrum brings that its neighbour did not tell (its
// innovation; for charts: Lu, Reynolds, EWMA control charts for monitoring the mean of autocorrelated processes, Journal
// of Quality Technology 31, 1999). With the features y made white, y_t = φ y_{t−1} + σ v_t, a step by δ at spectrum j
// moves the innovations
//
//	v_j by a δ, a = 1/σ,   and all after it by b δ, b = (1−φ)/σ
//
// so that over n spectra after j, with the mean v̄ of the N innovations before it,
//
//	u = a v_j + b Σv − (a+bn) v̄,   var u = a² + b²n + (a+bn)²/N,   the answer: Σ u²/var u over the features
//
// Note: steps seen by this against the memories' distance from the run's own mean, which it took the place of, on
// simulated lines at the same promise: see cmd/trust.
type Leap struct {
	From      int       `json:"from"` // the first feature of its group
	To        int       `json:"to"`   // the one after its last
	White     white     `json:"white"`
	Turn      []float64 `json:"turn,omitempty"`  // d×d, row by row: turns features made white so that long stretches show them apart, too
	Phi       []float64 `json:"phi"`             // φ of each feature made white and turned
	Sigma     []float64 `json:"sigma"`           // σ
	Inflate   []float64 `json:"inflate"`         // by how much answers over longer stretches, by octaves, were larger than reckoned
	Widen     []float64 `json:"widen,omitempty"` // the same, feature by feature of each octave
	Base      float64   `json:"base"`            // innovations that the level before is the mean of, at most
	Stray     float64   `json:"stray"`           // squared length of innovations beyond which they may be those of a stray, and are drawn in
	Threshold float64   `json:"threshold"`       // of the root of the answer
}

// Sustained is how many spectra in a row have to pass a threshold.
const Sustained = 3

// gain is what a step of 1 does to the innovations of a feature: at once, and from then on.
type gain struct{ a, b, aa, bb float64 }

// step takes the features of the next spectrum and returns the root of the largest answer as a share of the threshold.
func (q *Leap) step(r *Leaping, features []float64) float64 {
	if len(r.gain) != q.To-q.From {
		q.prepare(r)
	}
	q.apart(r.y, r.white, features[q.From:q.To])
	share, _ := q.take(r, nil)
	return share
}

// take is step for the features in r.y, which are white and turned, and returns the largest answer, too; each is for largest.
func (q *Leap) take(r *Leaping, each func(octave, feature int, answer float64)) (share, squared float64) {
	if q.advance(r) {
		return 0, 0
	}
	squared, at := q.largest(r, each)
	return q.conclude(r, squared, at), squared
}

// advance takes the features in r.y into what is remembered, and reports whether they are the first of a run, which have no answer.
func (q *Leap) advance(r *Leaping) (first bool) {
	r.Seen++
	if r.Seen == 1 {
		copy(r.Y, r.y)
		return true
	}
	for c, y := range r.y {
		r.v[c] = (y - q.Phi[c]*r.Y[c]) * r.gain[c].a
	}
	q.draw(r)
	for c, v := range r.v {
		r.Sum[c] += v
	}
	r.stood = false
	if r.Held == nil {
		q.mark(r)
		r.stood = q.decide(r)
	}
	return false
}

// conclude draws the consequences of the largest answer, that of the mark at, and returns its share of the threshold.
func (q *Leap) conclude(r *Leaping, squared float64, at int) float64 {
	share := math.Sqrt(squared) / q.Threshold
	if r.Held != nil {
		share = q.away(r, share)
	} else {
		if r.Doubt.At == 0 { // whatever is in doubt is no part of the level that it is judged by
			q.settle(r)
		}
		if r.Above++; share <= 1 {
			r.Above = 0
		}
		if r.Above >= Sustained || r.Above > 0 && r.stood {
			q.hold(r, at)
		}
	}
	copy(r.Y, r.y)
	return share
}

// settle takes the innovations into the level before. Of the first spectra of a run those that are far away are left out, for
// nothing yet says that they are no strays.
func (q *Leap) settle(r *Leaping) {
	if r.Seen <= unsettled {
		sum := 0.0
		for c, v := range r.v {
			sum += (v - r.Level[c]) * (v - r.Level[c])
		}
		if sum > q.Stray {
			return
		}
	}
	w := max(1/(r.N+1), 1/q.Base)
	for c, v := range r.v {
		r.Level[c] += w * (v - r.Level[c])
	}
	r.N = min(r.N+1, q.Base)
}

// mark remembers that a change may begin with this spectrum.
func (q *Leap) mark(r *Leaping) {
	for o := range q.Inflate {
		if r.Seen&(1<<o-1) != 0 {
			break
		}
		m := &r.Marks[o*perOctave+(r.Seen>>o)%perOctave]
		m.At, m.N = r.Seen, r.N
		for c, g := range r.gain {
			m.P[c] = g.a*r.v[c] - g.b*r.Sum[c]
			m.B[c] = r.Level[c]
		}
	}
}

const (
	leastBefore = 5 // innovations that a level has to be known from for a leap away from it
	unsettled   = 6 // first spectra of a run that need not be near its level
)

// largest returns the largest answer over all moments remembered, and at which. each, where there is one, is told every
// answer as it was reckoned, feature by feature.
func (q *Leap) largest(r *Leaping, each func(octave, feature int, answer float64)) (best float64, at int) {
	for i := range r.Marks {
		m, o := &r.Marks[i], i/perOctave
		after := r.Seen - m.At
		young := o > 0 && after < perOctave/2<<o && r.Held == nil
		if m.At == 0 || young || m.N < leastBefore {
			continue
		}
		sum := q.answer(r, m, o)
		if each != nil {
			q.tell(r, m, o, each)
		}
		if sum > best && (sum <= q.Threshold*q.Threshold || r.Held != nil || q.stands(r, m)) {
			best, at = sum, i
		}
	}
	return best, at
}

// answer returns the answer at a mark of an octave.
func (q *Leap) answer(r *Leaping, m *mark, octave int) float64 {
	n, over := float64(r.Seen-m.At), 1/m.N
	d := len(r.gain)
	sum, widen, told, before, past := 0.0, r.widen[octave*d:][:d], r.Sum[:d], m.B[:d], m.P[:d]
	for c, g := range r.gain {
		ab := g.a + g.b*n
		u := past[c] + g.b*told[c] - ab*before[c]
		sum += u * u / (g.aa + g.bb*n + ab*ab*over) * widen[c]
	}
	return sum
}

// tell tells each the answer at a mark of an octave as it was reckoned, feature by feature.
func (q *Leap) tell(r *Leaping, m *mark, octave int, each func(octave, feature int, answer float64)) {
	n, over := float64(r.Seen-m.At), 1/m.N
	for c, g := range r.gain {
		ab := g.a + g.b*n
		u := m.P[c] + g.b*r.Sum[c] - ab*m.B[c]
		each(octave, c, u*u/(g.aa+g.bb*n+ab*ab*over))
	}
}

// stands reports whether the newest spectrum is nearer to where the leap at m went than to the level before, or not clearly
// nearer to that: by more than half a spread of a spectrum. A few strays in a row are no leap once they are over.
func (q *Leap) stands(r *Leaping, m *mark) bool {
	n := float64(r.Seen - m.At)
	var p, all float64
	for c, g := range r.gain {
		by := (m.P[c] + g.b*r.Sum[c] - (g.a+g.b*n)*m.B[c]) / (g.aa + g.bb*n)
		w := g.aa * (1 - q.Phi[c]*q.Phi[c]) // one over the variance of a spectrum around its level
		p += w * (r.y[c] - m.B[c]/g.b) * by
		all += w * by * by
	}
	return p > 0.5*all-0.5*math.Sqrt(all)
}

// leap returns, for each feature made white, the level before mark i and by how much it was left, by least squares.
func (q *Leap) leap(r *Leaping, i int) (from, by []float64) {
	from, by = make([]float64, len(r.Y)), make([]float64, len(r.Y))
	m := &r.Marks[i]
	n := float64(r.Seen - m.At)
	for c, g := range r.gain {
		from[c] = m.B[c] / g.b
		by[c] = (m.P[c] + g.b*r.Sum[c] - (g.a+g.b*n)*m.B[c]) / (g.aa + g.bb*n)
	}
	return from, by
}

// hold begins to follow the leap at mark i, so that its end is seen: neither the level before nor the moment moves on,
// and Away is a mean over as many spectra as it takes to tell half of the leap from none at 3.5 standard errors.
func (q *Leap) hold(r *Leaping, i int) {
	h := &hold{Away: 1, At: r.Marks[i].At}
	h.From, h.By = q.leap(r, i)
	told := 0.0
	for c, g := range r.gain {
		told += g.bb * h.By[c] * h.By[c]
	}
	h.R = max(1/q.Base, min(told/25, 0.2))
	copy(r.Level, r.Marks[i].B)
	r.N = r.Marks[i].N
	r.Held, r.Doubt.At = h, 0
}

// away returns the share for as long as the leap is followed: above 1 while more than half of it stands.
func (q *Leap) away(r *Leaping, share float64) float64 {
	h := r.Held
	var p, all float64
	for c, g := range r.gain {
		p += g.bb * (r.y[c] - h.From[c]) * h.By[c]
		all += g.bb * h.By[c] * h.By[c]
	}
	if all > 0 {
		h.Away += h.R * (max(-1, min(p/all, 3)) - h.Away)
	}
	switch {
	case h.Away > 0.5:
		return max(share, 1+1e-9)
	case h.Away > over:
		return 2 * h.Away
	}
	r.Held, r.Above, r.Doubt.At = nil, 0, 0
	for i := range r.Marks {
		r.Marks[i].At = 0
	}
	return 2 * max(h.Away, 0)
}

// over is the share of a leap below which it is over.
const over = 0.4
