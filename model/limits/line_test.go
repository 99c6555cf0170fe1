package limits

import (
	"fmt"
	"math"
	"math/rand/v2"
	"time"
)

// A line makes tracks of good runs in score space: scores of variance 1 within a run that follow a first-order
// autoregression around an offset of the run, and a Q residual of χ² with 200 degrees of freedom.
type line struct {
	runs, length, k int
	phi, between    float64
}

var start = time.Date(2026, 3, 2, 6, 0, 0, 0, time.UTC)

const every = 30 * time.Second

func (l line) tracks(seed uint64) []Track {
	rng := rand.New(rand.NewPCG(seed, 1))
	out := make([]Track, l.runs)
	for i := range out {
		out[i] = l.track(rng, i)
	}
	return out
}

func (l line) track(rng *rand.Rand, i int) Track {
	t := Track{Run: fmt.Sprintf("run %02d", i)}
	offset, w := make([]float64, l.k), make([]float64, l.k)
	for c := range w {
		offset[c], w[c] = l.between*rng.NormFloat64(), rng.NormFloat64()
	}
	for j := range l.length {
		p := Point{Time: start.Add(time.Duration(i)*24*time.Hour + time.Duration(j)*every), T: make([]float64, l.k)}
		for c := range w {
			if j > 0 {
				w[c] = l.phi*w[c] + math.Sqrt(1-l.phi*l.phi)*rng.NormFloat64()
			}
			p.T[c] = offset[c] + w[c]
			p.T2 += p.T[c] * p.T[c] / (1 + l.between*l.between)
		}
		p.Q = 200 + 20*rng.NormFloat64()
		t.Points = append(t.Points, p)
	}
	return t
}
