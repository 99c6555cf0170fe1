package pretreat

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"sync"
	"testing"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/mat"

	"asusual/model/spectrum"
)

func steps(t testing.TB, words string) []Step {
	t.Helper()
	s, err := Parse(words)
	if err != nil {
		t.Fatalf("Parse(%q) = %v", words, err)
	}
	return s
}

// noisy returns n spectra: a smooth one, scaled, shifted and with noise.
func noisy(n, p int) *mat.Dense {
	rnd := rand.New(rand.NewPCG(9, 10))
	x, base := mat.NewDense(n, p, nil), hills(p)
	for i := range n {
		a, b := 0.3*rnd.NormFloat64(), 0.7+0.6*rnd.Float64()
		for j := range p {
			x.Set(i, j, a+b*base[j]+0.01*rnd.NormFloat64())
		}
	}
	return x
}

// What an offset, a factor and a polynomial add, the chains take away that promise it.
func TestInvariance(t *testing.T) {
	a := grids(t)["uneven"]
	p := a.Len()
	train := noisy(20, p)
	x := slices.Clone(train.RawRowView(3))
	u := make([]float64, p)
	for i, z := range a.Values() {
		u[i] = (z - 1000) / 100
	}
	change := func(offset, factor, slope, curve float64) []float64 {
		y := make([]float64, p)
		for i, v := range x {
			y[i] = offset + factor*v + slope*u[i] + curve*u[i]*u[i]
		}
		return y
	}
	for _, c := range []struct {
		words                        string
		offset, factor, slope, curve float64
	}{
		{"snv", 3, 0.4, 0, 0}, {"snv", -2, 7, 0, 0},
		{"msc", 3, 0.4, 0, 0}, {"msc", -2, 7, 0, 0}, {"msc", 1, -2, 0, 0},
		{"detrend", 5, 1, -3, 2}, {"detrend,snv", 5, 3, -3, 2}, {"snv,derivative", 3, 0.4, 0, 0},
		{"offset", 4, 1, 0, 0}, {"derivative", 4, 1, 0, 0}, {"second-derivative", 4, 1, 3, 0},
		{"derivative,snv", 4, 2, 0, 0}, {"second-derivative,snv", 4, 2, 3, 0},
	} {
		chain := fit(t, a, train, steps(t, c.words)...)
		equal(t, fmt.Sprintf("%s of %g + %g·x + %g·u + %g·u²", c.words, c.offset, c.factor, c.slope, c.curve),
			apply(t, chain, change(c.offset, c.factor, c.slope, c.curve)), apply(t, chain, x), 1e-11)
	}
}

// Steps that take something away find nothing the second time.
func TestTwiceIsOnce(t *testing.T) {
	a := grids(t)["even"]
	train := noisy(20, a.Len())
	for _, words := range []string{"snv", "detrend", "offset", "msc"} {
		once := fit(t, a, train, steps(t, words)...)
		y := apply(t, once, train.RawRowView(0))
		equal(t, words+" twice", apply(t, once, y), y, 1e-13)
	}
}

// MSC, and what becomes of it when SNV follows. Properties that follow from the definitions.
func TestMSCLaws(t *testing.T) {
	a := grids(t)["even"]
	train := noisy(20, a.Len())
	msc := fit(t, a, train, Step{Name: MSC})
	mean := make([]float64, a.Len())
	for i := range 20 {
		floats.AddScaled(mean, 1.0/20, train.RawRowView(i))
	}
	line := make([]float64, a.Len())
	floats.AddScaled(line, 2.5, mean)
	floats.AddConst(0.7, line)
	equal(t, "MSC of a + b·reference", apply(t, msc, line), mean, 1e-13)
	x := train.RawRowView(5)
	equal(t, "MSC, then SNV", apply(t, fit(t, a, train, Step{Name: MSC}, Step{Name: SNV}), x),
		apply(t, fit(t, a, nil, Step{Name: SNV}), x), 1e-12)
	// The reference is learned after the steps before it, and does not follow new data.
	chain := fit(t, a, train, Step{Name: Smooth}, Step{Name: MSC})
	first := apply(t, chain, x)
	if _, err := chain.ApplyAll(noisy(3, a.Len())); err != nil {
		t.Fatal(err)
	}
	equal(t, "MSC after other spectra", apply(t, chain, x), first, 0)
	smooth := fit(t, a, nil, Step{Name: Smooth})
	want := apply(t, smooth, mean)
	equal(t, "reference after smoothing", chain.refs[0], want, 1e-12)
}

