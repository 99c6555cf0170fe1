package limits

import (
	"math"

	"asusual/model/memory"
)

// A Recall is what is remembered of the run so far: the state of all questions and leaps. Its zero value has seen
// nothing; it marshals to JSON completely.
//
// Note: a fast memory sees large changes soon, a slow one small changes at all. Where they stand against usual is the
// textbook's question, but runs differ more than spectra within a run, and a change smaller than that difference is
// invisible to it. Leaps do not know the difference between runs, and see what begins after the run did.
type Recall struct {
	Held  []memory.Memory `json:"held"` // what each question is asked of
	Leaps []Leaping       `json:"leaps,omitempty"`
	Share []float64       `json:"share"` // the last answers, each as a share of its threshold: of the questions, then of the leaps

	Base memory.Memory `json:"base"` // mean of the run so far, for questions about moving
	Mix  [memories]mix `json:"mix"`  // of each memory and the run's own mean

	scratch []float64
}

// A mix knows how much a memory and the run's own mean have in common. Both are weighted sums of the same spectra; for
// independent spectra of variance 1 their difference has the variance
//
//	Σ (aᵢ − bᵢ)² = Σaᵢ² + Σbᵢ² − 2Σaᵢbᵢ
//
// which is nothing while both are the plain mean, and grows as the run gets longer. Without it, thresholds would be set
// by the ends of runs.
type mix struct {
	Memory float64 `json:"memory"` // Σaᵢ²
	Base   float64 `json:"base"`   // Σbᵢ²
	Both   float64 `json:"both"`   // Σaᵢbᵢ
}

// add takes a spectrum that enters the memory with weight a and the run's own mean with weight b.
func (x *mix) add(a, b float64) {
	x.Memory = (1-a)*(1-a)*x.Memory + a*a
	x.Base = (1-b)*(1-b)*x.Base + b*b
	x.Both = (1-a)*(1-b)*x.Both + a*b
}

// scale returns what to multiply the difference with. Where a run is too young for the difference to say much, it stays
// small: young is less than a quarter of the variance of the memory alone.
func (x *mix) scale(r float64) float64 {
	return 1 / math.Sqrt(max(x.Memory+x.Base-2*x.Both, youngMix*memory.Asymptotic(r)))
}

const youngMix = 0.25

// Step takes the features of the next spectrum and returns the largest answer as a share of its threshold: an
// episode begins where it passes 1. It allocates only at the first spectrum, and where a leap is seen.
func (l *Limits) Step(r *Recall, features []float64) float64 {
	if len(r.scratch) != l.Len() || len(r.Held) != len(l.Questions) || len(r.Leaps) != len(l.Leaps) {
		l.prepare(r)
	}
	l.remember(r, features)
	largest := 0.0
	for i := range l.Questions {
		q := &l.Questions[i]
		length := 0.0
		if q.Moved {
			length = r.Mix[i%memories].scale(q.R) * q.moved(&r.Held[i], &r.Base, r.scratch)
		} else {
			length = q.White.length(r.Held[i].Z)
		}
		r.Share[i] = length / q.Threshold
		largest = max(largest, r.Share[i])
	}
	for i := range l.Leaps {
		share := l.Leaps[i].step(&r.Leaps[i], features)
		r.Share[len(l.Questions)+i] = share
		largest = max(largest, share)
	}
	return largest
}

// Leapt reports whether a leap is followed: it passed its threshold and stood for Sustained spectra,
// if only the last of them told.
func (r *Recall) Leapt() bool {
	for i := range r.Leaps {
		if r.Leaps[i].Held != nil {
			return true
		}
	}
	return false
}

// remember lets the memories take the spectrum in.
func (l *Limits) remember(r *Recall, features []float64) {
	moves, held := false, false // the run's own mean stands still while the run is away from it
	for i := range l.Questions {
		moves = moves || l.Questions[i].Moved
		held = held || l.Questions[i].Moved && r.Share[i] >= 1
	}
	for i := range l.Questions {
		l.Questions[i].take(&r.Held[i], &r.Base, features, r.scratch)
	}
	if !moves {
		return
	}
	base := 0.0 // the weight with which the run's own mean takes the spectrum in
	if !held {
		r.Base.Add(r.scratch) // as the last question of each group, which is one about moving, drew it in
		base = r.Base.Weight()
	}
	for i := range r.Mix {
		r.Mix[i].add(r.Held[memories+i].Weight(), base)
	}
}

