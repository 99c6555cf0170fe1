package fourier

import (
	"math"
	"testing"
)

// lineWidth returns the full width at half height of the line that an apodization makes of one wavenumber, times twice the
// largest path difference, by the cosine transform of the weights.
func lineWidth(a Apodization) float64 {
	const n = 4000
	height := func(s float64) float64 { // s in units of 1/(2L)
		sum := 0.0
		for i := range n {
			u := (float64(i) + 0.5) / n
			sum += a.At(u) * math.Cos(math.Pi*s*u) / n
		}
		return sum
	}
	half := height(0) / 2
	lo, hi := 0.0, 2.0
	for range 50 {
		mid := (lo + hi) / 2
		if height(mid) > half {
			lo = mid
		} else {
			hi = mid
		}
	}
	return 2 * lo
}

// TestLineWidths: the full widths at half height, in units of 1/2L: those of the rectangle, the triangle and the Hamming window, which
// Happ and Genzel's is (Harris, On the use of windows for harmonic analysis with the discrete Fourier transform, Proceedings of
// the IEEE 66, 1978, table 1, 6-dB bandwidths of 1.21, 1.78 and 1.81 bins; from memory). Norton and Beer's three are those with
// 1.2, 1.4 and 1.6 times the width without apodization (Naylor and Tahic, Apodizing functions for Fourier transform spectroscopy,
// Journal of the Optical Society of America A 24, 2007, 3644–3648; from memory).
func TestLineWidths(t *testing.T) {
	none := lineWidth(None)
	for _, tt := range []struct {
		a         Apodization
		want, tol float64
	}{
		{None, 1.21, 0.006},
		{Triangular, 1.78, 0.01},
		{HappGenzel, 1.81, 0.01},
		{NortonBeerWeak, 1.2 * none, 0.01},
		{NortonBeerMedium, 1.4 * none, 0.01},
		{NortonBeerStrong, 1.6 * none, 0.01},
	} {
		if got := lineWidth(tt.a); math.Abs(got-tt.want) > tt.tol {
			t.Errorf("%v: the line is %.4f/2L wide, want %.4f", tt.a, got, tt.want)
		}
	}
}

// TestApodizationLaws: 1 at the centre, the same on both sides, never above 1, nothing beyond the end, and
// none rises, but for Norton and Beer's, whose negative C₁ turns the last thirtieth up by less than 0.005.
func TestApodizationLaws(t *testing.T) {
	for a := NortonBeerMedium; a <= None; a++ {
		if got := a.At(0); math.Abs(got-1) > 1e-12 {
			t.Errorf("%v.At(0) = %v, want 1", a, got)
		}
		last := 1.0
		for u := 0.0; u <= 1; u += 1.0 / 256 {
			v := a.At(u)
			if v > last+1e-12 && (u < 0.96 || v > last+0.0011) || v < -0.01 || a.At(-u) != v {
				t.Errorf("%v.At(%g) = %g after %g, at %g it is %g", a, u, v, last, -u, a.At(-u))
			}
			last = v
		}
		if a.At(1.0001) != 0 || a.At(-2) != 0 {
			t.Errorf("%v has a weight beyond the end", a)
		}
	}
	// Happ and Genzel's ends at 0.08, Norton and Beer's at C₀.
	for a, want := range map[Apodization]float64{HappGenzel: 0.08, NortonBeerWeak: 0.384093, NortonBeerMedium: 0.152442, NortonBeerStrong: 0.045335, Triangular: 0} {
		if got := a.At(1); math.Abs(got-want) > 1e-12 {
			t.Errorf("%v.At(1) = %v, want %v", a, got, want)
		}
	}
}
