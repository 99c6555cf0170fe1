package limits

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/floats/scalar"
)

// plainLeap is one that looks at d independent features with correlation phi of neighbours.
func plainLeap(d int, phi, threshold float64) *Leap {
	q := &Leap{To: d, White: make(white, d*(d+1)/2), Inflate: []float64{1, 1, 1, 1, 1, 1}, Base: 500, Stray: math.Inf(1), Threshold: threshold}
	for c := range d {
		q.White[c*(c+1)/2+c] = 1
		q.Phi, q.Sigma = append(q.Phi, phi), append(q.Sigma, math.Sqrt(1-phi*phi))
	}
	return q
}

// TestLeapWrittenOut compares the answers with the two means written out: for φ = 0, over n spectra from each moment
// remembered on and N before it, the answer is (x̄ₙ − x̄_N)² / (1/n + 1/N).
func TestLeapWrittenOut(t *testing.T) {
	q := plainLeap(1, 0, 1e6)
	rng := rand.New(rand.NewPCG(1, 1))
	var r Leaping
	var x []float64
	mean := func(v []float64) float64 {
		sum := 0.0
		for _, u := range v {
			sum += u / float64(len(v))
		}
		return sum
	}
	for i := range 120 {
		x = append(x, rng.NormFloat64())
		q.step(&r, x[i:])
		got, at := q.largest(&r, nil)
		if got == 0 {
			continue
		}
		j := r.Marks[at].At - 1
		n, before := float64(len(x)-j), float64(j-1) // the first spectrum has no innovation
		m := mean(x[j:]) - mean(x[1:j])
		if want := m * m / (1/n + 1/before); !scalar.EqualWithinAbsOrRel(got, want, 1e-9, 1e-9) {
			t.Fatalf("after %d spectra, from %d on: %v, written out %v", i+1, j+1, got, want)
		}
	}
}

// TestLeapIsChiSquared: of good spectra the answer to any one stretch is χ² with d degrees of freedom, whatever the correlation:
// its mean is d.
func TestLeapIsChiSquared(t *testing.T) {
	for _, phi := range []float64{0, 0.5, 0.9} {
		const d = 3
		q := plainLeap(d, phi, 1e6)
		rng := rand.New(rand.NewPCG(2, 2))
		sum, n := make([]float64, 6), make([]float64, 6)
		for range 150 {
			var r Leaping
			y := make([]float64, d)
			for c := range y {
				y[c] = rng.NormFloat64()
			}
			for range 150 {
				for c := range y {
					y[c] = phi*y[c] + math.Sqrt(1-phi*phi)*rng.NormFloat64()
				}
				q.step(&r, y)
				q.largest(&r, func(o, _ int, v float64) { sum[o] += v; n[o] += 1.0 / d })
			}
		}
		for o := range sum {
			if n[o] > 0 && !scalar.EqualWithinRel(sum[o]/n[o], d, 0.15) {
				t.Errorf("φ %v, octave %d: mean answer %.2f, want %d", phi, o, sum[o]/n[o], d)
			}
		}
	}
}

// follow feeds a level and noise to the leap and returns the shares.
func (q *Leap) follow(r *Leaping, rng *rand.Rand, phi float64, levels []float64) (shares []float64) {
	d := q.To - q.From
	y, w := make([]float64, d), make([]float64, d)
	for _, level := range levels {
		for c := range w {
			w[c] = phi*w[c] + math.Sqrt(1-phi*phi)*rng.NormFloat64()
			y[c] = w[c]
		}
		y[0] += level
		shares = append(shares, q.step(r, y))
	}
	return shares
}

func levels(parts ...float64) (out []float64) {
	for i := 0; i < len(parts); i += 2 {
		for range int(parts[i]) {
			out = append(out, parts[i+1])
		}
	}
	return out
}

// TestLeapIsSeenAndFollowed: a step is seen, stays seen for as long as it stands, and is over soon after it is; a few strays are
// no leap, whatever their size.
func TestLeapIsSeenAndFollowed(t *testing.T) {
	for _, c := range []struct {
		phi, size float64
		within    int
	}{{0, 1, 90}, {0, 3, 15}, {0.8, 2, 200}, {0.95, 5, 8}} {
		q := plainLeap(3, c.phi, 5.5)
		q.Stray = 26
		rng := rand.New(rand.NewPCG(3, 3))
		var r Leaping
		s := q.follow(&r, rng, c.phi, levels(300, 0, 400, c.size, 600, 0))
		seen, above := -1, 0
		for i, v := range s {
			if i < 300 && v > 1 {
				t.Errorf("φ %v: passed at %d, before anything changed", c.phi, i)
			}
			if above++; v <= 1 {
				above = 0
			}
			if seen < 0 && i >= 300 && above == Sustained {
				seen = i - 300
			}
			if seen >= 0 && i > 300+seen && i < 690 && v < 2*over {
				t.Errorf("φ %v, step %v: not seen at %d, while it stands", c.phi, c.size, i)
				break
			}
		}
		if seen < 0 || seen > c.within {
			t.Errorf("φ %v, step %v: seen after %d spectra, want at most %d", c.phi, c.size, seen+1, c.within)
		}
		if last := s[len(s)-1]; last > 1 {
			t.Errorf("φ %v, step %v: 600 spectra after it is over, the answer is %.2f of the threshold", c.phi, c.size, last)
		}
		for _, stray := range []float64{8, 100, 1e6} {
			for n := 1; n <= 2; n++ {
				var r Leaping
				lasts := 0
				for i, v := range q.follow(&r, rand.New(rand.NewPCG(4, 4)), c.phi, levels(200, 0, float64(n), stray, 200, 0)) {
					if lasts++; v <= 1 {
						lasts = 0
					}
					if lasts == Sustained {
						t.Errorf("φ %v: %d strays of %v are a leap at %d", c.phi, n, stray, i)
					}
				}
			}
		}
	}
}

