package check

import (
	"encoding/json"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"asusual/model/spectrum"
)

// bands adds up Gaussian bands of width σ at the given places.
func bands(a *spectrum.Axis, sigma float64, at ...float64) []float64 {
	y := make([]float64, a.Len())
	for i := range y {
		for _, c := range at {
			y[i] += 0.4 * math.Exp(-math.Pow((a.At(i)-c)/sigma, 2)/2)
		}
	}
	return y
}

// TestParabolaExact: a parabola is found exactly, however its three channels lie.
func TestParabolaExact(t *testing.T) {
	rng := rand.New(rand.NewPCG(4, 4))
	for range 200 {
		top, curve := 1000+3*rng.NormFloat64(), -math.Exp(rng.NormFloat64())
		x := []float64{top - 2*rng.Float64() - 0.1, top + 0.2*rng.NormFloat64()/10, top + 2*rng.Float64() + 0.1}
		v := make([]float64, 3)
		for i := range x {
			v[i] = 7 + curve*(x[i]-top)*(x[i]-top)
		}
		if got := parabola(x, v, 1); math.Abs(got-top) > 1e-7 {
			t.Fatalf("parabola with its top at %.9f through %v: %.9f", top, x, got)
		}
	}
	if got := parabola([]float64{1, 2, 3}, []float64{5, 5, 5}, 1); got != 2 {
		t.Errorf("parabola through three equal values = %g, want the middle one", got)
	}
}

// TestGravityExact: of a triangle whose upper half is cut off, the centre of gravity is that of a triangle again, a third of
// its base from the middle of gravity of its corners: by hand, corners 4, 6 and 12 of the upper half give 22/3.
func TestGravityExact(t *testing.T) {
	x := []float64{0, 2, 4, 6, 8, 10, 12, 14, 16, 18}
	v := make([]float64, len(x))
	for i, at := range x { // from 0 at 2 up to 1 at 6, down to 0 at 18
		v[i] = min((at-2)/4, (18-at)/12)
	}
	v[0] = 0
	if got := gravity(x, v, 3, 0.5); math.Abs(got-22./3) > 1e-12 {
		t.Errorf("gravity of the upper half = %.12f, want 22/3", got)
	}
	if got, want := gravity(x, v, 3, 1), (2.+6+18)/3; math.Abs(got-want) > 1e-12 {
		t.Errorf("gravity of all = %.12f, want %.12f", got, want)
	}
}

// TestLocate: a symmetric band is found by both methods to a small part of a channel, on rising and falling axes, in all units.
func TestLocate(t *testing.T) {
	for _, tt := range []struct {
		unit           spectrum.Unit
		lo, step, sig  float64
		p              int
		at             []float64
		parabola, mass float64 // largest error
	}{
		{spectrum.Nanometre, 900, 1, 6, 801, []float64{975.83, 1151.69, 1366.81}, 0.02, 0.02},
		{spectrum.Nanometre, 900, 3.14, 6, 255, []float64{975.83, 1151.69, 1366.81}, 0.15, 0.1},
		{spectrum.Micrometre, 0.9, 0.001, 0.006, 801, []float64{0.97583, 1.15169}, 2e-5, 2e-5},
		{spectrum.ReciprocalCentimetre, 5000, 4, 30, 1300, []float64{5138.5, 6804.2, 8179.7, 9294.9}, 0.1, 0.1},
	} {
		rising := evenAxis(t, tt.unit, tt.lo, tt.step, tt.p)
		down := rising.Values()
		slices.Reverse(down)
		falling, err := spectrum.NewAxis(tt.unit, down)
		if err != nil {
			t.Fatal(err)
		}
		for _, a := range []*spectrum.Axis{rising, falling} {
			y := bands(a, tt.sig, tt.at...)
			for _, m := range []Method{Parabola, Gravity} {
				c := Certificate{Name: "oxides", Unit: tt.unit, Method: m}
				for _, at := range tt.at {
					limit := tt.parabola
					if m == Gravity {
						limit = tt.mass
					}
					got, err := c.Locate(a, y, at+0.3*c.from(at, 1)) // stated a little beside it
					if err != nil || math.Abs(got-at) > limit {
						t.Errorf("%v, %v: band at %g found at %.6g, %v; want within %g", a, m, at, got, err, limit)
					}
				}
			}
		}
	}
}

// TestMethodsDiffer: on a band that leans, the two methods give places apart, as three instruments found for NIST SRM 2035
// (differences of up to 2.4 nm between methods; product note of the material).
func TestMethodsDiffer(t *testing.T) {
	a := evenAxis(t, spectrum.Nanometre, 1300, 1, 150)
	y := make([]float64, a.Len())
	for i := range y {
		d := a.At(i) - 1366
		y[i] = math.Exp(-math.Abs(d) / 4)
		if d > 0 {
			y[i] = math.Exp(-d / 12)
		}
	}
	p, err1 := Certificate{Unit: spectrum.Nanometre}.Locate(a, y, 1366)
	g, err2 := Certificate{Unit: spectrum.Nanometre, Method: Gravity}.Locate(a, y, 1366)
	if err1 != nil || err2 != nil || !(g-p > 0.5 && g-p < 4) {
		t.Errorf("by parabola %.2f, by gravity %.2f, %v, %v; want the second 0.5 to 4 nm higher", p, g, err1, err2)
	}
}

