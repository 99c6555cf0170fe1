package condition

import (
	"encoding/json"
	"math"
	"strings"
	"testing"

	"gonum.org/v1/gonum/floats/scalar"
	"gonum.org/v1/gonum/mat"

	"asusual/model/project"
)

// open is a gate that every look passes.
var open = Gate{Low: Look{-1e9, -1e9}, High: Look{1e9, 1e9}}

// flat returns a class of one component along the first of the channels, around the given mean.
func flat(name string, eigenvalue, noise float64, mean ...float64) *Class {
	loading := make([]float64, len(mean))
	loading[0] = 1
	return &Class{Name: name, PCA: model(eigenvalue, loading, mean...), T2: 9, Q: 9 * noise, Gate: open, Spread: 1, Noise: noise}
}

// TestMatchByHand: k = 1, p = 3, λ = 4, s = 1, σ² = 0.25, limits 9 and 2.25, worked by hand.
func TestMatchByHand(t *testing.T) {
	c := flat("rinse", 4, 0.25, 1, 1, 1)
	tests := []struct {
		x                    []float64
		distance, likelihood float64
	}{
		// T² = 0, Q = 0: −½(ln 4 + 2 ln ¼) = ½ ln 4
		{[]float64{1, 1, 1}, 0, math.Log(2)},
		// t = 6, T² = 9, on the border
		{[]float64{7, 1, 1}, 1, math.Log(2) - 4.5},
		// t = −4, T² = 4; Q = 0.6² + 0.8² = 1, Q/σ² = 4; √(4/9) and √(1/2.25) are the same
		{[]float64{-3, 1.6, 0.2}, 2. / 3, math.Log(2) - 4},
		// Q = 9, twice as far as its border
		{[]float64{1, 4, 1}, 2, math.Log(2) - 18},
	}
	room := make([]float64, 5)
	for _, tt := range tests {
		got := c.Match(tt.x, Look{}, room)
		if !scalar.EqualWithinAbs(got.Distance, tt.distance, 1e-12) || !scalar.EqualWithinAbs(got.Likelihood, tt.likelihood, 1e-12) {
			t.Errorf("Match(%v) = %+v, want {%g %g}", tt.x, got, tt.distance, tt.likelihood)
		}
	}
	c.Gate = Gate{Low: Look{0, -1}, High: Look{1, 1}}
	if got := c.Match([]float64{1, 1, 1}, Look{Level: 2}, room).Distance; !scalar.EqualWithinAbs(got, 3, 1e-12) {
		t.Errorf("Match of a spectrum three half widths from the middle of the gate: distance %g, want 3", got)
	}
}

// TestLikelihoodIsNormal compares with the density of the normal distribution of p dimensions whose covariance is
// Σ = s PᵀΛP + σ²(I − PᵀP), by gonum's Cholesky factor: −½(xᵀΣ⁻¹x + ln det Σ), but for ½ p ln 2π.
func TestLikelihoodIsNormal(t *testing.T) {
	const s, noise = 1.3, 0.2
	r := math.Sqrt(0.5)
	pca := &project.PCA{Mean: []float64{1, -2, 3, 0}, Loadings: []float64{r, r, 0, 0, 0, 0, 0.6, 0.8}, K: 2, P: 4, N: 50, Eigenvalues: []float64{5, 2}}
	c := &Class{Name: "rinse", PCA: pca, T2: 9, Q: 2, Gate: open, Spread: s, Noise: noise}
	p := mat.NewDense(2, 4, pca.Loadings)
	cov := mat.NewSymDense(4, nil)
	for i := range 4 {
		for j := range i + 1 {
			v := 0.0
			if i == j {
				v = noise
			}
			for k, l := range pca.Eigenvalues {
				v += (s*l - noise) * p.At(k, i) * p.At(k, j)
			}
			cov.SetSym(i, j, v)
		}
	}
	var factor mat.Cholesky
	if !factor.Factorize(cov) {
		t.Fatal("the covariance is not positive definite")
	}
	for _, x := range [][]float64{{1, -2, 3, 0}, {0, 0, 0, 0}, {4, -1, 2.5, 7}, {1, -2, 3, 1e3}} {
		var away, solved mat.VecDense
		away.SubVec(mat.NewVecDense(4, x), mat.NewVecDense(4, pca.Mean))
		if err := factor.SolveVecTo(&solved, &away); err != nil {
			t.Fatal(err)
		}
		got, want := c.Match(x, Look{}, make([]float64, 2)).Likelihood, -(mat.Dot(&away, &solved)+factor.LogDet())/2
		if !scalar.EqualWithinAbsOrRel(got, want, 1e-10, 1e-10) {
			t.Errorf("likelihood of %v = %.12g, want %.12g", x, got, want)
		}
	}
}

