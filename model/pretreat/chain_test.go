package pretreat

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/mat"

	"asusual/model/spectrum"
)

func axis(t testing.TB, unit spectrum.Unit, at ...float64) *spectrum.Axis {
	t.Helper()
	a, err := spectrum.NewAxis(unit, at)
	if err != nil {
		t.Fatal(err)
	}
	return a
}

// evenAxis has n positions from lo on, h apart.
func evenAxis(t testing.TB, n int, lo, h float64) *spectrum.Axis {
	at := make([]float64, n)
	for i := range at {
		at[i] = lo + float64(i)*h
	}
	return axis(t, spectrum.Nanometre, at...)
}

func fit(t testing.TB, a *spectrum.Axis, x *mat.Dense, steps ...Step) *Chain {
	t.Helper()
	c, err := Fit(a, steps, x)
	if err != nil {
		t.Fatalf("Fit(%v, %v) = %v", a, steps, err)
	}
	return c
}

func apply(t testing.TB, c *Chain, x []float64) []float64 {
	t.Helper()
	y := make([]float64, c.Out().Len())
	if err := c.Apply(y, x, make([]float64, c.Work())); err != nil {
		t.Fatalf("%v: Apply = %v", c, err)
	}
	return y
}

func equal(t testing.TB, call string, got, want []float64, tol float64) {
	t.Helper()
	switch {
	case len(got) != len(want):
		t.Errorf("%s has %d channels, want %d", call, len(got), len(want))
	case floats.EqualApprox(got, want, tol):
	case len(got) < 12:
		t.Errorf("%s = %.7g, want %.7g", call, got, want)
	default:
		t.Errorf("%s is up to %.3g away from what it should be, want %.3g at most", call, floats.Distance(got, want, math.Inf(1)), tol)
	}
}

// Computed from the definitions; the order of SNV and detrend matters as Dhanoa, Lister, Barnes, "On the Scales
// Associated with Near-Infrared Reflectance Difference Spectra", Applied Spectroscopy 49 (1995), 765 describe it.
func TestScatterVectors(t *testing.T) {
	x := []float64{.2, .5, .9, 1.4, 1.0}
	a := evenAxis(t, 5, 1000, 2)
	ref := mat.NewDense(1, 5, []float64{.1, .3, .8, 1.1, .7})
	for _, c := range []struct {
		steps []Step
		want  []float64
	}{
		{[]Step{{Name: SNV}}, []float64{-1.293993, -.646997, .215666, 1.293993, .431331}},
		{[]Step{{Name: Detrend}}, []float64{.085714, -.142857, -.085714, .257143, -.114286}},
		{[]Step{{Name: Detrend, Degree: 1}}, []float64{-.10, -.05, .10, .35, -.30}},
		{[]Step{{Name: SNV}, {Name: Detrend}}, []float64{.184856, -.308094, -.184856, .554569, -.246475}},
		{[]Step{{Name: Detrend}, {Name: SNV}}, []float64{.507093, -.845154, -.507093, 1.521278, -.676123}},
		{[]Step{{Name: MSC}}, []float64{.073973, .336986, .687671, 1.126027, .775342}},
		{[]Step{{Name: Offset}}, []float64{0, .3, .7, 1.2, .8}},
		{[]Step{{Name: Offset, From: 1002, To: 1004}}, []float64{-.5, -.2, .2, .7, .3}},
		{[]Step{{Name: Keep, From: 1002, To: 1005}}, []float64{.5, .9}},
		{[]Step{{Name: LeaveOut, From: 1005, To: 1002}}, []float64{.2, 1.4, 1.0}},
		{[]Step{{Name: Keep, From: 1000, To: 1002}, {Name: Keep, From: 1008, To: 1010}}, []float64{.2, .5, 1.0}},
		{nil, x},
	} {
		chain := fit(t, a, ref, c.steps...)
		equal(t, chain.String(), apply(t, chain, x), c.want, 1e-6)
	}
}

// The documentation of scipy.signal.savgol_filter and savgol_coeffs (SciPy 1.1.0) and its tests, mode "interp";
// further digits computed from the definition.
func TestSavitzkyGolayExample(t *testing.T) {
	x := []float64{2, 2, 5, 2, 1, 0, 1, 4, 9}
	a := evenAxis(t, 9, 1, 1)
	for _, c := range []struct {
		step Step
		want []float64
	}{
		{Step{Name: Smooth, Window: 5, Degree: 2}, []float64{1.657143, 3.171429, 3.542857, 2.857143, .657143, .171429, 1, 4, 9}},
		{Step{Name: Derivative, Window: 5, Degree: 2}, []float64{2.085714, .942857, -.2, -.8, -1, .4, 2, 4, 6}},
		{Step{Name: Derivative, Window: 5, Degree: 2, Order: 2}, []float64{-1.142857, -1.142857, -1.142857, -.857143, 1.142857, 1.428571, 2, 2, 2}},
	} {
		chain := fit(t, a, nil, c.step)
		equal(t, chain.String(), apply(t, chain, x), c.want, 1e-6)
	}
}
