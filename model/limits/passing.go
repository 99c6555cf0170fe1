package limits

import (
	"math"

	"gonum.org/v1/gonum/mat"
)

// A Passing tells whether answers reach their thresholds, for those who ask millions of times and need not know the answers
// themselves. Most spectra are far from any threshold, and a bound shows that they are; only where it does not is the answer worked
// out, as Step does. So it decides as Step would: a test compares them. It does not change, and is safe for concurrent use.
type Passing struct {
	l     *Limits
	moves bool      // some question is about moving: Step is asked
	whole []float64 // of each question: the squared length of features up to which they surely count in full
	quiet []float64 // of each question: that of what is remembered, up to which the answer is surely below the threshold
	leaps []bounds
}

// sure is how much nearer to its threshold than an answer its bound is taken to be: far more than rounding.
const sure = 1 + 1e-6

// Passing returns what tells whether answers reach their thresholds.
func (l *Limits) Passing() *Passing {
	n := len(l.Questions)
	p := &Passing{l: l, whole: make([]float64, n), quiet: make([]float64, n), leaps: make([]bounds, len(l.Leaps))}
	for i := range l.Questions {
		q := &l.Questions[i]
		p.moves = p.moves || q.Moved
		most := q.White.largest(q.To-q.From) * sure
		p.whole[i], p.quiet[i] = q.mostCounts()*q.mostCounts()/most, q.Threshold*q.Threshold/most
	}
	for i := range l.Leaps {
		p.leaps[i] = l.Leaps[i].bounds()
	}
	return p
}

// Step takes the features of the next spectrum and reports whether (*Limits).Step would return 1 or more. It leaves in r what that
// leaves, but for the shares.
func (p *Passing) Step(r *Recall, features []float64) bool {
	l := p.l
	if p.moves {
		return l.Step(r, features) >= 1
	}
	if len(r.scratch) != l.Len() || len(r.Held) != len(l.Questions) || len(r.Leaps) != len(l.Leaps) {
		l.prepare(r)
	}
	passes, from, square := false, -1, 0.0
	for i := range l.Questions {
		q, m := &l.Questions[i], &r.Held[i]
		if q.From != from {
			from, square = q.From, squareOf(features[q.From:q.To])
		}
		if square < p.whole[i] {
			m.Add(features[q.From:q.To]) // not drawn in
		} else {
			q.take(m, &r.Base, features, r.scratch)
		}
		if !passes && !(squareOf(m.Z) < p.quiet[i]) {
			passes = q.White.length(m.Z)/q.Threshold >= 1
		}
	}
	for i := range l.Leaps {
		if l.Leaps[i].passes(&r.Leaps[i], features, &p.leaps[i]) {
			passes = true
		}
	}
	return passes
}

func squareOf(z []float64) float64 {
	sum := 0.0
	for _, v := range z {
		sum += v * v
	}
	return sum
}

// largest returns the largest zᵀΣ⁻¹z of a z of length 1; infinity where it cannot be found.
func (w white) largest(d int) float64 {
	inverse := mat.NewSymDense(d, nil)
	at := 0
	for i := range d {
		row := w[at : at+i+1]
		at += i + 1
		for a, v := range row {
			for b := range a + 1 {
				inverse.SetSym(a, b, inverse.At(a, b)+v*row[b])
			}
		}
	}
	var e mat.EigenSym
	if !e.Factorize(inverse, false) {
		return math.Inf(1)
	}
	values := e.Values(nil)
	return values[d-1]
}
