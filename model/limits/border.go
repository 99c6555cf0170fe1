package limits

import (
	"cmp"
	"math"
	"slices"

	"gonum.org/v1/gonum/stat/distuv"
)

// borders returns the limits of T² and Q such that a share alpha of the good spectra of a run yet to come lies outside
// at least one of them.
//
// Both start as the same quantile of the held-out positions, every run weighing the same, at the level that puts alpha
// of them outside the union. A quantile over few runs is a guess, so it is then moved outwards: the cube root of a sum
// of squares is close to normal (Wilson, Hilferty, The distribution of chi-square, PNAS 17, 1931), and on that scale the
// distance of the quantile from the mean grows by the ratio of a predictive quantile for a new run, Student's t with
// the between-run and within-run variance of few runs, to the normal one; its degrees of freedom are those of such a sum
// (Satterthwaite, An approximate distribution of estimates of variance components, Biometrics Bulletin 2, 1946).
func borders(tracks []Track, runs int, alpha float64, effective float64) (t2, q float64) {
	a, b := newSide(tracks, effective, func(p Point) float64 { return p.T2 }), newSide(tracks, effective, func(p Point) float64 { return p.Q })
	a.runs, b.runs = float64(runs), float64(runs)
	lo, hi := alpha/2, alpha // the level of each side: union alpha lies between
	for range 30 {
		mid := (lo + hi) / 2
		if outside(a, b, mid) > alpha {
			hi = mid
		} else {
			lo = mid
		}
	}
	return a.limit(lo), b.limit(lo)
}

// outside returns the share of spectra outside the union of both sides at that level, every run weighing the same.
func outside(a, b side, level float64) float64 {
	ua, ub := a.quantile(level), b.quantile(level)
	sum := 0.0
	for i, v := range a.all {
		if v.u > ua || b.all[i].u > ub {
			sum += v.w
		}
	}
	return sum
}

// A side is one of the two figures on the cube-root scale.
type side struct {
	all     []weighted // all spectra, in order of time
	sorted  []weighted
	mean    float64
	between float64 // variance of run means
	within  float64 // variance within runs
	n       float64 // tracks
	runs    float64 // runs that they are from
	m       float64 // independent spectra within one run
}

type weighted struct{ u, w float64 }

func newSide(tracks []Track, effective float64, of func(Point) float64) side {
	s := side{n: float64(len(tracks)), m: max(effective, 2)}
	means := make([]float64, len(tracks))
	for i, t := range tracks {
		l := float64(len(t.Points))
		for _, p := range t.Points {
			u := math.Cbrt(of(p))
			s.all = append(s.all, weighted{u, 1 / (l * s.n)})
			means[i] += u / l
		}
		for _, p := range t.Points {
			d := math.Cbrt(of(p)) - means[i]
			s.within += d * d / (max(l-1, 1) * s.n)
		}
		s.mean += means[i] / s.n
	}
	for _, m := range means {
		s.between += (m - s.mean) * (m - s.mean) / max(s.n-1, 1)
	}
	s.sorted = slices.Clone(s.all)
	slices.SortStableFunc(s.sorted, func(a, b weighted) int { return cmp.Compare(a.u, b.u) })
	return s
}

// quantile returns the cube root of the value that a share a lies above. Where fewer than three spectra would lie above,
// the normal distribution stands in on the cube-root scale.
func (s side) quantile(a float64) float64 {
	if float64(len(s.sorted))*a < 3 {
		return s.normal(a)
	}
	above := 0.0
	for i := len(s.sorted) - 1; i >= 0; i-- {
		if above += s.sorted[i].w; above > a*(1+1e-9) {
			return s.sorted[i].u
		}
	}
	return s.sorted[0].u
}

func (s side) normal(a float64) float64 {
	v := s.between*(s.n-1)/s.n + s.within
	return s.mean + distuv.UnitNormal.Quantile(1-a)*math.Sqrt(v)
}

// limit returns the value that a share a of the spectra of a new run lies above: the quantile, or the normal one where
// that is larger, moved outwards for few runs.
func (s side) limit(a float64) float64 {
	u := max(s.quantile(a), s.normal(a))
	between := s.between * (1 + 1/s.runs)
	v := between + s.within
	if known := s.normal(a) - s.mean; v > 0 && known > 0 {
		freedom := v * v / (between*between/max(s.runs-1, 1) + s.within*s.within/(s.n*(s.m-1)))
		t := distuv.StudentsT{Mu: 0, Sigma: 1, Nu: max(freedom, 1)}.Quantile(1 - a)
		u = s.mean + max(t*math.Sqrt(v)/known, 1)*(u-s.mean)
	}
	return u * u * u
}
