package project

import (
	"math"
	"reflect"
	"strings"
	"testing"

	"gonum.org/v1/gonum/mat"
)

func moments(t testing.TB, origin []float64, x *mat.Dense) *Moments {
	t.Helper()
	m := NewMoments(origin)
	if err := m.Add(x); err != nil {
		t.Fatal(err)
	}
	return m
}

// Moments of runs put together are those of all.
func TestMerge(t *testing.T) {
	x := spectra(700, 150, 5, .01)
	origin := x.RawRowView(0)
	a, b := x.Slice(0, 300, 0, 150).(*mat.Dense), x.Slice(300, 700, 0, 150).(*mat.Dense)
	all, second := moments(t, origin, x), moments(t, origin, b)
	both := moments(t, origin, a)
	if err := both.Merge(second); err != nil {
		t.Fatal(err)
	}
	alike := func(call string, m, want *Moments) {
		t.Helper()
		if m.N() != want.N() {
			t.Errorf("%s: N = %d, want %d", call, m.N(), want.N())
		}
		same(t, call+": Mean", m.Mean(), want.Mean(), 1e-14)
		if d := floatsAway(m.Covariance(), want.Covariance()); d > 1e-15 {
			t.Errorf("%s: Covariance is %.3g away", call, d)
		}
	}
	alike("Merge", both, all)
	// A spectrum at a time is the same as all at once.
	single := NewMoments(origin)
	for i := range 700 {
		if err := single.AddSpectrum(x.RawRowView(i)); err != nil {
			t.Fatal(err)
		}
	}
	alike("AddSpectrum", single, all)
	// A far origin costs digits, and not many.
	far := make([]float64, 150)
	if d := floatsAway(moments(t, far, x).Covariance(), all.Covariance()); d > 1e-12 {
		t.Errorf("with the origin at 0, Covariance is %.3g away", d)
	}
}

func floatsAway(a, b *mat.SymDense) float64 {
	var d mat.Dense
	d.Sub(a, b)
	return mat.Norm(&d, math.Inf(1))
}

// Moments that were reset are as new ones, whatever they held, and whether or not some of it was pending.
func TestMomentsReset(t *testing.T) {
	x := mat.NewDense(3, 3, []float64{4, 2, 0.6, 4.2, 2.1, 0.59, 3.9, 2, 0.58})
	fresh, used := NewMoments(x.RawRowView(0)), NewMoments(x.RawRowView(0))
	for range chunk {
		if err := used.Add(x); err != nil {
			t.Fatal(err)
		}
	}
	used.Reset()
	for _, m := range []*Moments{fresh, used} {
		if err := m.Add(x); err != nil {
			t.Fatal(err)
		}
	}
	want, err := fresh.Fit(1, nil)
	if err != nil {
		t.Fatal(err)
	}
	if got, err := used.Fit(1, nil); err != nil || !reflect.DeepEqual(got, want) || used.N() != 3 {
		t.Errorf("%d spectra after a reset: %+v, %v, want %+v", used.N(), got, err, want)
	}
}

func TestMomentsErrors(t *testing.T) {
	m := moments(t, []float64{0, 0, 0}, mat.NewDense(4, 3, []float64{1, 2, 3, 2, 1, 0, 1, 1, 1, 0, 3, 2}))
	other := NewMoments([]float64{1, 0, 0})
	_, without := m.FitWithout(other, 1, nil)
	_, few := m.FitWithout(moments(t, []float64{0, 0, 0}, mat.NewDense(3, 3, nil)), 1, nil)
	_, rough := m.Fit(4, nil)
	_, warm := m.Fit(1, mustFit(t, spectra(9, 5, 2, .1), 1))
	_, sizes := FitCovariance(make([]float64, 2), m.Covariance(), 4, 1, nil)
	_, nan := FitCovariance(make([]float64, 1), mat.NewSymDense(1, []float64{math.NaN()}), 4, 1, nil)
	for _, c := range []struct {
		err  error
		want string
	}{
		{m.AddSpectrum([]float64{1}), "moments of 3 channels: a spectrum has 1"},
		{m.AddSpectrum([]float64{1, math.NaN(), 0}), "spectrum 5 has a value that is not a finite number"},
		{m.Merge(other), "different origins"},
		{without, "different origins"}, {few, "at least 2 spectra, found 1"}, {rough, "4 components: from 4 spectra"},
		{warm, "the model to start from has 5 channels, 3 are needed"}, {sizes, "a covariance of 3 channels for a mean of 2"},
		{nan, "not a finite number"},
	} {
		if c.err == nil || !strings.Contains(c.err.Error(), c.want) {
			t.Errorf("error %v, want %q in it", c.err, c.want)
		}
	}
	if m.N() != 4 {
		t.Errorf("N after refused spectra = %d, want 4", m.N())
	}
}
