package limits

import (
	"math"
	"slices"
)

// scale learns centre and spread of the features, every run weighing the same. Scores are centred at zero, where the
// reference has its mean, and so is what is left over; so their spread is that of new runs around it.
func (l *Limits) scale(tracks []Track) {
	k := len(tracks[0].Points[0].T)
	d := k + 1 + l.Parts
	l.Center, l.Scale, l.Clip = make([]float64, d), make([]float64, d), 8
	var qs []float64
	for _, t := range tracks {
		for _, p := range t.Points {
			qs = append(qs, p.Q)
		}
	}
	slices.Sort(qs)
	l.FloorQ = max(1e-6*qs[len(qs)/2], math.SmallestNonzeroFloat64)
	n := float64(len(tracks))
	for _, t := range tracks {
		w := 1 / (n * float64(len(t.Points)))
		for _, p := range t.Points {
			l.Center[k] += w * math.Log(max(p.Q, l.FloorQ))
		}
	}
	for _, t := range tracks {
		w := 1 / (n * float64(len(t.Points)))
		for _, p := range t.Points {
			for i, v := range p.T {
				l.Scale[i] += w * v * v
			}
			for i, v := range p.Parts {
				l.Scale[k+1+i] += w * v * v
			}
			v := math.Log(max(p.Q, l.FloorQ)) - l.Center[k]
			l.Scale[k] += w * v * v
		}
	}
	for i, v := range l.Scale {
		if l.Scale[i] = math.Sqrt(v); !(l.Scale[i] > 0) {
			l.Scale[i] = 1 // a direction in which nothing ever moved
		}
	}
}
