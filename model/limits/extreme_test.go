package limits

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"gonum.org/v1/gonum/floats/scalar"
	"gonum.org/v1/gonum/stat/distuv"
)

// TestFitGumbel recovers a known distribution, and matches L-moments worked out by hand: for 1, 2, 3, 6 the mean is 3
// and l₂ = 2b₁ − b₀ = 2·(0·1 + 1·2 + 2·3 + 3·6)/12 − 3 = 4/3.
func TestFitGumbel(t *testing.T) {
	g := fitGumbel([]float64{6, 1, 3, 2})
	if want := 4.0 / 3 / math.Ln2; !scalar.EqualWithinRel(g.sigma, want, 1e-12) {
		t.Errorf("fitGumbel(6 1 3 2) has scale %v, want %v", g.sigma, want)
	}
	if want := 3 - eulerGamma*g.sigma; !scalar.EqualWithinRel(g.mu, want, 1e-12) {
		t.Errorf("fitGumbel(6 1 3 2) has place %v, want %v", g.mu, want)
	}
	ref := distuv.GumbelRight{Mu: 30, Beta: 2.5, Src: rand.NewPCG(1, 2)}
	x := make([]float64, 20000)
	for i := range x {
		x[i] = ref.Rand()
	}
	g = fitGumbel(x)
	if !scalar.EqualWithinAbs(g.mu, 30, 0.1) || !scalar.EqualWithinAbs(g.sigma, 2.5, 0.06) {
		t.Errorf("fitGumbel of 20000 values = %+v, want place 30 and scale 2.5", g)
	}
	for _, q := range []float64{0.5, 0.01, 1e-4} {
		if got := 1 - (distuv.GumbelRight{Mu: g.mu, Beta: g.sigma}).CDF(g.quantile(q)); !scalar.EqualWithinRel(got, q, 1e-6) {
			t.Errorf("P(M > quantile(%v)) = %v", q, got)
		}
	}
}

// TestSimulatedIsStudent: with one feature, the square of a new value around the mean of n, over the held-out second
// moment, is t² with n−1 degrees of freedom times (1+1/n)(n−1)/n (Student 1908; any text on prediction intervals).
func TestSimulatedIsStudent(t *testing.T) {
	for _, n := range []int{4, 8, 20} {
		rng := rand.New(rand.NewPCG(uint64(n), 1))
		s := newSimulated(n, 1)
		st := distuv.StudentsT{Sigma: 1, Nu: float64(n - 1)}
		for _, q := range []float64{0.1, 0.01} {
			quantile := st.Quantile(1 - q/2)
			limit := quantile * quantile * (1 + 1/float64(n)) * float64(n-1) / float64(n)
			hits, all := 0, 200000
			for range all / 100 {
				s.draw(rng)
				w := s.into(s.w, s.m, -1)
				for range 100 {
					if w.squared([]float64{rng.NormFloat64() - s.mean[0]}) > limit {
						hits++
					}
				}
			}
			if got := float64(hits) / float64(all); !scalar.EqualWithinRel(got, q, 0.12) {
				t.Errorf("n = %d: a new square passes the Student limit with %v, want %v", n, got, q)
			}
		}
	}
}

// TestBeyondKnown: with many witnesses the tail is that of χ² (gonum's quantiles), above its own median.
func TestBeyondKnown(t *testing.T) {
	for _, d := range []int{1, 4, 7} {
		c := distuv.ChiSquared{K: float64(d)}
		for _, q := range []float64{0.1, 0.01, 0.002} {
			square, length := beyond(1000, 1000, d, q)
			if want := c.Quantile(1-q) - c.Quantile(0.5); !scalar.EqualWithinRel(square, want, 0.06) {
				t.Errorf("beyond(d=%d, q=%v) of squares = %.3f, want %.3f", d, q, square, want)
			}
			if want := math.Sqrt(c.Quantile(1-q)) - math.Sqrt(c.Quantile(0.5)); !scalar.EqualWithinRel(length, want, 0.06) {
				t.Errorf("beyond(d=%d, q=%v) of lengths = %.3f, want %.3f", d, q, length, want)
			}
		}
		// beyond what the sample can tell it goes on, and not too lightly
		far, _ := beyond(1000, 1000, d, 1e-5)
		if want := c.Quantile(1-1e-5) - c.Quantile(0.5); far < 0.95*want || far > 1.6*want {
			t.Errorf("beyond(d=%d, q=1e-5) = %.2f, want %.2f or somewhat more", d, far, want)
		}
	}
}

