package memory

import (
	"encoding/json"
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/floats/scalar"
)

// TestHandbookEWMA follows the worked example of NIST/SEMATECH, e-Handbook of Statistical Methods, section 6.3.2.4
// (EWMA control charts): λ = 0.3, start at 50, s = 2.0539, limits at 3 s. The handbook prints two decimals.
func TestHandbookEWMA(t *testing.T) {
	x := []float64{52.0, 47.0, 53.0, 49.3, 50.1, 47.0, 51.0, 50.1, 51.2, 50.5, 49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1}
	want := []float64{50.60, 49.52, 50.56, 50.18, 50.16, 49.21, 49.75, 49.85, 50.26, 50.33, 50.11, 49.36, 49.52, 50.05, 49.38, 49.92, 50.73, 51.23, 51.94, 51.99}
	m := New(0.3, 1)
	half := 3 * 2.0539 * math.Sqrt(Asymptotic(0.3))
	if ucl := 50 + half; !scalar.EqualWithinAbs(ucl, 52.5884, 2e-4) {
		t.Errorf("upper limit = %.5f, want 52.5884", ucl)
	}
	if lcl := 50 - half; !scalar.EqualWithinAbs(lcl, 47.4115, 2e-4) {
		t.Errorf("lower limit = %.5f, want 47.4115", lcl)
	}
	for i, v := range x {
		m.Add([]float64{v - 50})
		if got := m.Z[0] + 50; !scalar.EqualWithinAbs(got, want[i], 0.00501) {
			t.Errorf("EWMA after %d values = %.4f, want %.2f", i+1, got, want[i])
		}
		if math.Abs(m.Z[0]) > half {
			t.Errorf("EWMA after %d values = %.4f: out of control, the handbook has none", i+1, m.Z[0]+50)
		}
	}
}

// length simulates one run length of the MEWMA chart with threshold h, zero-state, for independent normal vectors whose
// mean is delta away. It depends on the mean only through its length (Lowry et al. 1992), so one coordinate carries it.
func length(rng *rand.Rand, p int, r, h, delta float64, variance func(i int) float64) int {
	m, x := New(r, p), make([]float64, p)
	for i := 1; ; i++ {
		for c := range x {
			x[c] = rng.NormFloat64()
		}
		x[0] += delta
		m.Add(x)
		sum := 0.0
		for _, z := range m.Z {
			sum += z * z
		}
		if sum > h*variance(i) {
			return i
		}
	}
}

