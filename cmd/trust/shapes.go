package main

import (
	"math"
	"math/rand/v2"

	"gonum.org/v1/gonum/floats"

	"asusual/model/pretreat"
	"asusual/model/spectrum"
	"asusual/model/stretch"
)

// shapes are what spectra are made of and looked at through.
type shapes struct {
	loadings [components][]float64
	band     []float64 // of length 1, orthogonal to the loadings
	bank     []stretch.Shape
	// frame are directions that are orthogonal to the loadings and each other and hold the band, the first of them, and
	// what the bank looks at; seen are their products with the bank, m for each.
	frame [][]float64
	seen  [][]float64
	free  float64 // directions of the noise besides
	e     []float64
}

// A maker makes the spectra of one line.
type maker struct {
	line
	*shapes
}

// maker returns that of the line. It is not safe for concurrent use.
func (l line) maker() (maker, error) {
	s, err := l.shapes()
	return maker{l, s}, err
}

func (l line) shapes() (*shapes, error) {
	p := l.Channels
	s := &shapes{band: make([]float64, p), e: make([]float64, p)}
	for c := range p {
		s.band[c] = band(c, p)
	}
	for i := range s.loadings {
		s.loadings[i] = make([]float64, p)
		for c := range p {
			s.loadings[i][c] = loading(i, c, p)
		}
	}
	axis, err := l.axis()
	if err != nil {
		return nil, err
	}
	chain, err := pretreat.Fit(axis, nil, nil)
	if err != nil {
		return nil, err
	}
	mean := make([]float64, p)
	for c := range mean {
		mean[c] = level
	}
	if s.bank, err = stretch.Shapes(chain, mean); err != nil {
		return nil, err
	}
	s.add(s.band)
	s.band = s.frame[0]
	for _, b := range s.bank {
		w := make([]float64, p)
		copy(w[b.From:], b.Weights)
		s.add(w)
	}
	for _, f := range s.frame {
		var seen []float64
		for _, b := range s.bank {
			seen = append(seen, floats.Dot(b.Weights, f[b.From:b.From+len(b.Weights)]))
		}
		s.seen = append(s.seen, seen)
	}
	s.free = float64(p - components - len(s.frame))
	return s, nil
}

func (l line) axis() (*spectrum.Axis, error) {
	at := make([]float64, l.Channels)
	for c := range at {
		at[c] = float64(c)
	}
	return spectrum.NewAxis(spectrum.Channel, at)
}

// add adds what of v is not in the frame yet (Gram, Schmidt; twice, for rounding).
func (s *shapes) add(v []float64) {
	v = append([]float64(nil), v...)
	before := floats.Norm(v, 2)
	for range 2 {
		for _, f := range append(append([][]float64(nil), s.loadings[:]...), s.frame...) {
			floats.AddScaled(v, -floats.Dot(v, f), f)
		}
	}
	if n := floats.Norm(v, 2); n > 1e-6*before {
		floats.Scale(1/n, v)
		s.frame = append(s.frame, v)
	}
}

// residual returns the squared length of a residual and how far it lies along the absorber, and appends what the bank sees of
// it. The directions of the noise that the frame does not hold are χ², by the cube of a normal (Wilson, Hilferty, The
// distribution of chi-square, PNAS 17, 1931).
func (s *shapes) residual(parts *[]float64, rng *rand.Rand, sd, bump float64) (q, along float64) {
	at := len(*parts)
	for range s.bank {
		*parts = append(*parts, 0)
	}
	for i, seen := range s.seen {
		v := sd * rng.NormFloat64()
		if i == 0 {
			v += bump
			along = v
		}
		q += v * v
		floats.AddScaled((*parts)[at:], v, seen)
	}
	z := 1 - 2/(9*s.free) + rng.NormFloat64()*math.Sqrt(2/(9*s.free))
	return q + sd*sd*s.free*z*z*z, along
}

// level is the absorbance around which whole spectra lie, in standard deviations of a channel's noise.
const level = 100

// append appends a whole spectrum to x, and returns the true residual's squared length and how far it lies along the
// absorber.
func (s *shapes) append(x *[]float64, t [components]float64, rng *rand.Rand, sd, bump float64) (q, along float64) {
	var inside [components]float64
	for c := range s.e {
		s.e[c] = sd * rng.NormFloat64()
		q += s.e[c] * s.e[c]
		along += s.e[c] * s.band[c]
		for i := range inside {
			inside[i] += s.e[c] * s.loadings[i][c]
		}
	}
	q += 2*bump*along + bump*bump
	for _, v := range inside {
		q -= v * v
	}
	for c, e := range s.e {
		v := level + e + bump*s.band[c]
		for i := range t {
			v += t[i] * s.loadings[i][c]
		}
		*x = append(*x, v)
	}
	return q, along + bump
}
