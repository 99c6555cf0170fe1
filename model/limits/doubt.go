package limits

import "math"

// A doubt is what was taken off innovations that were larger than one spectrum may count: they may be those of a stray. It is
// decided with the spectrum that would make a change of it: the last of Sustained.
type doubt struct {
	At    int         `json:"at"`    // the first such spectrum; 0: none
	First []float64   `json:"first"` // its innovation, from the level before
	Off   [][]float64 `json:"off"`   // what was taken off, of this spectrum and of those after it
}

const (
	// mostAlone is the share of the threshold that a spectrum comes to by itself, at most: two that are alike, worth √2 of one, stay below it.
	mostAlone = 0.7
	wait      = Sustained - 1 // spectra after a large innovation before it is believed
)

// prepare makes room for d features; a doubt of a version that kept it otherwise is forgotten.
func (d *doubt) prepare(features int) {
	if len(d.Off) == wait+1 && len(d.First) == features {
		return
	}
	d.At, d.First, d.Off = 0, make([]float64, features), make([][]float64, wait+1)
	for i := range d.Off {
		d.Off[i] = make([]float64, features)
	}
}

func (d *doubt) copyFrom(o *doubt) {
	d.At, d.First = o.At, append(d.First[:0], o.First...)
	if len(d.Off) != len(o.Off) {
		d.Off = make([][]float64, len(o.Off))
	}
	for i, off := range o.Off {
		d.Off[i] = append(d.Off[i][:0], off...)
	}
}

// draw draws the newest innovations in towards the level where they are larger than one spectrum may count.
func (q *Leap) draw(r *Leaping) {
	if r.N < leastBefore {
		return
	}
	sum := 0.0
	for c, v := range r.v {
		sum += (v - r.Level[c]) * (v - r.Level[c])
	}
	if !(sum > q.Stray) {
		return
	}
	f := math.Sqrt(q.Stray / sum)
	off := func(c int) float64 { return (1 - f) * (r.v[c] - r.Level[c]) }
	if r.Held == nil {
		r.doubt(off)
	}
	for c := range r.v {
		r.v[c] -= off(c)
	}
}

// doubt notes what is taken off the newest innovations.
func (r *Leaping) doubt(off func(int) float64) {
	d := &r.Doubt
	if d.At == 0 {
		d.At = r.Seen
		for i := range d.Off {
			clear(d.Off[i])
		}
		for c, l := range r.Level {
			d.First[c] = r.v[c] - l
		}
	}
	same := 0.0
	for c := range r.v {
		d.Off[r.Seen-d.At][c] = off(c)
		same += off(c) * d.First[c]
	}
	if same < 0 {
		d.At = 0 // as far back as it came: a stray
	}
}

// decide gives back what was taken off where all spectra since stand where the first says, rather than at the level before, and
// reports that; else it was a stray, or a few, and is forgotten.
func (q *Leap) decide(r *Leaping) bool {
	d := &r.Doubt
	if d.At == 0 || r.Seen < d.At+wait {
		return false
	}
	var now, before, all float64
	for c, g := range r.gain {
		by, level := d.First[c]/g.a, r.Level[c]/g.b
		w := g.aa * (1 - q.Phi[c]*q.Phi[c]) // one over the variance of a spectrum around its level
		now += w * (r.y[c] - level) * by
		before += w * (r.Y[c] - level) * by
		all += w * by * by
	}
	stood := min(now, before) > all/2
	if stood {
		q.believe(r)
	}
	d.At = 0
	return stood
}

// believe gives back what was taken off: sums and marks are as if it never had been.
func (q *Leap) believe(r *Leaping) {
	d := &r.Doubt
	for c, g := range r.gain {
		whole := 0.0
		for i, off := range d.Off {
			whole += off[c]
			for m := range r.Marks {
				if m := &r.Marks[m]; m.At == d.At+i {
					m.P[c] += g.a*off[c] - g.b*whole
				}
			}
		}
		r.Sum[c] += whole
	}
}
