package check

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"asusual/model/spectrum"
)

// A Method is how the position of a band is found. The position depends on it by up to some nanometres, so that a
// certificate's values hold for the method that they were found with (NIST SRM 2035 states both: centre of gravity is the
// certified one).
type Method uint8

// The methods.
const (
	Parabola Method = iota // the top of the parabola through the highest channel and its two neighbours
	Gravity                // the centre of gravity of the upper part of the band
)

var methodWords = [...]struct{ word, say string }{{"parabola", "peak by parabola"}, {"gravity", "centre of gravity"}}

// String says the method as it stands beside a value.
func (m Method) String() string { return methodWords[m].say }

// MarshalText writes the word of the method, parabola or gravity.
func (m Method) MarshalText() ([]byte, error) { return []byte(methodWords[m].word), nil }

// UnmarshalText reads the word of a method.
func (m *Method) UnmarshalText(b []byte) error {
	for i, w := range methodWords {
		if strings.EqualFold(w.word, string(b)) {
			*m = Method(i)
			return nil
		}
	}
	return fmt.Errorf("method %q is not one of parabola, gravity", b)
}

// A Band is a stated band of a standard.
type Band struct {
	At        float64 // as the certificate states it, in the standard's unit
	Tolerance float64 // 0: the usual one, see Tolerance
}

// A Certificate is what is stated of a wavelength standard.
type Certificate struct {
	Name   string
	Unit   spectrum.Unit // of the bands; nm, µm or cm⁻¹
	Method Method        // that the stated values were found with
	Window float64       // half the width in which a band is looked for; 0: 15 nm, or as much at that place in another unit
	Upper  float64       // the part of a band's height, from its top, whose centre of gravity is taken; 0: 0.5
	Bands  []Band
}

// about names a stated band.
func (c *Certificate) about(b Band) string { return fmt.Sprintf("%.6g %s", b.At, c.Unit.Symbol()) }

// usualWindow keeps a band's neighbours out: the bands of rare-earth standards stand 60 nm apart or more.
const usualWindow = 15 // nm

// Validate says what of the standard cannot be used.
func (c Certificate) Validate() error {
	switch {
	case c.Unit != spectrum.Nanometre && c.Unit != spectrum.Micrometre && c.Unit != spectrum.ReciprocalCentimetre:
		return fmt.Errorf("standard %q: the unit of its bands is %q; nm, um or cm-1 is needed", c.Name, c.Unit)
	case len(c.Bands) == 0:
		return fmt.Errorf("standard %q: no band is stated; take them from its certificate", c.Name)
	case int(c.Method) >= len(methodWords):
		return fmt.Errorf("standard %q: method %d is not known", c.Name, c.Method)
	case !(c.Window >= 0) || math.IsInf(c.Window, 0):
		return fmt.Errorf("standard %q: a window of %g; it is above zero, or 0 for the usual one", c.Name, c.Window)
	case !(c.Upper >= 0 && c.Upper <= 1):
		return fmt.Errorf("standard %q: the upper %g of a band; it is from 0 to 1", c.Name, c.Upper)
	}
	for _, b := range c.Bands {
		if !(b.At > 0) || math.IsInf(b.At, 0) || !(b.Tolerance >= 0) || math.IsInf(b.Tolerance, 0) {
			return fmt.Errorf("standard %q: a band at %g with a tolerance of %g; the first is above zero, the second not below it", c.Name, b.At, b.Tolerance)
		}
	}
	return nil
}

// Tolerance returns the usual tolerance of a band in the standard's unit: ±1.0 nm up to 2,000 nm, ±1.5 nm beyond, in wavenumbers
// the same at that place, δν̃ = ν̃²·δλ/10⁷. From memory: see the package comment.
func (c Certificate) Tolerance(at float64) float64 {
	nm := c.nanometres(at)
	if nm <= 2000 {
		return c.from(at, 1)
	}
	return c.from(at, 1.5)
}