func TestLocateRefused(t *testing.T) {
	a := evenAxis(t, spectrum.Nanometre, 900, 2, 100)
	c := Certificate{Unit: spectrum.Nanometre}
	for _, tt := range []struct {
		name string
		y    []float64
		at   float64
		want string
	}{
		{"a flank", bands(a, 6, 980), 950, "no maximum lies within 15 nm"},
		{"a flat line", make([]float64, 100), 1000, "no maximum lies"},
		{"beside the axis", bands(a, 6, 980), 880, "0 channels lie within 15 nm of it; 5 are needed"},
	} {
		if got, err := c.Locate(a, tt.y, tt.at); err == nil || !strings.Contains(err.Error(), tt.want) {
			t.Errorf("%s: Locate = %g, %v; want an error with %q", tt.name, got, err, tt.want)
		}
	}
}

// TestTolerance: 8 cm⁻¹ at 1,204.8 nm are 1.161 nm, 4 cm⁻¹ at 2,000 nm are 1.600 nm: δλ = λ²·δν̃/10⁷.
func TestTolerance(t *testing.T) {
	nm := Certificate{Unit: spectrum.Nanometre}
	um := Certificate{Unit: spectrum.Micrometre}
	wn := Certificate{Unit: spectrum.ReciprocalCentimetre}
	for _, tt := range []struct{ got, want, tol float64 }{
		{nm.Tolerance(1366.8), 1, 0}, {nm.Tolerance(2000), 1, 0}, {nm.Tolerance(2306), 1.5, 0},
		{um.Tolerance(1.3668), 0.001, 1e-15}, {um.Tolerance(2.306), 0.0015, 1e-15},
		{8 / wn.from(1e7/1204.8, 1), 1.161, 5e-4}, {4 / wn.from(1e7/2000, 1), 1.600, 5e-4},
		{wn.Tolerance(5000), 2.5, 1e-12}, {wn.Tolerance(4000), 1.5 * 1.6, 1e-12},
	} {
		if math.Abs(tt.got-tt.want) > tt.tol {
			t.Errorf("tolerance %.6g, want %.6g", tt.got, tt.want)
		}
	}
}

func TestCertificateRefused(t *testing.T) {
	good := func() Certificate {
		return Certificate{Name: "oxides", Unit: spectrum.Nanometre, Bands: []Band{{At: 1366.8, Tolerance: 1}}}
	}
	if err := good().Validate(); err != nil {
		t.Fatalf("Validate = %v, want nil", err)
	}
	for want, change := range map[string]func(*Certificate){
		"nm, um or cm-1 is needed": func(c *Certificate) { c.Unit = spectrum.Channel },
		"no band is stated":        func(c *Certificate) { c.Bands = nil },
		"method 9 is not known":    func(c *Certificate) { c.Method = 9 },
		"a window of -1":           func(c *Certificate) { c.Window = -1 },
		"the upper 1.5 of a band":  func(c *Certificate) { c.Upper = 1.5 },
		"a band at 0":              func(c *Certificate) { c.Bands[0].At = 0 },
		"a tolerance of -2":        func(c *Certificate) { c.Bands[0].Tolerance = -2 },
		"a band at NaN":            func(c *Certificate) { c.Bands[0].At = math.NaN() },
	} {
		c := good()
		change(&c)
		if err := c.Validate(); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("Validate = %v, want an error with %q", err, want)
		}
	}
}

func TestMethodText(t *testing.T) {
	for _, m := range []Method{Parabola, Gravity} {
		b, err := json.Marshal(m)
		var got Method
		if err != nil || json.Unmarshal(b, &got) != nil || got != m {
			t.Errorf("%v reads back from %s as %v, %v", m, b, got, err)
		}
	}
	var m Method
	if err := m.UnmarshalText([]byte("moment")); err == nil {
		t.Error("method moment is known")
	}
}

// FuzzLocate: whatever the values, a band is found within its window or not at all.
func FuzzLocate(f *testing.F) {
	f.Add([]byte{1, 5, 9, 200, 9, 5, 1}, false)
	f.Add([]byte{9, 9, 9, 9}, true)
	f.Fuzz(func(t *testing.T, data []byte, mass bool) {
		if len(data) < 2 {
			return
		}
		a := evenAxis(t, spectrum.Nanometre, 1000, 1, 60)
		y := make([]float64, 60)
		for i := range y {
			y[i] = float64(data[i%len(data)]) * math.Pow(10, float64(data[i*i%len(data)]%200)-100)
		}
		c := Certificate{Unit: spectrum.Nanometre}
		if mass {
			c.Method = Gravity
		}
		got, err := c.Locate(a, y, 1030)
		if err == nil && !(got >= 1015 && got <= 1045) {
			t.Fatalf("Locate = %g, want it from 1,015 to 1,045, or an error", got)
		}
	})
}
