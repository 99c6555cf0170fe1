package check

import (
	"fmt"
	"math"

	"asusual/model/spectrum"
)

// A Region is a stretch of an axis, in its unit.
type Region struct{ From, To float64 }

const (
	segmentNM  = 100 // nm, the usual segment of a noise test, from memory: see the package comment
	parts      = 8   // of an axis that is not in nm or µm: our own choice
	fewestHere = 8   // channels of a region: a line and a noise need some
	farthest   = 1e4 // segments: no light of spectrometers has a wavelength of 1 mm, but a position may be a slip
)

// Regions returns the regions in which the 100 % line of an axis is looked at: segments of 100 nm from round numbers on, eight
// equal ones where the axis is not one of wavelengths, or reaches as far as none does. Segments of fewer than eight channels are joined with
// the one beside.
func Regions(a *spectrum.Axis) []Region {
	lo, hi := a.Range()
	width, first, segment := (hi-lo)/parts, lo, 0.0
	switch a.Unit() {
	case spectrum.Nanometre:
		segment = segmentNM
	case spectrum.Micrometre:
		segment = segmentNM / 1e3
	}
	if hi-lo < farthest*segment {
		width = segment
		first = math.Floor(lo/width+1e-9) * width
	}
	var out []Region
	from := lo
	for k := 1; from < hi; k++ {
		to := min(first+float64(k)*width, hi)
		if hi-to < 1e-9*width {
			to = hi
		}
		if (Region{from, to}).channels(a) >= fewestHere {
			out = append(out, Region{from, to})
			from = to
		} else if to == hi { // too few are left over
			if len(out) == 0 {
				return []Region{{lo, hi}}
			}
			out[len(out)-1].To = hi
			from = hi
		}
	}
	return out
}

// has reports whether a position lies in the region. Regions share their borders, so that the upper one is the next one's.
func (r Region) has(at, hi float64) bool {
	return at >= r.From && (at < r.To || at == hi && at <= r.To)
}

func (r Region) channels(a *spectrum.Axis) (n int) {
	_, hi := a.Range()
	for i := range a.Len() {
		if r.has(a.At(i), hi) {
			n++
		}
	}
	return n
}

// In says the region in words.
func (r Region) In(u spectrum.Unit) string {
	return fmt.Sprintf("%.6g–%.6g %s", r.From, r.To, u.Symbol())
}

// A Noise is that of a 100 % line in a region.
type Noise struct {
	Region
	RMS     float64 // absorbance; NaN where too few channels have light
	NoLight int     // channels that are left out for want of light
}

// LineOf returns the noise of the 100 % line of two references in a row, with the light a and b of p channels each, by region.
//
// The line is A = −log₁₀(b/a). In each region a straight line is taken off by least squares, so that a lamp that drifts does
// not count as noise, and what is left is
//
//	√(Σ eᵢ²/(n−2))
//
// over the region's n channels. Two references with an independent relative noise σ each give √2·σ/ln 10.
func LineOf(axis *spectrum.Axis, a, b []float64, regions []Region) []Noise {
	_, hi := axis.Range()
	out := make([]Noise, len(regions))
	var x, y []float64
	for k, r := range regions {
		x, y = x[:0], y[:0]
		out[k] = Noise{Region: r}
		for i := range a {
			if at := axis.At(i); r.has(at, hi) {
				if v := b[i] / a[i]; a[i] > 0 && b[i] > 0 && v > 0 && !math.IsInf(v, 0) {
					x, y = append(x, at), append(y, -math.Log10(v))
				} else {
					out[k].NoLight++
				}
			}
		}
		out[k].RMS = aboutLine(x, y)
	}
	return out
}

// aboutLine returns the standard deviation of y about its straight line, NaN for fewer than four points.
func aboutLine(x, y []float64) float64 {
	n := float64(len(x))
	if n < 4 {
		return math.NaN()
	}
	var mx, my float64
	for i := range x {
		mx += x[i] / n
		my += y[i] / n
	}
	var sxx, sxy float64
	for i := range x {
		sxx += (x[i] - mx) * (x[i] - mx)
		sxy += (x[i] - mx) * (y[i] - my)
	}
	sum := 0.0
	for i := range x {
		e := y[i] - my - sxy/sxx*(x[i]-mx)
		sum += e * e
	}
	return math.Sqrt(sum / (n - 2))
}