func (c Certificate) nanometres(at float64) float64 {
	switch c.Unit {
	case spectrum.Micrometre:
		return at * 1e3
	case spectrum.ReciprocalCentimetre:
		return 1e7 / at
	}
	return at
}

// from turns a small difference in nm at a place into the standard's unit.
func (c Certificate) from(at, nm float64) float64 {
	switch c.Unit {
	case spectrum.Micrometre:
		return nm / 1e3
	case spectrum.ReciprocalCentimetre:
		return at * at * nm / 1e7
	}
	return nm
}

// Locate returns where the band that is stated at a place lies in an absorbance y on the axis, which must be in the
// standard's unit: see Method. A band whose top lies at the border of the window is an error, for it is another's flank.
func (c Certificate) Locate(axis *spectrum.Axis, y []float64, at float64) (float64, error) {
	window := c.Window
	if window == 0 {
		window = c.from(at, usualWindow)
	}
	x, v := inside(axis, y, at-window, at+window)
	if len(x) < 5 {
		return 0, fmt.Errorf("%d channels lie within %.4g %s of it; 5 are needed", len(x), window, axis.Unit().Symbol())
	}
	top := 0
	for i := range v {
		if v[i] > v[top] {
			top = i
		}
	}
	if top == 0 || top == len(v)-1 {
		return 0, fmt.Errorf("no maximum lies within %.4g %s of it", window, axis.Unit().Symbol())
	}
	if c.Method == Gravity {
		upper := c.Upper
		if upper == 0 {
			upper = 0.5
		}
		return gravity(x, v, top, upper), nil
	}
	return parabola(x, v, top), nil
}

// inside returns the channels from lo to hi in rising order.
func inside(axis *spectrum.Axis, y []float64, lo, hi float64) (x, v []float64) {
	for i := range axis.Len() {
		if at := axis.At(i); at >= lo && at <= hi {
			x, v = append(x, at), append(v, y[i])
		}
	}
	if !axis.Rising() {
		slices.Reverse(x)
		slices.Reverse(v)
	}
	return x, v
}

// parabola returns the top of the parabola through three channels, which need not be equally far apart.
func parabola(x, v []float64, top int) float64 {
	a, b := x[top]-x[top-1], x[top+1]-x[top]
	left, right := (v[top]-v[top-1])/a, (v[top+1]-v[top])/b // slopes
	curve := (right - left) / (a + b)
	if curve == 0 { // three equal values
		return x[top]
	}
	return x[top] - (left*b+right*a)/(a+b)/(2*curve)
}

// gravity returns the centre of gravity of what stands above a line at the given part of the height below the top, around
// the top:
//
//	∫ x (v−L) dx / ∫ (v−L) dx    L = v_top − upper·(v_top − v_foot)
//
// over the stretch about the top where v > L. The foot is the higher one of the two lowest points on either side, so that
// the stretch ends within the window. Between channels v is a straight line, and the integrals are exact for that.
func gravity(x, v []float64, top int, upper float64) float64 {
	foot := max(slices.Min(v[:top+1]), slices.Min(v[top:]))
	line := v[top] - upper*(v[top]-foot)
	var mass, moment float64
	add := func(x1, h1, x2, h2 float64) {
		d := x2 - x1
		mass += d * (h1 + h2) / 2
		moment += d * (x1*(2*h1+h2) + x2*(h1+2*h2)) / 6
	}
	for _, step := range [...]int{-1, 1} {
		for i := top; i+step >= 0 && i+step < len(v); i += step {
			x1, h1, x2, h2 := x[i], v[i]-line, x[i+step], v[i+step]-line
			if h2 < 0 { // the line is crossed on the way
				x2, h2 = x1+(x2-x1)*h1/(h1-h2), 0
			}
			if step < 0 {
				add(x2, h2, x1, h1)
			} else {
				add(x1, h1, x2, h2)
			}
			if h2 == 0 {
				break
			}
		}
	}
	if mass == 0 {
		return x[top]
	}
	return moment / mass
}
