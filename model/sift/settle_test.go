package sift

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"asusual/model/finding"
	"asusual/model/holdout"

	"gonum.org/v1/gonum/mat"
)

func TestLead(t *testing.T) {
	for _, c := range []struct {
		rows string // o: left out
		want int
	}{
		{"", 0}, {"kkkk", 0}, {"okkkk", 1}, {"ookookkkko", 5}, {"kookkkk", 3}, {"koookkk", 4}, {"okokokokok", 3}, {"kokkooo", 0}, {"oookkkooo", 3}, {"oooo", 4},
	} {
		keep := make([]bool, len(c.rows))
		for i, r := range c.rows {
			keep[i] = r == 'k'
		}
		if got := lead(keep); got != c.want {
			t.Errorf("lead(%s) = %d, want %d", c.rows, got, c.want)
		}
	}
}

// Where a start-up settles, by hand: A·exp(−i/τ) is half a spread at τ ln 2A, and a step settles at its end.
func TestSettled(t *testing.T) {
	const n = 200
	steep := func(height, tau float64) func(i float64) float64 {
		return func(i float64) float64 { return height * math.Exp(-i/tau) }
	}
	step := func(height, end float64) func(i float64) float64 {
		return func(i float64) float64 {
			if i < end {
				return height
			}
			return 0
		}
	}
	for _, c := range []struct {
		name          string
		y             func(i float64) float64
		begun         int
		from, to      int
		noisy, noisy2 int // bounds with normal noise of one spread
	}{
		{"dying away, τ 10", steep(50, 10), 5, 47, 47, 40, 58},
		{"dying away, τ 20", steep(30, 20), 5, 82, 82, 65, 100},
		{"a step from far", step(1000, 30), 30, 30, 30, 30, 30},
		{"a step from near", step(12, 30), 25, 30, 30, 30, 31},
		{"one stray", step(500, 1), 1, 1, 1, 1, 1},
		{"too long", steep(50, 60), 5, 120, 120, 120, 120},
	} {
		y := make([]float64, n)
		for i := range y {
			y[i] = c.y(float64(i))
		}
		if got := settled(y, c.begun, 120); got < c.from || got > c.to {
			t.Errorf("settled(%s) = %d, want %d", c.name, got, c.from)
		}
		rng := rand.New(rand.NewPCG(8, 1))
		for range 50 {
			noise := make([]float64, n)
			for i := range y {
				noise[i] = y[i] + rng.NormFloat64()
			}
			if got := settled(noise, c.begun, 120); got < c.noisy || got > c.noisy2 {
				t.Errorf("settled(%s, with noise) = %d, want %d to %d", c.name, got, c.noisy, c.noisy2)
			}
		}
	}
}

// Leaving a row out by formula is what leaving it out and learning again gives: T² by the update of an inverse; the residual of a
// regression on the scores by its leverage (Allen 1974, The relationship between variable selection and data augmentation
// and a method for prediction, Technometrics 16, 125–127).
func TestLeaveOut(t *testing.T) {
	const n, m = 14, 3
	rng := rand.New(rand.NewPCG(9, 1))
	x, y := make([]float64, n*m), make([]float64, n)
	for i := range x {
		x[i] = rng.NormFloat64() * float64(1+i%m)
	}
	for i := range y {
		y[i] = rng.NormFloat64()
	}
	all := even(n, n)
	t2 := whiten(mat.NewDense(n, m, append([]float64(nil), x...)), all)
	q := make([]float64, n)
	for i := range q {
		q[i] = math.Pow(y[i]-regressed(x, y, m, all, i), 2)
	}
	leaveOut(t2, q, all)
	for i := range n {
		var others []int
		for _, o := range all {
			if o != i {
				others = append(others, o)
			}
		}
		if want := cloudOf(x, m, others).distance2(x[i*m:(i+1)*m], make([]float64, m)); !(math.Abs(t2[i]-want) <= 1e-9*want) {
			t.Errorf("row %d: T² left out = %g, want %g", i+1, t2[i], want)
		}
		if want := math.Pow(y[i]-regressed(x, y, m, others, i), 2); !(math.Abs(q[i]-want) <= 1e-9*(1+want)) {
			t.Errorf("row %d: squared residual left out = %g, want %g", i+1, q[i], want)
		}
	}
}

// regressed returns what a least-squares fit of y on 1 and x over the rows gives at row i.
func regressed(x, y []float64, m int, rows []int, i int) float64 {
	a, b := mat.NewDense(len(rows), m+1, nil), mat.NewVecDense(len(rows), nil)
	for k, r := range rows {
		a.SetRow(k, append([]float64{1}, x[r*m:(r+1)*m]...))
		b.SetVec(k, y[r])
	}
	var c mat.VecDense
	if err := c.SolveVec(a, b); err != nil {
		panic(err)
	}
	return mat.Dot(&c, mat.NewVecDense(m+1, append([]float64{1}, x[i*m:(i+1)*m]...)))
}

