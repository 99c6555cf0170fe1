package check

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"asusual/model/spectrum"
)

// evenAxis has p channels from lo on.
func evenAxis(t testing.TB, u spectrum.Unit, lo, step float64, p int) *spectrum.Axis {
	t.Helper()
	at := make([]float64, p)
	for i := range at {
		at[i] = lo + step*float64(i)
	}
	a, err := spectrum.NewAxis(u, at)
	if err != nil {
		t.Fatal(err)
	}
	return a
}

// TestLineNoise: two references with an independent relative noise of σ give a 100 % line of √2·σ/ln 10: for 10⁻³ that is
// 6.142·10⁻⁴ absorbance, by hand. A lamp that falls and drifts, over the axis as well, does not change it.
func TestLineNoise(t *testing.T) {
	const sigma = 1e-3
	a := evenAxis(t, spectrum.Nanometre, 900, 0.4, 2000)
	rng := rand.New(rand.NewPCG(1, 2))
	want := math.Sqrt2 * sigma / math.Ln10
	if math.Abs(want-6.142e-4) > 5e-8 {
		t.Fatalf("√2·10⁻³/ln 10 = %.6g, want 6.142e-4", want)
	}
	for _, tt := range []struct {
		name  string
		drift func(i int) float64
	}{
		{"still", func(int) float64 { return 1 }},
		{"a lamp that falls by a third", func(int) float64 { return 2. / 3 }},
		{"a lamp that turns red", func(i int) float64 { return math.Pow(10, 0.02*float64(i)/2000) }},
	} {
		x, y := make([]float64, 2000), make([]float64, 2000)
		for i := range x {
			level := 1000 + 900*math.Sin(float64(i)/300)
			x[i] = level * (1 + sigma*rng.NormFloat64())
			y[i] = tt.drift(i) * level * (1 + sigma*rng.NormFloat64())
		}
		noise := LineOf(a, x, y, Regions(a))
		if len(noise) != 8 {
			t.Fatalf("%s: %d regions, want 8 of 100 nm", tt.name, len(noise))
		}
		mean := 0.0
		for _, n := range noise {
			mean += n.RMS * n.RMS / 8
			if !(math.Abs(n.RMS/want-1) <= 0.2) || n.NoLight != 0 { // five standard errors of 250 channels
				t.Errorf("%s: %s: noise %.4g, %d without light; want %.4g", tt.name, n.In(a.Unit()), n.RMS, n.NoLight, want)
			}
		}
		if got := math.Sqrt(mean); !(math.Abs(got/want-1) <= 0.06) {
			t.Errorf("%s: noise of all %.4g, want %.4g", tt.name, got, want)
		}
	}
}

// TestLineExact: what is left of the points 0, 1, 0, 1 … about their straight line, by hand for four points: the slope is 0.2, the
// residuals −0.2, 0.6, −0.6, 0.2, so √(0.8/2).
func TestLineExact(t *testing.T) {
	if got := aboutLine([]float64{0, 1, 2, 3}, []float64{0, 1, 0, 1}); math.Abs(got-math.Sqrt(0.4)) > 1e-14 {
		t.Errorf("aboutLine(0 1 0 1) = %.15g, want √0.4", got)
	}
	if got := aboutLine([]float64{1, 2, 4, 8}, []float64{3, 5, 9, 17}); got > 1e-14 {
		t.Errorf("aboutLine of a straight line = %g, want 0", got)
	}
	if got := aboutLine([]float64{1, 2, 3}, []float64{1, 2, 3}); !math.IsNaN(got) {
		t.Errorf("aboutLine of three points = %g, want that it cannot be told", got)
	}
}

func TestLineWithoutLight(t *testing.T) {
	a := evenAxis(t, spectrum.Nanometre, 1000, 10, 20)
	x, y := make([]float64, 20), make([]float64, 20)
	for i := range x {
		x[i], y[i] = 5+float64(i%3), 5+float64(i%2)
	}
	x[3], y[4], x[5] = 0, -1, -2
	for i := 10; i < 18; i++ {
		y[i] = 0
	}
	n := LineOf(a, x, y, []Region{{1000, 1100}, {1100, 1190}})
	if n[0].NoLight != 3 || math.IsNaN(n[0].RMS) {
		t.Errorf("first region: %+v, want 3 channels without light and a noise", n[0])
	}
	if n[1].NoLight != 8 || !math.IsNaN(n[1].RMS) {
		t.Errorf("second region: %+v, want 8 channels without light and no noise", n[1])
	}
}