// TestHome: a wide class that holds a narrow one leaves it its spectra.
func TestHome(t *testing.T) {
	rinse, startUp, air := flat("rinse", 0.1, 0.01, 0, 0, 0), flat("start-up", 16, 0.02, 4, 0, 0), flat("air", 1, 1, 0, 50, 0)
	classes := []*Class{air, startUp, rinse}
	room := make([]float64, 1)
	tests := []struct {
		what string
		x    []float64
		want *Class
	}{
		{"rinse water, which the start-up accepts too", []float64{0.1, 0, 0}, rinse},
		{"halfway to the product", []float64{4, 0, 0}, startUp},
		{"near the border of the rinse", []float64{0.94, 0, 0}, startUp},
		{"an empty beam", []float64{0, 50, 0}, air},
		{"nowhere", []float64{0, 20, 0}, nil},
		{"no number", []float64{math.NaN(), 0, 0}, nil},
	}
	for _, tt := range tests {
		if got := Home(classes, tt.x, Look{}, room); got != tt.want {
			t.Errorf("Home(%s) = %v, want %v", tt.what, name(got), name(tt.want))
		}
	}
	twin := *rinse
	if got := Home([]*Class{rinse, &twin}, []float64{0, 0, 0}, Look{}, room); got != rinse {
		t.Error("Home of a tie is not the first class")
	}
	if got := Home(nil, []float64{0, 0, 0}, Look{}, nil); got != nil {
		t.Errorf("Home without classes = %s, want none", got.Name)
	}
}

func name(c *Class) string {
	if c == nil {
		return "none"
	}
	return c.Name
}

// TestHomeIgnoresTheOrder: the order of the classes does not matter where their likelihoods differ.
func TestHomeIgnoresTheOrder(t *testing.T) {
	a, b := flat("a", 1, 0.1, 0, 0, 0), flat("b", 2, 0.2, 1, 0, 0)
	room := make([]float64, 1)
	for i := range 50 {
		x := []float64{float64(i)/10 - 2, 0.1, -0.1}
		if one, other := Home([]*Class{a, b}, x, Look{}, room), Home([]*Class{b, a}, x, Look{}, room); one != other {
			t.Errorf("Home(%v) = %s or %s, by the order", x, name(one), name(other))
		}
	}
}

// TestClassRoundTrip: a class read back from JSON says the same, to the last digit.
func TestClassRoundTrip(t *testing.T) {
	c := fitted(t, newPlace(3).sample("rinse", 6, 20)).Class
	b, err := json.Marshal(c)
	if err != nil {
		t.Fatal(err)
	}
	var back *Class
	if err := json.Unmarshal(b, &back); err != nil {
		t.Fatal(err)
	}
	if err := back.Validate(c.PCA.P); err != nil {
		t.Fatal(err)
	}
	again, err := json.Marshal(back)
	if err != nil || string(again) != string(b) {
		t.Errorf("written again it is\n%s, want\n%s", again, b)
	}
	g := newPlace(3)
	for range 20 {
		x := g.next()
		if got, want := back.Match(x, Look{1, 0}, make([]float64, 5)), c.Match(x, Look{1, 0}, make([]float64, 5)); got != want {
			t.Fatalf("Match after reading = %v, want %v", got, want)
		}
	}
}

func TestClassValidate(t *testing.T) {
	tests := []struct {
		change func(c *Class)
		want   string
	}{
		{func(c *Class) {}, ""},
		{func(c *Class) { c.Name = "" }, "empty"},
		{func(c *Class) { c.PCA = nil }, "empty"},
		{func(c *Class) { c.PCA = model(1, []float64{1, 0}, 0, 0) }, "2 channels, the reference has 3"},
		{func(c *Class) { c.T2 = 0 }, "limit of T² is 0"},
		{func(c *Class) { c.Q = -1 }, "limit of Q is -1"},
		{func(c *Class) { c.Q = math.Inf(1) }, "limit of Q is +Inf"},
		{func(c *Class) { c.Spread = math.NaN() }, "spread is NaN"},
		{func(c *Class) { c.Noise = 0 }, "noise is 0"},
		{func(c *Class) { c.Gate = Gate{} }, "gate of the level"},
		{func(c *Class) { c.Gate.High.Contrast = math.Inf(1) }, "gate of the contrast"},
	}
	for i, tt := range tests {
		c := flat("rinse", 1, 1, 0, 0, 0)
		tt.change(c)
		err := c.Validate(3)
		if tt.want == "" && err != nil || tt.want != "" && (err == nil || !strings.Contains(err.Error(), tt.want)) {
			t.Errorf("Validate(case %d) = %v, want an error with %q", i, err, tt.want)
		}
	}
	var none *Class
	if none.Validate(3) == nil {
		t.Error("Validate of no class = nil, want an error")
	}
}

func TestMatchDoesNotAllocate(t *testing.T) {
	c, x, room := flat("rinse", 1, 1, 0, 0, 0), []float64{1, 2, 3}, make([]float64, 3)
	if n := testing.AllocsPerRun(100, func() { c.Match(x, Look{}, room) }); n != 0 {
		t.Errorf("Match makes %g allocations, want none", n)
	}
}

func BenchmarkHome(b *testing.B) {
	var classes []*Class
	for _, name := range []string{"air", "rinse", "start-up", "changeover"} {
		c := flat(name, 1, 1, make([]float64, 1024)...)
		c.PCA.Loadings = append(c.PCA.Loadings, make([]float64, 2*1024)...)
		c.PCA.K, c.PCA.Eigenvalues = 3, []float64{3, 2, 1}
		classes = append(classes, c)
	}
	x, room := make([]float64, 1024), make([]float64, 3)
	b.ReportAllocs()
	for b.Loop() {
		Home(classes, x, Look{}, room)
	}
}
