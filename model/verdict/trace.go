package verdict

import (
	"math"
	"time"

	"asusual/model/limits"
)

// A Trace remembers the features of the run so far in bounded memory: the last spectra singly, those before in means
// of two, four, eight …, so that what lies n spectra back is known to about n/16. Its zero value is empty.
type Trace struct {
	Levels []level `json:"levels,omitempty"` // level i holds means of 2^i spectra, oldest first
}

type level struct {
	At []time.Time `json:"at"` // time of the first spectrum in each mean
	F  []float64   `json:"f"`  // the means, d values each
}

const (
	perLevel  = 16
	maxLevels = 14 // 16·(2¹⁴−1) spectra, 262,128; older ones are forgotten
)

// Add takes the next spectrum.
func (t *Trace) Add(f []float64, at time.Time) { t.push(0, f, at) }

func (t *Trace) push(i int, f []float64, at time.Time) {
	d := len(f)
	if i == len(t.Levels) {
		if i == maxLevels {
			return
		}
		t.Levels = append(t.Levels, level{At: make([]time.Time, 0, perLevel), F: make([]float64, 0, perLevel*d)})
	}
	l := &t.Levels[i]
	if cap(l.F) < perLevel*d { // read back from JSON
		l.F = append(make([]float64, 0, perLevel*d), l.F...)
		l.At = append(make([]time.Time, 0, perLevel), l.At...)
	}
	if len(l.At) == perLevel {
		for c := range d {
			l.F[c] = (l.F[c] + l.F[d+c]) / 2
		}
		t.push(i+1, l.F[:d], l.At[0])
		l = &t.Levels[i]
		l.F = l.F[:copy(l.F, l.F[2*d:])]
		l.At = l.At[:copy(l.At, l.At[2:])]
	}
	l.F, l.At = append(l.F, f...), append(l.At, at)
}

// Reset forgets all.
func (t *Trace) Reset() {
	for i := range t.Levels {
		t.Levels[i].F, t.Levels[i].At = t.Levels[i].F[:0], t.Levels[i].At[:0]
	}
}

// ChangedSince estimates when the change that the memories now show began. The run so far is looked at along the
// direction of the change; of all moments, that one is taken from which on a step or a steady drift away from the mean
// before fits best, by least squares with the means weighted by their spectra (for the step: the likelihood estimate of
// Hinkley, Inference about the change-point in a sequence of random variables, Biometrika 57, 1970). Where no moment
// fits better than none by what two more numbers cost (2 ln n; Schwarz, Estimating the dimension of a model, Annals of
// Statistics 6, 1978), the run was off from its start.
func (t *Trace) ChangedSince(l *limits.Limits, r *limits.Recall) time.Time {
	if back, ok := l.Began(r); ok && back < perLevel && len(t.Levels) > 0 {
		if at := t.Levels[0].At; back < len(at) {
			return at[len(at)-1-back] // a leap that was seen at once is known to the spectrum
		}
	}
	dir, spread := l.Direction(r)
	y, w, at := t.along(dir)
	if len(y) == 0 {
		return time.Time{}
	}
	all, _ := mean(y, w)
	since, noise := 0, math.Inf(1)
	for i := 1; i < len(y); i++ {
		noise = min(noise, step(y, w, i), ramp(y, w, i))
	}
	noise = max(noise/float64(max(len(y)-3, 1)), 1e-12)
	best := squares(y, w, all)/noise + unusual(all/spread) - 2*math.Log(float64(len(y)))
	for i := 1; i < len(y); i++ {
		before, _ := mean(y[:i], w[:i])
		if v := min(step(y, w, i), ramp(y, w, i))/noise + unusual(before/spread); v < best {
			best, since = v, i
		}
	}
	return at[since]
}

// unusual returns what it costs to believe that a run was z usual distances away before it changed: z² as for a normal
// one, but no more than a run that begins wrong does, which is rare (chosen: one in 400, −2 ln of it) but happens.
func unusual(z float64) float64 { return min(z*z, 12) }

// along returns the means along a direction, their weights and first times, oldest first.
func (t *Trace) along(dir []float64) (y, w []float64, at []time.Time) {
	d := len(dir)
	for i := len(t.Levels) - 1; i >= 0; i-- {
		l := t.Levels[i]
		for j, when := range l.At {
			sum := 0.0
			for c, v := range dir {
				sum += v * l.F[j*d+c]
			}
			y, w, at = append(y, sum), append(w, math.Ldexp(1, i)), append(at, when)
		}
	}
	return y, w, at
}

func mean(y, w []float64) (m, n float64) {
	for i, v := range y {
		m += w[i] * v
		n += w[i]
	}
	return m / n, n
}

func squares(y, w []float64, m float64) float64 {
	sum := 0.0
	for i, v := range y {
		sum += w[i] * (v - m) * (v - m)
	}
	return sum
}

// step returns what is left over where the mean changes at i.
func step(y, w []float64, i int) float64 {
	a, _ := mean(y[:i], w[:i])
	b, _ := mean(y[i:], w[i:])
	return squares(y[:i], w[:i], a) + squares(y[i:], w[i:], b)
}

// ramp returns what is left over where a steady drift sets in at i.
func ramp(y, w []float64, i int) float64 {
	var n, sx, sy, sxx, sxy, syy, x float64
	for j, v := range y {
		mid := 0.0
		if j >= i {
			mid = x + w[j]/2
			x += w[j]
		}
		n += w[j]
		sx += w[j] * mid
		sy += w[j] * v
		sxx += w[j] * mid * mid
		sxy += w[j] * mid * v
		syy += w[j] * v * v
	}
	xx, xy, yy := sxx-sx*sx/n, sxy-sx*sy/n, syy-sy*sy/n
	if !(xx > 0) {
		return yy
	}
	return max(yy-xy*xy/xx, 0)
}
