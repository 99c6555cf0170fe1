package limits

import (
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/floats/scalar"
)

// wandering is a stream of runs of n spectra with d features, noise all of them, and along one direction of all features a slow
// wander of variance 0.3 on top.
func wandering(rng *rand.Rand, runs, n, d int) *stream {
	s := &stream{d: d, placed: d, length: float64(n), tau: 1}
	for j := range runs {
		s.from = append(s.from, len(s.of))
		slow := 0.0
		for i := range n {
			slow = 0.97*slow + math.Sqrt(0.3*(1-0.97*0.97))*rng.NormFloat64()
			for range d {
				s.x = append(s.x, rng.NormFloat64()+slow)
			}
			s.of, s.starts = append(s.of, j), append(s.starts, i == 0)
		}
	}
	s.from = append(s.from, len(s.of))
	s.begins = s.from
	return s
}

// TestTurnFindsWhatWanders: of features that look independent from neighbour to neighbour, the turned first one is the direction
// that wanders, and the answers of the others are not larger than reckoned because of it.
func TestTurnFindsWhatWanders(t *testing.T) {
	const d = 4
	s := wandering(rand.New(rand.NewPCG(5, 5)), 12, 400, d)
	q := Leap{To: d}
	q.learn(s, 1e-4)
	along := make([]float64, d)
	all := make([]float64, d)
	for c := range all {
		all[c] = 1
	}
	q.apart(along, make([]float64, d), all)
	length := 0.0
	for _, v := range along {
		length += v * v
	}
	if share := along[0] * along[0] / length; share < 0.9 {
		t.Errorf("the first turned feature holds %.2f of the direction that wanders, want at least 0.9", share)
	}
	last := q.Widen[len(q.Widen)-d:]
	for c, v := range last {
		if c == 0 && v < 2 || c > 0 && v > 1.7 {
			t.Errorf("over the longest stretches answers of turned features were larger by %.2f; want the first above 2, the others below 1.7", last)
			break
		}
	}
}

// TestTurnedAnswersHaveTheirTail: the largest answer of a new run passes the median of such by as much as one of χ² would, wherever
// something wanders; without the turn it passes far more often.
func TestTurnedAnswersHaveTheirTail(t *testing.T) {
	const d, perRun = 4, 0.02
	passed := 0
	const sets, fresh = 6, 60
	for i := range uint64(sets) {
		rng := rand.New(rand.NewPCG(6, i))
		q := Leap{To: d}
		q.learn(wandering(rng, 10, 300, d), perRun)
		for range fresh {
			s := wandering(rng, 1, 300, d)
			var r Leaping
			above, seen := 0, false
			for j := range s.of {
				if above++; q.step(&r, s.row(j)) <= 1 {
					above = 0
				}
				seen = seen || above == Sustained
			}
			if seen {
				passed++
			}
		}
	}
	// 7.2 are expected; more than 15, or none, would happen once in 250 and in 1,300 times
	if passed > 15 || passed < 1 {
		t.Errorf("%d of %d new runs passed a threshold made for %.0f", passed, sets*fresh, perRun*sets*fresh)
	}
}

// TestBackIsTheTranspose: (W f)·y = f·(Wᵀ y), turned or not.
func TestBackIsTheTranspose(t *testing.T) {
	const d = 5
	rng := rand.New(rand.NewPCG(7, 7))
	for _, turn := range []bool{false, true} {
		q := Leap{To: d, White: make(white, d*(d+1)/2)}
		for i := range q.White {
			q.White[i] = rng.NormFloat64()
		}
		if turn {
			q.Turn = make([]float64, d*d)
			for i := range q.Turn {
				q.Turn[i] = rng.NormFloat64()
			}
		}
		f, y, z, b := make([]float64, d), make([]float64, d), make([]float64, d), make([]float64, d)
		for c := range d {
			f[c], y[c] = rng.NormFloat64(), rng.NormFloat64()
		}
		q.apart(z, make([]float64, d), f)
		q.back(b, y)
		var one, two float64
		for c := range d {
			one += z[c] * y[c]
			two += f[c] * b[c]
		}
		if !scalar.EqualWithinAbsOrRel(one, two, 1e-12, 1e-12) {
			t.Errorf("turned %v: (Wf)·y = %v, f·(Wᵀy) = %v", turn, one, two)
		}
	}
}

// TestAxesOfAKnownMatrix: [[2 1] [1 2]] has the eigenvalue 3 along (1 1)/√2 and 1 along (1 −1)/√2.
func TestAxesOfAKnownMatrix(t *testing.T) {
	a := axes([]float64{2, 1, 1, 2}, 2)
	for i, want := range []float64{1, 1, 1, -1} {
		row := i / 2 * 2
		if got := a[i] / a[row]; !scalar.EqualWithinAbs(got, want, 1e-12) {
			t.Errorf("axes of [[2 1] [1 2]] = %v", a)
		}
	}
}

// TestLeftOverTail: of runs whose offsets follow a Laplace distribution, about as many pass what was learned from n others as were
// to pass.
func TestLeftOverTail(t *testing.T) {
	laplace := func(rng *rand.Rand) float64 {
		v := rng.ExpFloat64()
		if rng.Uint64()&1 == 0 {
			v = -v
		}
		return v
	}
	for _, c := range []struct {
		n int
		p float64
	}{{8, 0.0003}, {10, 0.0003}, {20, 0.0003}, {40, 0.0003}} {
		rng := rand.New(rand.NewPCG(8, uint64(c.n)))
		const sets = 600_000
		passed := 0
		for range sets {
			square := 0.0
			for range c.n {
				v := laplace(rng)
				square += v * v / float64(c.n)
			}
			if math.Abs(laplace(rng)) > math.Sqrt(square)*laplaceReach(float64(c.n), c.p) {
				passed++
			}
		}
		if got := float64(passed) / sets / c.p; got < 0.4 || got > 1.6 {
			t.Errorf("%d runs: %.2f times as many pass as the share %v that was to", c.n, got, c.p)
		}
	}
}

// TestSettle: a feature that is twice as wide where new spectra are placed is looked at with twice the spread; one that is narrower
// stays as it was learned; and so does the answer to the others.
func TestSettle(t *testing.T) {
	const d, n = 3, 4000
	q := plainLeap(d, 0.5, 5)
	before := append([]float64(nil), q.Sigma...)
	rng := rand.New(rand.NewPCG(9, 9))
	var rows [][]float64
	var starts []bool
	y := make([]float64, d)
	for i := range n {
		row := make([]float64, d)
		for c, wide := range []float64{1, 2, 0.5} {
			y[c] = 0.5*y[c] + math.Sqrt(0.75)*wide*rng.NormFloat64()
			row[c] = y[c]
		}
		rows, starts = append(rows, row), append(starts, i%500 == 0)
	}
	q.settleTo(rows, starts)
	for c, want := range []float64{1, 2, 1} {
		if got := q.Sigma[c] / before[c]; !scalar.EqualWithinRel(got, want, 0.04) {
			t.Errorf("feature %d: the spread is %.3f times what was learned, want %v", c+1, got, want)
		}
	}
	q.settleTo(nil, nil)
	if got := q.Sigma[1] / before[1]; !scalar.EqualWithinRel(got, 2, 0.04) {
		t.Errorf("no spectra to settle on changed a spread to %v times", got)
	}
}