// Laws: rarer is further; fewer witnesses and fewer runs are further; the same again.
func TestBeyondLaws(t *testing.T) {
	for _, d := range []int{2, 7} {
		last := math.Inf(1)
		for _, n := range []int{4, 8, 20, 200} {
			near := 0.0
			for _, q := range []float64{0.3, 0.01, 0.002, 1e-5} {
				square, length := beyond(n, n, d, q)
				if square < near {
					t.Errorf("beyond(%d, d=%d, q=%v) = %v, less than at a larger q, %v", n, d, q, square, near)
				}
				near = square
				if q == 0.3 {
					if again, l := beyond(n, n, d, q); again != square || l != length {
						t.Errorf("beyond(%d, d=%d, q=%v) = %v, then %v", n, d, q, square, again)
					}
				}
			}
			square, _ := beyond(n, n, d, 0.005)
			if square >= last {
				t.Errorf("beyond(%d witnesses, d=%d) = %v, not less than with fewer, %v", n, d, square, last)
			}
			last = square
		}
	}
}

func TestTailGoesOn(t *testing.T) {
	// a Pareto tail with exponent 1/2: quantile q^(−1/2)
	x := make([]float64, 40000)
	for i := range x {
		x[i] = math.Pow((float64(i)+0.5)/float64(len(x)), -0.5)
	}
	slices.Sort(x)
	for _, q := range []float64{0.01, 1e-3, 1e-5} {
		if got, want := tail(x, q), math.Pow(q, -0.5); !scalar.EqualWithinRel(got, want, 0.1) {
			t.Errorf("tail(%v) = %v, want %v", q, got, want)
		}
	}
}

// TestWhite compares with gonum-free arithmetic: for Σ = [4 2; 2 5], Σ⁻¹ = [5 −2; −2 4]/16, worked out by hand.
func TestWhite(t *testing.T) {
	w := newWhite([]float64{4, 2, 2, 5}, 2)
	z := []float64{3, 1}
	if got, want := w.squared(z), (5*9-2*2*3+4*1)/16.0; !scalar.EqualWithinRel(got, want, 1e-12) {
		t.Errorf("squared(3, 1) = %v, want %v", got, want)
	}
	dst := make([]float64, 2)
	w.solve(dst, z)
	if !scalar.EqualWithinRel(dst[0], 13.0/16, 1e-12) || !scalar.EqualWithinRel(dst[1], -2.0/16, 1e-12) {
		t.Errorf("solve(3, 1) = %v, want [0.8125 -0.125]", dst)
	}
	// no factor: two features that are one
	w = newWhite([]float64{1, 1, 1, 1}, 2)
	if got := w.squared([]float64{1, 0}); math.IsNaN(got) || math.IsInf(got, 0) || got <= 0 {
		t.Errorf("squared with a singular Σ = %v, want a number above zero", got)
	}
	// a direction without spread
	w = newWhite([]float64{1, 0, 0, 0}, 2)
	if got := w.squared([]float64{0, 1}); math.IsNaN(got) || math.IsInf(got, 0) {
		t.Errorf("squared along a direction without spread = %v, want a number", got)
	}
}

func TestNth(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 6))
	for range 200 {
		x := make([]float64, 1+rng.IntN(40))
		for i := range x {
			x[i] = float64(rng.IntN(12)) // with ties
		}
		sorted := slices.Sorted(slices.Values(x))
		k := rng.IntN(len(x))
		if got := nth(x, k); got != sorted[k] || k+1 < len(x) && slices.Min(x[k+1:]) < got {
			t.Fatalf("nth(%d) of %v = %v with %v after it, want %v", k, sorted, got, x[k+1:], sorted[k])
		}
	}
}