// TestMixed: runs that are alike leave the threshold where a χ² tail has it, mid + 2 ln(1/(2p)); unevenness and rarity move it out.
func TestMixed(t *testing.T) {
	for _, p := range []float64{0.1, 1e-3, 1e-6} {
		if got, want := mixed(30, 0, p), 30+2*math.Log(0.5/p); !scalar.EqualWithinRel(got, want, 1e-6) {
			t.Errorf("mixed(30, 0, %v) = %v, want %v", p, got, want)
		}
		last := 0.0
		for _, k := range []float64{0, 0.02, 0.05, 0.1, 0.3} {
			got := mixed(30, k, p)
			if got < last {
				t.Errorf("mixed(30, %v, %v) = %v, less than for runs more alike, %v", k, p, got, last)
			}
			last = got
		}
	}
	if got := spreadOf([]float64{5, 5, 5, 5}, []float64{5, 5, 5, 5}, 3); got != 0 {
		t.Errorf("spread of runs equally loud = %v, want 0", got)
	}
}

// TestOldQuestions: limits of files of versions 1 and 2 also ask how far a memory has moved from the run's own mean, and know no
// leaps; they still see what moves within a run.
func TestOldQuestions(t *testing.T) {
	l := learn(t, small.tracks(5), Options{})
	l.Leaps = nil
	var old []Question
	for g := range 2 {
		some := l.Questions[g*memories : (g+1)*memories]
		old = append(old, some...)
		for _, q := range some {
			q.Moved, q.Threshold = true, 8
			old = append(old, q)
		}
	}
	l.Questions = old
	if err := l.Validate(small.k); err != nil {
		t.Fatal(err)
	}
	m, f := l.Memories(), make([]float64, l.Len())
	rng := rand.New(rand.NewPCG(9, 9))
	worst := 0.0
	for i := range 400 {
		for c := range f {
			f[c] = 0.3 * rng.NormFloat64()
		}
		if i == 200 {
			worst = 0
		}
		if i >= 200 {
			f[0] += 3
		}
		worst = max(worst, m.Add(f))
		if i == 199 && worst > 1 {
			t.Errorf("before anything moves, the answer is %.2f of the threshold", worst)
		}
	}
	if worst <= 1 {
		t.Errorf("a move by 3 answers %.2f of the threshold, want it passed", worst)
	}
}

// TestBelievedIsAsUndoubted: once a large step is believed, sums and marks are as if nothing had ever been taken off its innovations,
// however young the run.
func TestBelievedIsAsUndoubted(t *testing.T) {
	for _, c := range []struct {
		phi  float64
		from int
	}{{0, 100}, {0.5, 100}, {0.95, 100}, {0, 9}, {0.5, 9}, {0.95, 9}} {
		const d = 3
		phi, from := c.phi, c.from
		wary, plain := plainLeap(d, phi, 1e6), plainLeap(d, phi, 1e6)
		wary.Stray = 26
		var a, b Leaping
		rng := rand.New(rand.NewPCG(5, 5))
		x, y := make([]float64, d), make([]float64, d)
		for i := range from + Sustained {
			for c := range x {
				x[c] = phi*x[c] + math.Sqrt(1-phi*phi)*rng.NormFloat64()
				if y[c] = x[c]; i >= from {
					y[c] += 40
				}
			}
			wary.step(&a, y)
			plain.step(&b, y)
			if in := i >= from && i < from+wait; in != (a.Doubt.At > 0) || in && slices.Equal(a.Sum, b.Sum) {
				t.Fatalf("φ %v, spectrum %d: in doubt since %d, want so from %d on for %d spectra", phi, i+1, a.Doubt.At, from+1, wait)
			}
		}
		if !a.stood {
			t.Fatalf("φ %v: a step that stands is not believed", phi)
		}
		near := func(what string, got, want []float64) {
			if !floats.EqualApprox(got, want, 1e-9) {
				t.Errorf("φ %v: %s = %v, without a doubt %v", phi, what, got, want)
			}
		}
		near("sum of innovations", a.Sum, b.Sum)
		for i, m := range a.Marks {
			near(fmt.Sprintf("mark %d", i), m.P, b.Marks[i].P)
		}
	}
}
