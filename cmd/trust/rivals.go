package main

import (
	"math"

	"asusual/model/position"
)

// A knowing follows one run with the best detector there can be for a change whose direction, kind and size are known in
// advance, as are the correlation of neighbours φ and the spread b of runs; only its beginning is unknown: the largest
// log likelihood ratio over all beginnings (Basseville, Nikiforov, Detection of Abrupt Changes, Prentice Hall 1993,
// chapter 2). Beginnings further back than 64 spectra are tried at distances that grow by a sixteenth.
//
// With v the innovations of the autoregression, o those of a constant 1 and h those of the change, runs without change
// have the covariance C = I + b² ooᵀ, so
//
//	log ratio = hᵀC⁻¹v − ½ hᵀC⁻¹h,   C⁻¹ = I − b² ooᵀ/(1 + b² oᵀo)
type knowing struct {
	phi, b float64
	slope  bool
	size   float64 // of a step, or of the rise from one spectrum to the next
	series func(production) []float64
}

// knows returns the detector that knows c.
func (l line) knows(c change) knowing {
	scores := func(r production) []float64 { return r.along }
	switch c.kind {
	case "step":
		return knowing{l.Phi, l.Between, false, c.size, scores}
	case "drift":
		return knowing{l.Phi, l.Between, true, c.size * every.Hours(), scores}
	case "absorber":
		return knowing{0, 0, false, c.size, func(r production) []float64 { return r.shape }}
	}
	free := float64(l.Channels - components)
	up := (1+c.size)*(1+c.size) - 1
	loud := loudness * l.Between * math.Sqrt(2*free) // how runs differ, in standard deviations of Q
	return knowing{0, loud, false, up * math.Sqrt(free/2), func(r production) []float64 { return r.size }}
}

// sums are running sums over a run that all ratios are made of.
type sums struct {
	v, iv  []float64 // of v and of i·v, over the first i innovations
	ov, oo float64   // oᵀv and oᵀo so far
	sd, c  float64   // √(1−φ²), and (1−φ) over it
}

// path returns the statistic after each spectrum.
func (d knowing) path(r production) []float64 {
	y := d.series(r)
	out := make([]float64, len(y))
	s := sums{v: make([]float64, len(y)+1), iv: make([]float64, len(y)+1), sd: math.Sqrt(1 - d.phi*d.phi)}
	s.c = (1 - d.phi) / s.sd
	for i, v := range y {
		if i > 0 {
			v = (v - d.phi*y[i-1]) / s.sd
		}
		s.v[i+1], s.iv[i+1] = s.v[i]+v, s.iv[i]+float64(i)*v
		s.ov = y[0] + s.c*(s.v[i+1]-y[0])
		s.oo = 1 + s.c*s.c*float64(i)
		out[i] = math.Inf(-1)
		for back := 1; back <= i; back = further(back) {
			out[i] = max(out[i], d.ratio(&s, i+1-back, i+1))
		}
	}
	return out
}

func further(back int) int {
	if back < 64 {
		return back + 1
	}
	return back + back/16
}

// ratio returns the log likelihood ratio of a beginning at from, for the spectra before to.
func (d knowing) ratio(s *sums, from, to int) float64 {
	n := float64(to - from - 1) // innovations after the first of the change
	sum, weighted := s.v[to]-s.v[from+1], s.iv[to]-s.iv[from+1]
	var hv, ho, hh float64
	if !d.slope { // h = size/sd at the beginning, size·c after it
		a, b := d.size/s.sd, d.size*s.c
		hv, ho, hh = a*(s.v[from+1]-s.v[from])+b*sum, a*s.c+b*s.c*n, a*a+b*b*n
	} else { // h = size·(c·(i−from) + φ/sd), 0 at the beginning
		f := d.phi / s.sd
		i1, i2 := n*(n+1)/2, n*(n+1)*(2*n+1)/6
		hv = d.size * (s.c*(weighted-float64(from)*sum) + f*sum)
		ho = d.size * s.c * (s.c*i1 + f*n)
		hh = d.size * d.size * (s.c*s.c*i2 + 2*s.c*f*i1 + f*f*n)
	}
	g := d.b * d.b / (1 + d.b*d.b*s.oo)
	return hv - g*ho*s.ov - (hh-g*ho*ho)/2
}

// A textbook is the chart of single spectra: max(T²/limit, Q/limit).
type textbook struct {
	placer
	t2, q float64
}

func (b textbook) path(r production) []float64 {
	out, t := make([]float64, len(r.along)), make([]float64, components)
	for j := range out {
		q := b.place(t, r, j)
		out[j] = max(position.T2(t, b.eigenvalues())/b.t2, q/b.q)
	}
	return out
}

// first returns how many spectra from at on it takes the path to pass the limit, so many times in a row, or +Inf.
func first(path []float64, limit float64, at, row int) float64 {
	above := 0
	for j := at; j < len(path); j++ {
		if above++; path[j] <= limit {
			above = 0
		}
		if above == row {
			return float64(j - at + 1)
		}
	}
	return math.Inf(1)
}