func TestRegions(t *testing.T) {
	slipped, err := spectrum.NewAxis(spectrum.Nanometre, append(evenAxis(t, spectrum.Nanometre, 900, 3, 200).Values(), 1e18))
	if err != nil {
		t.Fatal(err)
	}
	for _, tt := range []struct {
		name string
		axis *spectrum.Axis
		want []Region
	}{
		{"900 to 1,700 nm", evenAxis(t, spectrum.Nanometre, 900, 3.125, 257), []Region{{900, 1000}, {1000, 1100}, {1100, 1200}, {1200, 1300}, {1300, 1400}, {1400, 1500}, {1500, 1600}, {1600, 1700}}},
		{"950 to 1,150 nm", evenAxis(t, spectrum.Nanometre, 950, 1, 201), []Region{{950, 1000}, {1000, 1100}, {1100, 1150}}},
		{"a rest of few channels", evenAxis(t, spectrum.Nanometre, 900, 1, 105), []Region{{900, 1004}}},
		{"a beginning of few channels", evenAxis(t, spectrum.Nanometre, 997, 1, 104), []Region{{997, 1100}}},
		{"coarse channels", evenAxis(t, spectrum.Nanometre, 900, 25, 17), []Region{{900, 1100}, {1100, 1300}}},
		{"few channels in all", evenAxis(t, spectrum.Nanometre, 900, 100, 5), []Region{{900, 1300}}},
		{"µm", evenAxis(t, spectrum.Micrometre, 1, 0.01, 21), []Region{{1, 1.1}, {1.1, 1.2}}},
		{"cm⁻¹", evenAxis(t, spectrum.ReciprocalCentimetre, 4000, 10, 161), []Region{{4000, 4200}, {4200, 4400}, {4400, 4600}, {4600, 4800}, {4800, 5000}, {5000, 5200}, {5200, 5400}, {5400, 5600}}},
		{"a position that is a slip", slipped, []Region{{900, 1e18}}},
	} {
		got := Regions(tt.axis)
		same := len(got) == len(tt.want)
		for i := range min(len(got), len(tt.want)) {
			same = same && math.Abs(got[i].From-tt.want[i].From) < 1e-9 && math.Abs(got[i].To-tt.want[i].To) < 1e-9
		}
		if !same {
			t.Errorf("%s: Regions = %v, want %v", tt.name, got, tt.want)
		}
	}
}

// TestRegionsLaw: on any axis the regions follow each other without a gap, each has eight channels or is the only one, and
// every channel is in exactly one.
func TestRegionsLaw(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 4))
	units := []spectrum.Unit{spectrum.Nanometre, spectrum.Micrometre, spectrum.ReciprocalCentimetre, spectrum.Channel}
	for range 300 {
		u := units[rng.IntN(len(units))]
		p := 2 + rng.IntN(300)
		lo, step := 300+2000*rng.Float64(), math.Exp(2*rng.NormFloat64())
		if u == spectrum.Micrometre {
			lo, step = lo/1000, step/1000
		}
		at := evenAxis(t, u, lo, step, p).Values()
		if rng.IntN(2) == 0 {
			slices.Reverse(at)
		}
		a, err := spectrum.NewAxis(u, at)
		if err != nil {
			t.Fatal(err)
		}
		rs := Regions(a)
		from, to := a.Range()
		if len(rs) == 0 || rs[0].From != from || rs[len(rs)-1].To != to {
			t.Fatalf("Regions(%v) = %v, want the whole axis", a, rs)
		}
		total := 0
		for i, r := range rs {
			n := r.channels(a)
			total += n
			if i > 0 && r.From != rs[i-1].To || n < fewestHere && len(rs) > 1 {
				t.Fatalf("Regions(%v) = %v: region %d begins elsewhere or has %d channels", a, rs, i+1, n)
			}
		}
		if total != p {
			t.Fatalf("Regions(%v) hold %d channels, want %d", a, total, p)
		}
	}
}