// take lets the memory take the features of its group in, and leaves in drawn what it took: the features, drawn in
// towards usual, or towards the run's own mean, where they are further away than one stray may count.
func (q *Question) take(m, base *memory.Memory, features, drawn []float64) {
	f, drawn := features[q.From:q.To], drawn[q.From:q.To]
	if !q.Moved {
		c := q.cap(q.White.length(f))
		for i, v := range f {
			drawn[i] = c * v
		}
		m.Add(drawn)
		return
	}
	copy(drawn, f)
	mean := base.Z[q.From:q.To]
	if base.Age > 0 {
		for i, v := range mean {
			drawn[i] -= v
		}
		c := q.cap(q.White.length(drawn) / math.Sqrt(memory.Asymptotic(q.R)))
		for i, v := range mean {
			drawn[i] = v + c*drawn[i]
		}
	}
	m.Add(drawn)
}

// moved returns the length of the difference between the memory and the run's own mean.
func (q *Question) moved(m, base *memory.Memory, scratch []float64) float64 {
	scratch = scratch[:len(m.Z)]
	for i, v := range m.Z {
		scratch[i] = v - base.Z[q.From+i]
	}
	return q.White.length(scratch)
}

// cap returns the factor by which a spectrum this far away is drawn in. One spectrum moves the memory by at most
// half the threshold, so that a stray is never a change; and several that stay away pass it all the same.
func (q *Question) cap(length float64) float64 {
	most := q.mostCounts()
	if length <= most {
		return 1
	}
	return most / length
}

// mostCounts is the length up to which a spectrum counts in full.
func (q *Question) mostCounts() float64 { return q.Threshold * max(1.12/math.Sqrt(q.R), 1.5) }

func (l *Limits) prepare(r *Recall) {
	d := l.Len()
	r.scratch = make([]float64, d)
	if len(r.Base.Z) == d && len(r.Held) == len(l.Questions) && len(r.Leaps) == len(l.Leaps) && len(r.Share) == len(l.Questions)+len(l.Leaps) {
		return // read back from JSON: only the scratch was missing
	}
	r.Base = memory.NewMean(l.Base, d)
	r.Held, r.Leaps, r.Share = make([]memory.Memory, len(l.Questions)), make([]Leaping, len(l.Leaps)), make([]float64, len(l.Questions)+len(l.Leaps))
	for i, q := range l.Questions {
		if q.Moved {
			r.Held[i] = memory.NewMean(q.R, q.To-q.From)
		} else {
			r.Held[i] = memory.New(q.R, q.To-q.From)
		}
	}
}

// Reset forgets the run so far.
func (r *Recall) Reset() {
	r.Base.Reset()
	for i := range r.Held {
		r.Held[i].Reset()
	}
	for i := range r.Leaps {
		r.Leaps[i].reset()
	}
	clear(r.Share)
	r.Mix = [memories]mix{}
}

// CopyFrom makes r what o is, in memory of its own.
func (r *Recall) CopyFrom(o *Recall) {
	copyMemory(&r.Base, &o.Base)
	if len(r.Held) != len(o.Held) || len(r.Leaps) != len(o.Leaps) {
		r.Held, r.Leaps = make([]memory.Memory, len(o.Held)), make([]Leaping, len(o.Leaps))
	}
	for i := range o.Held {
		copyMemory(&r.Held[i], &o.Held[i])
	}
	for i := range o.Leaps {
		r.Leaps[i].copyFrom(&o.Leaps[i])
	}
	r.Share, r.Mix = append(r.Share[:0], o.Share...), o.Mix
}

func copyMemory(dst, src *memory.Memory) {
	z := append(dst.Z[:0], src.Z...)
	*dst = *src
	dst.Z = z
}