// TestAverageRunLengths checks run lengths against published ones. Sources:
//
//   - Lowry, Woodall, Champ, Rigdon, A multivariate exponentially weighted moving average control chart, Technometrics
//     34, 1992, and Prabhu, Runger, Designing a multivariate EWMA control chart, Journal of Quality Technology 29, 1997,
//     for p = 2 and 4; the figures here are the exact ones, which the published Markov chain exceeds by up to 1.4 %
//   - Prabhu, Runger 1997, an optimal design: p = 10, r = 0.085, h = 25.42
//   - Rigdon, A double-integral equation for the average run length of a multivariate EWMA control chart, Statistics and
//     Probability Letters 24, 1995: p = 4, r = 0.1, h = 12.73 and p = 5, r = 0.1, h = 14.56
//
// The published ones are from memory; each was computed anew by quadrature or a long simulation. p = 10, h = 22.656 and p = 20 are only
// computed.
func TestAverageRunLengths(t *testing.T) {
	tests := []struct {
		p           int
		r, h, delta float64
		exact       bool // covariance
		want        float64
	}{
		{p: 2, r: 0.1, h: 8.64, delta: 0, want: 200.5},
		{p: 2, r: 0.1, h: 8.64, delta: 0, exact: true, want: 186.7}, // same h, other covariance: more false alarms
		{p: 2, r: 0.1, h: 8.634, delta: 1, want: 10.12},
		{p: 2, r: 0.1, h: 8.64, delta: 1, exact: true, want: 7.66},
		{p: 2, r: 0.05, h: 7.347, delta: 0.5, want: 26.57},
		{p: 2, r: 0.8, h: 10.582, delta: 3, want: 1.91},
		{p: 4, r: 0.1, h: 12.73, delta: 0, want: 200.5},
		{p: 4, r: 0.1, h: 12.723, delta: 1, want: 12.14},
		{p: 4, r: 0.105, h: 15.26, delta: 1, want: 14.6},
		{p: 4, r: 0.28, h: 16.49, delta: 2, want: 4.82},
		{p: 5, r: 0.1, h: 14.56, delta: 1, want: 12.95},
		{p: 10, r: 0.1, h: 22.656, delta: 1, want: 15.99},
		{p: 10, r: 0.085, h: 25.42, delta: 1, want: 19.27},
		{p: 20, r: 0.1, h: 36.984, delta: 2, want: 8.00},
	}
	for _, tt := range tests {
		t.Run(fmt.Sprintf("p=%d/r=%v/delta=%v/exact=%v", tt.p, tt.r, tt.delta, tt.exact), func(t *testing.T) {
			t.Parallel()
			variance := func(int) float64 { return Asymptotic(tt.r) }
			if tt.exact {
				variance = func(i int) float64 { return exactly(tt.r, i) }
			}
			runs := int(min(20000, 300000/tt.want))
			rng := rand.New(rand.NewPCG(uint64(tt.p), math.Float64bits(tt.r+tt.delta)))
			var sum, squares float64
			for range runs {
				l := float64(length(rng, tt.p, tt.r, tt.h, tt.delta, variance))
				sum += l
				squares += l * l
			}
			mean := sum / float64(runs)
			se := math.Sqrt((squares/float64(runs) - mean*mean) / float64(runs))
			if tol := 4*se + 0.005*tt.want; math.Abs(mean-tt.want) > tol {
				t.Errorf("average run length of %d = %.3f ± %.3f, want %v ± %.3f", runs, mean, se, tt.want, tol)
			}
		})
	}
}

// TestInflation compares the variance in a memory of autocorrelated values with the closed form; the figures at r = 0.1
// are its exact values.
func TestInflation(t *testing.T) {
	for _, tt := range []struct{ r, phi, want float64 }{
		{0.1, 0, 1}, {0.1, 0.2, 1.439}, {0.1, 0.5, 2.636}, {0.1, 0.9, 9.526}, {1, 0.9, 1},
	} {
		if got := inflation(tt.r, tt.phi); !scalar.EqualWithinRel(got, tt.want, 5e-4) {
			t.Errorf("inflation(%v, %v) = %.4f, want %.4f", tt.r, tt.phi, got, tt.want)
		}
		if tt.r == 1 {
			continue
		}
		rng := rand.New(rand.NewPCG(7, math.Float64bits(tt.phi)))
		m, x, sum := New(tt.r, 1), rng.NormFloat64(), 0.0
		const n = 200000
		for range n {
			x = tt.phi*x + math.Sqrt(1-tt.phi*tt.phi)*rng.NormFloat64()
			m.Add([]float64{x})
			sum += m.Z[0] * m.Z[0]
		}
		if got := sum / n / Asymptotic(tt.r); !scalar.EqualWithinRel(got, tt.want, 0.06) {
			t.Errorf("simulated inflation at r = %v, φ = %v = %.3f, want %.3f", tt.r, tt.phi, got, tt.want)
		}
	}
}

// The asymptotic variance is the sum of the squared weights r(1−r)^j that a memory gives to independent values; after i of them it is
// what exactly has.
func TestAsymptotic(t *testing.T) {
	for _, r := range []float64{0.05, 0.3, 1} {
		var sum float64
		for j := range 1000 {
			w := r * math.Pow(1-r, float64(j))
			sum += w * w
			if got := exactly(r, j+1); !scalar.EqualWithinRel(got, sum, 1e-12) {
				t.Errorf("variance after %d values at r = %v = %v, want %v", j+1, r, got, sum)
				break
			}
		}
		if got := Asymptotic(r); !scalar.EqualWithinRel(got, sum, 1e-12) {
			t.Errorf("Asymptotic(%v) = %v, want %v", r, got, sum)
		}
	}
}