// SNV gives mean 0 and variance 1, detrend a residual at right angles to the polynomials.
func TestWhatStepsPromise(t *testing.T) {
	a := grids(t)["uneven"]
	x := noisy(1, a.Len()).RawRowView(0)
	y := apply(t, fit(t, a, nil, Step{Name: SNV}), x)
	mean, ss, _ := spread(y)
	equal(t, "mean and variance after SNV", []float64{mean, ss / float64(len(y)-1)}, []float64{0, 1}, 1e-13)
	y = apply(t, fit(t, a, nil, Step{Name: Detrend, Degree: 3}), x)
	for k := range 4 {
		var d float64
		for i, z := range a.Values() {
			d += y[i] * math.Pow((z-1000)/200, float64(k))
		}
		equal(t, fmt.Sprintf("product with power %d after detrend", k), []float64{d}, []float64{0}, 1e-12)
	}
}

func TestFlatAndBroken(t *testing.T) {
	a := grids(t)["even"]
	train := noisy(20, a.Len())
	constant, line, hole, huge := make([]float64, a.Len()), make([]float64, a.Len()), noisy(1, a.Len()).RawRowView(0), make([]float64, a.Len())
	large, broken := make([]float64, a.Len()), make([]float64, a.Len()) // their sum is not finite
	for i := range constant {
		constant[i], line[i] = 0.3, 0.1+0.7*float64(i)
		huge[i] = math.MaxFloat64 * float64(1-2*(i%2))
		large[i], broken[i] = 1e308, 1e308
	}
	hole[40] = math.NaN()
	broken[40] = math.Inf(-1)
	for _, c := range []struct {
		words string
		x     []float64
		want  error
	}{
		{"snv", constant, ErrFlat}, {"msc", constant, ErrFlat}, {"derivative,snv", constant, ErrFlat},
		{"derivative,snv", line, ErrFlat}, {"detrend,snv", line, ErrFlat}, {"snv", line, nil}, {"none", constant, nil},
		{"none", large, nil}, {"none", broken, ErrNotFinite},
		{"none", hole, ErrNotFinite}, {"snv", hole, ErrNotFinite}, {"msc", hole, ErrNotFinite}, {"derivative", hole, ErrNotFinite},
		{"offset", hole, ErrNotFinite}, {"detrend", hole, ErrNotFinite}, {"smooth", hole, ErrNotFinite},
		{"derivative", huge, ErrNotFinite}, {"snv", huge, ErrNotFinite},
	} {
		chain := fit(t, a, train, steps(t, c.words)...)
		err := chain.Apply(make([]float64, a.Len()), c.x, make([]float64, chain.Work()))
		if !errors.Is(err, c.want) {
			t.Errorf("%s: Apply = %v, want %v", c.words, err, c.want)
		}
	}
	// A dead channel that is left out harms nothing.
	keep := fit(t, a, nil, Step{Name: LeaveOut, From: a.At(40), To: a.At(40) + 1}, Step{Name: SNV})
	apply(t, keep, hole)
}

func TestFitErrors(t *testing.T) {
	a := evenAxis(t, 50, 1000, 2)
	for _, c := range []struct {
		steps []Step
		want  string
	}{
		{[]Step{{Name: "snw"}}, `pretreatment step "snw" is not one of snv, msc,`},
		{[]Step{{Name: SNV, Window: 3}}, "snv: a window of 3 is set"},
		{[]Step{{Name: SNV, Degree: 3}}, "snv: degree 3 is set"},
		{[]Step{{Name: Smooth, Order: 1}}, "smooth: order 1 is set"},
		{[]Step{{Name: Derivative, From: 3}}, "derivative: a range of 3 to 0 is set"},
		{[]Step{{Name: Smooth, Window: -4}}, "smooth: window -4 is not above zero"},
		{[]Step{{Name: Smooth, Window: math.NaN()}}, "smooth: a setting is NaN"},
		{[]Step{{Name: Derivative, Order: 3}}, "derivative: order 3 is not 1 or 2"},
		{[]Step{{Name: Derivative, Order: 2, Degree: 1}}, "has no derivative of order 2"},
		{[]Step{{Name: Detrend, Degree: 11}}, "polynomial degree 11 is not within 1 to 10"},
		{[]Step{{Name: Keep}}, "keep: the range from 0 to 0 is empty"},
		{[]Step{{Name: Keep, From: 10, To: 20}}, "keep 10–20 nm: no channel lies there; the axis has 1000 to 1098 nm"},
		{[]Step{{Name: Keep, From: 1000, To: 1001}}, "leaves 1 of 50 channels"},
		{[]Step{{Name: LeaveOut, From: 900, To: 2000}}, "leaves 0 of 50 channels"},
		{[]Step{{Name: Offset, From: 1001, To: 1001.5}}, "no channel lies there"},
		{[]Step{{Name: Smooth, Window: 8, Degree: 5}}, "smoothing (8 nm, degree 5): the window holds 5 channels at 1004, and a polynomial of degree 5 needs at least 6"},
		{[]Step{{Name: Smooth, Window: 200}}, "the window is wider than the 50 channels"},
		{[]Step{{Name: MSC}}, "msc needs training spectra"},
		{[]Step{{Name: Keep, From: 1000, To: 1006}, {Name: Detrend, Degree: 4}}, "detrend: a polynomial of degree 4 follows all of 4 channels"},
		{slices.Repeat([]Step{{Name: SNV}}, 33), "33 steps; 32 is the most"},
	} {
		_, err := Fit(a, c.steps, nil)
		if err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("Fit(%+v) = %v, want %q in it", c.steps, err, c.want)
		}
	}
	uneven := grids(t)["uneven"]
	for _, c := range []struct {
		step Step
		want string
	}{
		{Step{Name: Smooth, Window: 4, Degree: 4}, "needs at least 5"},
		{Step{Name: Smooth, Window: 4000}, "the window is wider than the 80 channels"},
	} {
		if _, err := Fit(uneven, []Step{c.step}, nil); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("Fit(uneven, %+v) = %v, want %q in it", c.step, err, c.want)
		}
	}
	flat := mat.NewDense(2, 50, nil)
	for _, c := range []struct {
		x    *mat.Dense
		want string
	}{{flat, "the reference spectrum is flat"}, {mat.NewDense(2, 3, nil), "training spectra have 3 channels, the axis has 50"}} {
		if _, err := Fit(a, []Step{{Name: MSC}}, c.x); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("Fit(msc) = %v, want %q in it", err, c.want)
		}
	}
	if _, err := Fit(a, []Step{{Name: SNV}, {Name: MSC}}, flat); !errors.Is(err, ErrFlat) || !strings.Contains(err.Error(), "training spectrum 1") {
		t.Errorf("Fit(snv, msc) on constant spectra = %v", err)
	}
}

