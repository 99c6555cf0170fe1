package limits

import (
	"math"
	"math/rand/v2"
	"slices"
)

// eulerGamma is the mean of the standard Gumbel distribution.
const eulerGamma = 0.57721566490153286

// A gumbel is the distribution of the largest of many values whose tail falls off exponentially or faster (Coles, An
// Introduction to Statistical Modeling of Extreme Values, Springer 2001, section 3.1):
//
//	P(M ≤ x) = exp(−exp(−(x−μ)/σ))
type gumbel struct{ mu, sigma float64 }

// fitGumbel fits by L-moments (Hosking, L-moments, Journal of the Royal Statistical Society B 52, 1990): with
// l₁ the mean and l₂ half the mean difference of two values,
//
//	σ = l₂/ln 2,   μ = l₁ − γσ
//
// It sorts x.
func fitGumbel(x []float64) gumbel {
	slices.Sort(x)
	n := float64(len(x))
	var mean, b1 float64
	for i, v := range x {
		mean += v / n
		b1 += float64(i) * v / (n * max(n-1, 1))
	}
	sigma := max((2*b1-mean)/math.Ln2, 0)
	return gumbel{mean - eulerGamma*sigma, sigma}
}

// quantile returns the x with P(M > x) = q.
func (g gumbel) quantile(q float64) float64 { return g.mu - g.sigma*math.Log(-math.Log1p(-q)) }

// beyond returns how far above the median of the held-out runs' largest zᵀΣ⁻¹z a new run's lies with probability q,
// where Σ was learned from so many witnesses; and the same of the lengths, √(zᵀΣ⁻¹z).
//
// Were Σ known, zᵀΣ⁻¹z would be χ² with d degrees of freedom; learned from few witnesses and shrunk, its tail is far
// heavier, and the median of few runs is itself uncertain. Neither depends on the true Σ where that is diagonal, so
// both are simulated as holding out does it: n normal vectors, each around the mean of the others; the held-out squares
// of some of them; and the squares of new ones around the mean of all.
func beyond(witnesses, runs, d int, q float64) (square, length float64) {
	const sets, fresh = 400, 100
	n := max(witnesses, 4)
	rng := rand.New(rand.NewPCG(uint64(n)<<32|uint64(runs)<<8|uint64(d), 0x6265796f6e64))
	squares, lengths := make([]float64, 0, sets*fresh), make([]float64, 0, sets*fresh)
	s := newSimulated(min(n, mostWitnesses), d)
	held := make([]float64, min(runs, n))
	z := make([]float64, d)
	for range sets {
		if n > mostWitnesses { // Σ and the mean are as good as known
			for i := range held {
				held[i] = chi2(rng, d)
			}
			mid := median(held)
			for range fresh {
				v := chi2(rng, d)
				squares, lengths = append(squares, v-mid), append(lengths, math.Sqrt(v)-math.Sqrt(mid))
			}
			continue
		}
		s.draw(rng)
		mid := median(s.held(held))
		w := s.into(s.w, s.m, -1)
		for range fresh {
			for c := range z {
				z[c] = rng.NormFloat64() - s.mean[c]
			}
			v := w.squared(z)
			squares, lengths = append(squares, v-mid), append(lengths, math.Sqrt(v)-math.Sqrt(mid))
		}
	}
	return tail(squares, q), tail(lengths, q)
}

func chi2(rng *rand.Rand, d int) float64 {
	sum := 0.0
	for range d {
		v := rng.NormFloat64()
		sum += v * v
	}
	return sum
}

// A simulated is a set of n normal d-vectors, placed as holding out places runs.
type simulated struct {
	scatter
	x    []float64 // n×d, each around the mean of the others
	mean []float64
	w    white
	m    []float64
}

func newSimulated(n, d int) *simulated {
	s := &simulated{x: make([]float64, n*d), mean: make([]float64, d), w: make(white, d*(d+1)/2), m: make([]float64, d*d)}
	s.d, s.n = d, float64(n)
	for range n {
		s.runs = append(s.runs, make([]float64, d*d))
	}
	return s
}

func (s *simulated) draw(rng *rand.Rand) {
	n := float64(len(s.runs))
	clear(s.mean)
	for i := range s.x {
		s.x[i] = rng.NormFloat64()
		s.mean[i%s.d] += s.x[i] / n
	}
	for i, m := range s.runs {
		at := s.x[i*s.d : (i+1)*s.d]
		for c, v := range at {
			at[c] = (v - s.mean[c]) * n / (n - 1)
		}
		clear(m)
		addOuter(m, 1, at)
	}
	s.sum()
}

// held fills dst with the held-out squares of the first of them.
func (s *simulated) held(dst []float64) []float64 {
	for i := range dst {
		dst[i] = s.into(s.w, s.m, i).squared(s.x[i*s.d : (i+1)*s.d])
	}
	return dst
}

// tail returns the value that a share q of x lies above; it reorders x. Beyond the share that x can tell, the tail goes on
// as a power of q whose exponent is the mean excess of the logarithms (Hill, A simple general approach to inference
// about the tail of a distribution, Annals of Statistics 3, 1975), which is never too light for the tails met here.
func tail(x []float64, q float64) float64 {
	const known = 2e-3
	n := len(x)
	at := n - 1 - int(max(q, known)*float64(n))
	v := nth(x, at)
	if q >= known || at >= n-1 || v <= 0 {
		return v
	}
	xi := 0.0
	for _, u := range x[at+1:] {
		xi += math.Log(u/v) / float64(n-1-at)
	}
	return v * math.Pow(known/q, xi)
}

// nth returns the value that would be x[k] were x sorted, and leaves the larger ones after it (Hoare, Algorithm 65: Find,
// Communications of the ACM 4, 1961).
func nth(x []float64, k int) float64 {
	lo, hi := 0, len(x)-1
	for lo < hi {
		pivot := x[(lo+hi)/2]
		i, j := lo, hi
		for i <= j {
			for x[i] < pivot {
				i++
			}
			for x[j] > pivot {
				j--
			}
			if i <= j {
				x[i], x[j] = x[j], x[i]
				i++
				j--
			}
		}
		switch {
		case k <= j:
			hi = j
		case k >= i:
			lo = i
		default:
			return x[k]
		}
	}
	return x[k]
}

// mostWitnesses is the number from which on a covariance counts as well known in beyond.
const mostWitnesses = 60