// TestMeanStart: a memory that starts as a mean is the mean until it holds 1/r values, and forgets after that.
func TestMeanStart(t *testing.T) {
	m := NewMean(0.1, 2)
	var sum float64
	for i := 1; i <= 10; i++ {
		m.Add([]float64{float64(i * i), 3})
		sum += float64(i * i)
		if want := sum / float64(i); !scalar.EqualWithinRel(m.Z[0], want, 1e-12) || m.Z[1] != 3 {
			t.Errorf("after %d values Z = %v, want the mean %v and 3", i, m.Z, want)
		}
	}
	before := m.Z[0]
	m.Add([]float64{before + 1, 3})
	if got := m.Z[0] - before; !scalar.EqualWithinAbs(got, 0.1, 1e-12) {
		t.Errorf("the eleventh value moved the memory by %v of its distance, want r = 0.1", got)
	}
}

// Laws over families of r and p.
func TestLaws(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 4))
	for range 50 {
		r, p := 0.01+0.99*rng.Float64(), 1+rng.IntN(6)
		for _, m := range []Memory{New(r, p), NewMean(r, p)} {
			flipped, read := m, Memory{}
			flipped.Z = make([]float64, p)
			for i := range 40 {
				x, y := make([]float64, p), make([]float64, p)
				for c := range x {
					x[c] = rng.NormFloat64()
					y[c] = -2 * x[c]
				}
				m.Add(x)
				flipped.Add(y)
				if i == 20 {
					b, err := json.Marshal(m)
					if err != nil {
						t.Fatal(err)
					}
					if err := json.Unmarshal(b, &read); err != nil {
						t.Fatal(err)
					}
				} else if i > 20 {
					read.Add(x)
				}
			}
			for c := range p {
				if flipped.Z[c] != -2*m.Z[c] {
					t.Errorf("r %v: memory of −2x = %v, want −2 times %v", r, flipped.Z[c], m.Z[c])
				}
				if read.Z[c] != m.Z[c] || read.Age != m.Age {
					t.Errorf("r %v: a memory read back stands at %v, want %v", r, read.Z[c], m.Z[c])
				}
			}
			m.Reset()
			if m.Age != 0 || m.Z[0] != 0 {
				t.Errorf("after Reset: %+v, want zero", m)
			}
		}
	}
}

func TestNewPanics(t *testing.T) {
	for _, tt := range []struct {
		r float64
		p int
	}{{0, 1}, {1.1, 1}, {math.NaN(), 1}, {0.5, 0}} {
		func() {
			defer func() {
				if recover() == nil {
					t.Errorf("New(%v, %d) did not panic", tt.r, tt.p)
				}
			}()
			New(tt.r, tt.p)
		}()
	}
}

func BenchmarkAdd(b *testing.B) {
	m, x := New(0.1, 7), make([]float64, 7)
	b.ReportAllocs()
	for b.Loop() {
		m.Add(x)
	}
}

// exactly returns what Asymptotic does after i values from a start at zero: r/(2−r)·(1 − (1−r)^{2i}). exactly(r, 1) = r².
func exactly(r float64, i int) float64 {
	return Asymptotic(r) * (1 - math.Pow(1-r, 2*float64(i)))
}

// inflation returns by how much the variance in a memory is larger for values whose neighbours have correlation
// phi (first-order autoregression) than for independent ones:
//
//	(1 + (1−r)φ) / (1 − (1−r)φ)
//
// Exact for a memory that has run for long. At r = 0.1 and φ = 0.9 it is 9.5, which is why limits for independent
// spectra cry wolf on a line.
func inflation(r, phi float64) float64 {
	return (1 + (1-r)*phi) / (1 - (1-r)*phi)
}
