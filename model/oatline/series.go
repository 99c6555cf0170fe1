package oatline

import (
	"iter"
	"math"
	"math/rand/v2"
	"time"

	"asusual/model/spectrum"
)

// A Series is the spectra of a stretch, made when they are asked for. It holds scratch, so it is not safe for
// concurrent use; each goroutine makes its own.
type Series struct {
	line   *Line
	st     Stretch
	hidden []float64 // N×nHidden
	light  []float64 // gridLen: absorbance on the grid of the light
	eff    effects
	noise  [2]uint64
	pcg    rand.PCG
	rnd    *rand.Rand
}

// Series returns the spectra of a stretch, or an error that says what is wrong with the stretch.
func (l *Line) Series(s Stretch) (*Series, error) {
	s, err := s.filled()
	if err != nil {
		return nil, err
	}
	r := &Series{line: l, st: s, hidden: l.hidden(s), light: make([]float64, gridLen)}
	r.noise[0], r.noise[1] = seeds(l.set.Seed, "noise", s.Run, s.Condition, s.From.UTC().Format(time.RFC3339Nano))
	r.rnd = rand.New(&r.pcg)
	return r, nil
}

// Len returns the number of spectra.
func (r *Series) Len() int { return r.st.N }

// Time returns when spectrum i was measured.
func (r *Series) Time(i int) time.Time { return r.st.From.Add(time.Duration(i) * r.st.Every) }

// At returns spectrum i, counted from 0, as absorbance; its Run is the stretch's and its Label the condition.
func (r *Series) At(i int) spectrum.Spectrum {
	v := make([]float64, r.line.axis.Len())
	r.Fill(v, i)
	return spectrum.Spectrum{
		Axis: r.line.axis, Values: v, Quantity: spectrum.Absorbance,
		Time: r.Time(i), Run: r.st.Run, Label: r.st.Condition,
	}
}

// All returns the spectra in the order of time.
func (r *Series) All() iter.Seq[spectrum.Spectrum] {
	return func(yield func(spectrum.Spectrum) bool) {
		for i := range r.st.N {
			if !yield(r.At(i)) {
				return
			}
		}
	}
}

// Spectra returns the spectra of stretches, one stretch after the other. A stretch that is wrong is an error, and the
// last thing given.
func (l *Line) Spectra(ss []Stretch) iter.Seq2[spectrum.Spectrum, error] {
	return func(yield func(spectrum.Spectrum, error) bool) {
		for _, st := range ss {
			r, err := l.Series(st)
			if err != nil {
				yield(spectrum.Spectrum{}, err)
				return
			}
			for s := range r.All() {
				if !yield(s, nil) {
					return
				}
			}
		}
	}
}

// Fill writes the absorbances of spectrum i to dst, which must have a place for each channel. It does not allocate.
func (r *Series) Fill(dst []float64, i int) {
	if len(dst) != r.line.axis.Len() {
		panic("oatline: Fill: dst does not have one place a channel")
	}
	h := r.hidden[i*nHidden:][:nHidden]
	r.eff.set(r.st.Upsets, time.Duration(i)*r.st.Every)
	r.absorb(h, r.product(i))
	r.look(dst, h)
	r.measure(dst, i)
}

// product returns the share of product in the beam; the rest is rinse water.
func (r *Series) product(i int) float64 {
	switch r.st.Condition {
	case Rinse: // what is left of the product is washed out, to about 1 %
		return 0.01 + 0.05*math.Exp(-float64(i)*r.st.Every.Seconds()/60)
	case StartUp:
		u := (float64(i) + 0.5) / float64(r.st.N)
		return u * u * (3 - 2*u) // a smooth front of product
	case Air:
		return 0
	}
	return 1 - r.eff.water
}

const (
	turbidity   = 0.30 // absorbance at turbidAt of the usual product
	rinseWarmer = 6.0  // kelvin: the line is rinsed with warm water
)

