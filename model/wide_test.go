package model_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"asusual/model"
	"asusual/model/oatline"
	"asusual/model/spectrum"
)

// TestLearnOfManyChannels: with more channels than a covariance is made of, the model is the one that fewer rows than channels give by
// another way, and tells usual from changed.
func TestLearnOfManyChannels(t *testing.T) {
	l, rng := line(t, 3), rand.New(rand.NewPCG(3, 4))
	lo, hi := stretch(t, l, 0, oatline.InUse, 1)[0].Axis.Range()
	at := make([]float64, 4200)
	for j := range at {
		at[j] = lo + (hi-lo)*float64(j)/float64(len(at)-1)
	}
	axis, err := spectrum.NewAxis(spectrum.Nanometre, at)
	if err != nil {
		t.Fatal(err)
	}
	wide := func(day, n int, us ...oatline.Upset) []spectrum.Spectrum {
		all := stretch(t, l, day, oatline.InUse, n, us...)
		for i, s := range all {
			to, err := spectrum.NewResampler(s.Axis, axis)
			if err != nil {
				t.Fatal(err)
			}
			x := make([]float64, len(at))
			to.Apply(x, s.Values)
			for j := range x {
				x[j] += 3e-4 * rng.NormFloat64()
			}
			all[i].Axis, all[i].Values = axis, x
		}
		return all
	}
	var good []spectrum.Spectrum
	for day := range 6 {
		good = append(good, wide(day, 10)...)
	}
	r := learn(t, good, model.Options{Components: 3})
	for a := range 3 {
		for b := range 3 {
			sum := 0.0
			for j := range r.PCA.P {
				sum += r.PCA.Loading(a)[j] * r.PCA.Loading(b)[j]
			}
			if want := map[bool]float64{true: 1}[a == b]; !(math.Abs(sum-want) <= 1e-9) {
				t.Errorf("loadings %d and %d: product %g, want %g", a+1, b+1, sum, want)
			}
		}
	}
	var scores [3][]float64
	for _, s := range good {
		d := r.Judge(s)
		for a := range scores {
			scores[a] = append(scores[a], d.Scores[a])
		}
	}
	for a, all := range scores {
		squares := 0.0
		for _, v := range all {
			squares += v * v
		}
		if got := squares / float64(len(all)-1); !(math.Abs(got-r.PCA.Eigenvalues[a]) <= 1e-6*got) {
			t.Errorf("component %d: scores have the variance %g, its eigenvalue is %g", a+1, got, r.PCA.Eigenvalues[a])
		}
	}
	if d := r.Judge(wide(20, 1)[0]); d.Distance > 3 {
		t.Errorf("a usual spectrum of another day lies %.1f times as far as the limit", d.Distance)
	}
	if d := r.Judge(wide(20, 1, oatline.Upset{Kind: oatline.NewBand, Size: 0.02})[0]); d.Inside {
		t.Error("a new absorber lies inside usual")
	}
}
