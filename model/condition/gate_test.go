package condition

import (
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/floats/scalar"
	"gonum.org/v1/gonum/stat"
)

// TestLookOf: worked by hand, but for the last, which is gonum's.
func TestLookOf(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	noise := make([]float64, 301)
	for i := range noise {
		noise[i] = 0.3 + 0.01*rng.NormFloat64()
	}
	mean, variance := stat.PopMeanVariance(noise, nil)
	tests := []struct {
		name string
		raw  []float64
		want Look
	}{
		{"two values", []float64{1, 3}, Look{2, 0}},
		{"four", []float64{0, 0, 2, 6}, Look{2, math.Log(math.Sqrt(6))}},
		{"a flat one", []float64{0.5, 0.5, 0.5}, Look{0.5, math.Log(1e-10)}},
		{"one channel", []float64{0.7}, Look{0.7, math.Log(1e-10)}},
		{"noise", noise, Look{mean, math.Log(variance) / 2}},
	}
	for _, tt := range tests {
		if got := LookOf(tt.raw); !near(got, tt.want) {
			t.Errorf("LookOf(%s) = %+v, want %+v", tt.name, got, tt.want)
		}
	}
}

func near(a, b Look) bool {
	return scalar.EqualWithinAbs(a.Level, b.Level, 1e-12) && scalar.EqualWithinAbs(a.Contrast, b.Contrast, 1e-12)
}

// TestLookFollowsTheSpectrum: an offset moves the level alone, a factor c multiplies it and adds ln c to the contrast, and
// the order of the channels says nothing.
func TestLookFollowsTheSpectrum(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 4))
	raw := make([]float64, 50)
	for i := range raw {
		raw[i] = rng.Float64()
	}
	was := LookOf(raw)
	changed := func(f func(v float64) float64) Look {
		out := make([]float64, len(raw))
		for i, v := range raw {
			out[i] = f(v)
		}
		return LookOf(out)
	}
	if got, want := changed(func(v float64) float64 { return v + 0.25 }), (Look{was.Level + 0.25, was.Contrast}); !near(got, want) {
		t.Errorf("LookOf(x + 0.25) = %+v, want %+v", got, want)
	}
	if got, want := changed(func(v float64) float64 { return 3 * v }), (Look{3 * was.Level, was.Contrast + math.Log(3)}); !near(got, want) {
		t.Errorf("LookOf(3x) = %+v, want %+v", got, want)
	}
	rng.Shuffle(len(raw), func(i, j int) { raw[i], raw[j] = raw[j], raw[i] })
	if got := LookOf(raw); !near(got, was) {
		t.Errorf("LookOf(x, channels in another order) = %+v, want %+v", got, was)
	}
}

// TestGateByHand: the range of the looks with its own width, or the least, at each side.
func TestGateByHand(t *testing.T) {
	looks := []Look{{0.5, -2}, {0.7, -2}, {0.6, -2}}
	g := newGate(looks)
	if !near(g.Low, Look{0.3, -2.2}) || !near(g.High, Look{0.9, -1.8}) {
		t.Errorf("newGate(%v) = %+v, want from {0.3 −2.2} to {0.9 −1.8}", looks, g)
	}
	tests := []struct {
		look Look
		want float64
	}{
		{Look{0.6, -2}, 0},
		{Look{0.9, -2}, 1},
		{Look{0.3, -2}, 1},
		{Look{0.6, -1.8}, 1},
		{Look{0.6, -2.1}, 0.5},
		{Look{0.75, -2.4}, 2}, // the further out of the two counts
		{Look{0, -2}, 2},
	}
	for _, tt := range tests {
		if got := g.distance(tt.look); !scalar.EqualWithinAbs(got, tt.want, 1e-12) {
			t.Errorf("distance of %+v = %g, want %g", tt.look, got, tt.want)
		}
	}
}

// TestGateHoldsItsOwn: all looks but a few strays lie within, in whatever order they come, and strays do not open it.
func TestGateHoldsItsOwn(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 6))
	looks := make([]Look, 1000)
	for i := range looks {
		looks[i] = Look{0.6 + 0.03*rng.NormFloat64(), -1 + 0.1*rng.NormFloat64()}
	}
	g := newGate(looks)
	for _, l := range looks {
		if d := g.distance(l); d > 1 {
			t.Errorf("distance of its own look %+v = %g, want at most 1", l, d)
		}
	}
	rng.Shuffle(len(looks), func(i, j int) { looks[i], looks[j] = looks[j], looks[i] })
	if again := newGate(looks); again != g {
		t.Errorf("newGate of the looks in another order = %+v, want %+v", again, g)
	}
	for i := range 4 { // of 1,000: less than half a hundredth
		looks[i] = Look{50, 9}
	}
	if d := newGate(looks).distance(Look{2, -1}); d < 5 {
		t.Errorf("with four strays among its looks, the gate has a level of 2 at the distance %g, want it well outside", d)
	}
}

// TestGateTellsAnEmptyBeam: what SNV takes away tells noise from a product with the same shape.
func TestGateTellsAnEmptyBeam(t *testing.T) {
	rng := rand.New(rand.NewPCG(7, 8))
	spectrum := func(level, band, noise float64) []float64 {
		raw := make([]float64, 100)
		for i := range raw {
			raw[i] = level + band*math.Exp(-math.Pow(float64(i-40)/15, 2)) + noise*rng.NormFloat64()
		}
		return raw
	}
	var product []Look
	for range 100 {
		product = append(product, LookOf(spectrum(0.3+0.01*rng.NormFloat64(), 0.8+0.02*rng.NormFloat64(), 1e-4)))
	}
	g := newGate(product)
	if d := g.distance(LookOf(spectrum(0.3, 0.8, 1e-4))); d > 1 {
		t.Errorf("the product lies at %g, want within 1", d)
	}
	if d := g.distance(LookOf(spectrum(0, 0, 1e-4))); d < 5 {
		t.Errorf("an empty beam lies at %g, want far outside", d)
	}
}

func TestGateValidate(t *testing.T) {
	good := Gate{Low: Look{0, -2}, High: Look{1, -1}}
	if err := good.validate(); err != nil {
		t.Errorf("validate(%+v) = %v", good, err)
	}
	for _, bad := range []Gate{
		{},
		{Low: Look{1, -2}, High: Look{0, -1}},
		{Low: Look{0, -1}, High: Look{1, -1}},
		{Low: Look{math.NaN(), -2}, High: Look{1, -1}},
		{Low: Look{0, math.Inf(-1)}, High: Look{1, -1}},
	} {
		if bad.validate() == nil {
			t.Errorf("validate(%+v) = nil, want an error", bad)
		}
	}
}