// The fence stays where it is on a normal population, goes out with a long tail, and does not reach over a gap or into a run
// that lies beyond as a whole.
func TestFence(t *testing.T) {
	const n = 1000
	rng := rand.New(rand.NewPCG(10, 1))
	draw := func(one func() float64) []float64 {
		z := make([]float64, n)
		for i := range z {
			z[i] = one()
		}
		return z
	}
	halves := []holdout.Range{{From: 0, To: n / 2}, {From: n / 2, To: n}}
	normal := draw(rng.NormFloat64)
	if got := fence(normal, halves); got != apart {
		t.Errorf("fence of normal values = %g, want %d", got, apart)
	}
	long := draw(func() float64 { return 2 * rng.ExpFloat64() })
	if got := fence(long, halves); got < 12 || got > 24 { // e⁻⁷ of a quarter: 2 (7 + ln 4) = 16.8
		t.Errorf("fence of exponential values of scale 2 = %.1f, want about 16.8", got)
	}
	gap := draw(rng.NormFloat64)
	for i := range n / 4 {
		gap[4*i] = 9 + rng.NormFloat64()
	}
	if got := fence(gap, halves); got != apart {
		t.Errorf("fence of normal values with a quarter around 9 = %g, want %d", got, apart)
	}
	beyond := draw(func() float64 { return 2 * rng.ExpFloat64() })
	for i := n / 2; i < n; i++ {
		beyond[i] += 6
	}
	if got := fence(beyond, halves); got > 24 {
		t.Errorf("fence of one run beside one that lies beyond = %.1f, want at most 24", got)
	}
}

// Of sets of normal runs, one in about a hundred has a group that is taken to lie apart, in as many ways as the runs can differ
// in or in few; three of twelve that lie together do so always, though none of them by itself.
func TestGroupsOfRuns(t *testing.T) {
	const sets = 400
	rng := rand.New(rand.NewPCG(11, 1))
	for _, c := range []struct{ r, ways int }{{8, 10}, {12, 10}, {12, 1}, {20, 2}} {
		const m = 10
		cut := cutsFor(c.r, m)
		x := mat.NewDense(c.r, m, nil)
		draw := func() {
			for i := range c.r {
				for j := range m {
					if x.Set(i, j, 0); j < c.ways {
						x.Set(i, j, 5*rng.NormFloat64())
					}
				}
			}
		}
		passed, found := 0, 0
		for range sets {
			draw()
			_, least := agreeing(x, outlyingness(x, 1), 1)
			for i, v := range least {
				if v > cut.group[i] {
					passed++
					break
				}
			}
			if c.r != 12 || c.ways != 10 {
				continue
			}
			for i := range 3 {
				x.Set(i, 0, 50+x.At(i, 0))
			}
			if out := cut.apart(x, make([]float64, c.r)); out[0] && out[1] && out[2] && count(out) == 3 {
				found++
			}
		}
		t.Logf("%d runs that differ in %d ways: a group in %d of %d sets", c.r, c.ways, passed, sets)
		if passed > sets/40 {
			t.Errorf("%d runs that differ in %d ways: a group lies apart in %d of %d sets, want about %d", c.r, c.ways, passed, sets, sets/100)
		}
		if c.r == 12 && c.ways == 10 && found < sets*9/10 {
			t.Errorf("three of 12 runs 10 spreads away are found in %d of %d sets, want nine tenths", found, sets)
		}
	}
}

// TestTooFewAlike: where next to nothing agrees with anything all is kept, and what is said has both numbers.
func TestTooFewAlike(t *testing.T) {
	const n = 300
	s, core := &Sifted{Keep: make([]bool, n), Why: make([]finding.Finding, n)}, make([]bool, n)
	for i := range 7 {
		core[i*n/7] = true
	}
	s.settle(mat.NewDense(n, 20, nil), []holdout.Range{{Name: "a", From: 0, To: n}}, core, make([]bool, 1), rand.New(rand.NewPCG(1, 1)), nil)
	const want = "too few of the known-good spectra are alike, 7 of 300, to tell which of them do not belong: all were kept"
	if s.Kept() != n || len(s.Findings) != 1 || !strings.HasPrefix(s.Findings[0].String(), want) {
		t.Errorf("of %d spectra that agree 7: %d are kept, and %v is said; want all, and %q", n, s.Kept(), s.Findings, want)
	}
}