// absorb works out the absorbance on the grid of the light, of product with the given share.
func (r *Series) absorb(h []float64, share float64) {
	l := r.line
	var c [nBasis]float64
	dry, grains := 0.0, 0.0
	for j := oil; j < nComponents; j++ {
		c[j] = max(0, recipe[j]*(1+h[j])*(1+h[hSolids])*share)
		if j == oil {
			c[j] *= 1 - r.eff.oilLost
		}
		dry += c[j]
	}
	grains = (c[oil] + c[starch] + c[fibre]) / (recipe[oil] + recipe[starch] + recipe[fibre])
	c[water] = 1 - dry
	c[warmth] = c[water] * h[hWarm]
	if r.st.Condition != InUse {
		c[warmth] += c[water] * rinseWarmer * (1 - share)
	}
	tau := turbidity * l.set.Scatter * max(0, grains*(1+h[hTurbid]))
	path := l.set.PathMM * (1 + h[hPath])
	if r.st.Condition == Air {
		c, tau = [nBasis]float64{}, 0
	}
	for j := range c {
		c[j] *= path
	}
	e := h[hExponent]
	for i := range r.light {
		g := l.grid[i*nBasis : i*nBasis+nBasis : i*nBasis+nBasis]
		a := c[0]*g[0] + c[1]*g[1] + c[2]*g[2] + c[3]*g[3] + c[4]*g[4] + c[5]*g[5] + c[6]*g[6]
		u := e * l.logRatio[i]
		r.light[i] = a + tau*l.turbid[i]*(1-u+u*u/2) // (λ/1,200)^−e, to second order
	}
	for _, b := range r.eff.bands {
		for i := range r.light {
			r.light[i] += b.value(gridFrom + float64(i))
		}
	}
}

// look samples the grid at the channels, which are off by the error of the axis, by a cubic through four neighbours.
func (r *Series) look(dst, h []float64) {
	shift := h[hAxis] + r.eff.shift
	for i := range dst {
		at := r.line.axis.At(i) + shift - gridFrom
		j := int(at)
		u := at - float64(j)
		y := r.light[j-1 : j+3 : j+3]
		// Lagrange's cubic on −1, 0, 1, 2.
		a, b, c, d := u+1, u, u-1, u-2
		dst[i] = -b*c*d/6*y[0] + a*c*d/2*y[1] - a*b*d/2*y[2] + a*b*c/6*y[3]
	}
}

// noiseOfFull is the standard deviation of the detector, as a share of the light of an empty beam at its best channel.
const noiseOfFull = 1e-4

// measure adds what window, lamp and detector do.
//
// The noise of a signal S = R·10^−A has the variance σ²(½ + S/2), half of the detector and half of the light. No signal
// falls below a tenth of σ, the last step of the converter.
func (r *Series) measure(dst []float64, i int) {
	l, h, e := r.line, r.hidden[i*nHidden:][:nHidden], &r.eff
	r.pcg.Seed(mix(r.noise[0]+uint64(i)), mix(r.noise[1]^uint64(i)))
	sigma := noiseOfFull * l.set.Noise * e.noise
	const half = (axisTo - axisFrom) / 2
	for k := range dst {
		x := (l.axis.At(k) - axisFrom - half) / half // −1 … 1
		a := dst[k] + h[hOffset] + h[hSlope]*x
		if e.film != 0 {
			a += e.film * (1 - 0.4*x)
		}
		if e.lampLost != 0 { // a lamp loses its short wavelengths first
			b := (1 - x) / 2
			a -= math.Log10(1 - e.lampLost*(0.8+0.5*b*b))
		}
		s := l.response[k] * math.Exp(-math.Ln10*a)
		n := sigma * math.Sqrt(0.5+0.5*s) * r.rnd.NormFloat64()
		dst[k] = a - math.Log10(max(s+n, 0.1*noiseOfFull)/s)
	}
}

// mix spreads neighbouring seeds far apart (the finalizer of splitmix64; Steele, Lea and Flood, Fast splittable
// pseudorandom number generators, 2014).
func mix(z uint64) uint64 {
	z += 0x9e3779b97f4a7c15
	z = (z ^ z>>30) * 0xbf58476d1ce4e5b9
	z = (z ^ z>>27) * 0x94d049bb133111eb
	return z ^ z>>31
}