func TestApplyLengths(t *testing.T) {
	c := fit(t, evenAxis(t, 50, 1000, 2), nil, Step{Name: SNV}, Step{Name: Derivative})
	for _, n := range [][3]int{{49, 50, 100}, {50, 49, 100}, {50, 50, 99}} {
		if err := c.Apply(make([]float64, n[0]), make([]float64, n[1]), make([]float64, n[2])); err == nil {
			t.Errorf("Apply with lengths %v = nil, want an error", n)
		}
	}
	if _, err := c.ApplyAll(mat.NewDense(2, 49, nil)); err == nil {
		t.Error("ApplyAll of 49 channels = nil, want an error")
	}
	if _, err := c.ApplyAll(mat.NewDense(2, 50, nil)); !errors.Is(err, ErrFlat) || !strings.Contains(err.Error(), "spectrum 1") {
		t.Errorf("ApplyAll of constant spectra = %v", err)
	}
}

// Apply leaves x alone, allocates nothing, gives what ApplyAll gives, and may run many times at once.
func TestApply(t *testing.T) {
	a := grids(t)["even"]
	train := noisy(30, a.Len())
	for _, words := range []string{"none", "snv", "msc,detrend,smooth", "snv,derivative", "smooth,snv,detrend,derivative,offset"} {
		c := fit(t, a, train, steps(t, words)...)
		all, err := c.ApplyAll(train)
		if err != nil {
			t.Fatal(err)
		}
		var wait sync.WaitGroup
		for i := range 4 {
			wait.Go(func() {
				x, y := slices.Clone(train.RawRowView(i)), make([]float64, c.Out().Len())
				if err := c.Apply(y, x, make([]float64, c.Work())); err != nil {
					t.Errorf("%v: Apply = %v", c, err) // no goroutine but the test's own may end it
					return
				}
				equal(t, words, y, all.RawRowView(i), 0)
				equal(t, words+": x afterwards", x, train.RawRowView(i), 0)
			})
		}
		wait.Wait()
		y, work := make([]float64, c.Out().Len()), make([]float64, c.Work())
		if n := testing.AllocsPerRun(10, func() { _ = c.Apply(y, train.RawRowView(0), work) }); n != 0 {
			t.Errorf("%s: Apply allocates %v times, want 0", words, n)
		}
	}
}

func TestRangesAndAxes(t *testing.T) {
	for _, a := range []*spectrum.Axis{evenAxis(t, 50, 1000, 2), falling(t, evenAxis(t, 50, 1000, 2))} {
		c := fit(t, a, nil, Step{Name: Keep, From: 1060, To: 1050}, Step{Name: Keep, From: 1010, To: 1013}, Step{Name: LeaveOut, From: 1052, To: 1054})
		got := apply(t, c, a.Values())
		equal(t, "kept channels of "+a.String(), got, c.Out().Values(), 0)
		slices.Sort(got)
		equal(t, "kept channels", got, []float64{1010, 1012, 1050, 1056, 1058, 1060}, 0)
		if c.Out().Rising() != a.Rising() || !c.In().Equal(a) {
			t.Errorf("axes %v, %v of a chain on %v", c.In(), c.Out(), a)
		}
	}
}
