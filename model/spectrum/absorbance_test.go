package spectrum

import (
	"math"
	"slices"
	"strings"
	"testing"
)

func TestAbsorbance(t *testing.T) {
	axis := axisOf(t, Nanometre, 900, 901, 902)
	for _, tt := range []struct {
		name string
		q    Quantity
		in   []float64
		want []float64 // by hand: −log₁₀ of powers of ten and of two
		err  string
	}{
		{"absorbance", Absorbance, []float64{-.1, 0, 3}, []float64{-.1, 0, 3}, ""},
		{"transmittance", Transmittance, []float64{1, .1, .01}, []float64{0, 1, 2}, ""},
		{"reflectance", Reflectance, []float64{.5, .25, 1.1}, []float64{.30102999566398120, .60205999132796239, -.04139268515822507}, ""},
		{"percent", Transmittance, []float64{100, 10, 1}, []float64{0, 1, 2}, ""},
		{"zero", Transmittance, []float64{1, 0, -1}, nil, "transmittance is not above zero in 2 channels, first in channel 2 (901 nm): 0; it has no absorbance"},
		{"intensity", Intensity, []float64{1, 2, 3}, nil, "only with a dark and a reference"},
		{"unknown", UnknownQuantity, []float64{1, 2, 3}, nil, "not known what the values are"},
		{"infinite", Transmittance, []float64{1, 1, math.Inf(1)}, nil, "not above zero in 1 channels"},
		{"NaN", Transmittance, []float64{1, 1, math.NaN()}, nil, "no number in 1 channels"},
	} {
		in := slices.Clone(tt.in)
		got, err := Spectrum{Axis: axis, Values: in, Quantity: tt.q, File: "oat.csv"}.Absorbance()
		if !sameFloats(in, tt.in) {
			t.Errorf("%s: Absorbance changed the values of its spectrum to %v", tt.name, in)
		}
		if tt.err != "" {
			if err == nil || !strings.Contains(err.Error(), tt.err) {
				t.Errorf("%s: Absorbance = %v, %v; want an error with %q", tt.name, got.Values, err, tt.err)
			}
			continue
		}
		if err != nil || got.Quantity != Absorbance || got.File != "oat.csv" || len(got.Values) != 3 {
			t.Fatalf("%s: Absorbance = %+v, %v", tt.name, got, err)
		}
		for i, w := range tt.want {
			if !(math.Abs(got.Values[i]-w) <= 1e-15) {
				t.Errorf("%s: channel %d = %v, want %v", tt.name, i+1, got.Values[i], w)
			}
		}
	}
}

func TestFromIntensities(t *testing.T) {
	axis := axisOf(t, Nanometre, 900, 901)
	raw := func(v ...float64) Spectrum { return Spectrum{Axis: axis, Values: v, Quantity: Intensity} }
	got, err := FromIntensities(raw(200, 1100), raw(100, 100), raw(1100, 1100))
	if err != nil || !(math.Abs(got.Values[0]-1) <= 1e-15) || got.Values[1] != 0 || got.Quantity != Absorbance {
		t.Errorf("FromIntensities = %v, %v; want 1, 0", got.Values, err)
	}
	other := raw(1, 1)
	other.Axis = axisOf(t, Nanometre, 900, 902)
	for _, tt := range []struct {
		name                    string
		sample, dark, reference Spectrum
		want                    string
	}{
		{"quantity", raw(1, 1), Spectrum{Axis: axis, Values: []float64{0, 0}, Quantity: Absorbance}, raw(2, 2), "the dark holds absorbance, not raw intensities"},
		{"axis", raw(1, 1), raw(0, 0), other, "the reference has 2 channels, 900–902 nm, the sample 2 channels, 900–901 nm"},
		{"values", raw(1, 1), raw(0, 0), raw(2), "the reference has 1 values, the sample 2"},
		{"sample below dark", raw(1, 1), raw(2, 0), raw(3, 3), "not above zero in 1 channels, first in channel 1 (900 nm): -1"},
		{"both below dark", raw(1, 1), raw(2, 0), raw(1, 3), "no number in 1 channels, first in channel 1 (900 nm)"},
		{"reference is dark", raw(1, 1), raw(0, 2), raw(3, 2), "first in channel 2 (901 nm)"},
	} {
		if got, err := FromIntensities(tt.sample, tt.dark, tt.reference); err == nil || !strings.Contains(err.Error(), tt.want) {
			t.Errorf("%s: FromIntensities = %v, %v; want an error with %q", tt.name, got.Values, err, tt.want)
		}
	}
}

// TestAbsorbanceLaws asserts Beer's law's consequences over many values: a gain of the detector and an offset of all three
// signals change nothing, and transmittances in a row multiply while absorbances add.
func TestAbsorbanceLaws(t *testing.T) {
	axis := axisOf(t, Nanometre, 900, 901)
	raw := func(v, w float64) Spectrum { return Spectrum{Axis: axis, Values: []float64{v, w}, Quantity: Intensity} }
	for k := 1; k < 200; k++ {
		y, z := float64(k)/200, 1/(1+float64(k))
		plain, err1 := FromIntensities(raw(y, z), raw(0, 0), raw(1, 1))
		moved, err2 := FromIntensities(raw(64*y+8, 64*z+8), raw(8, 8), raw(72, 72))
		share, err3 := Spectrum{Axis: axis, Values: []float64{y, y * z}, Quantity: Transmittance}.Absorbance()
		if err1 != nil || err2 != nil || err3 != nil {
			t.Fatal(err1, err2, err3)
		}
		if p, m := plain.Values, moved.Values; !(math.Abs(p[0]-m[0]) <= 1e-13) || !(math.Abs(p[1]-m[1]) <= 1e-13) {
			t.Errorf("gain and offset change %v to %v", p, m)
		}
		if !(math.Abs(share.Values[1]-plain.Values[0]-plain.Values[1]) <= 1e-13) {
			t.Errorf("absorbance of %v × %v = %v, want the sum of %v", y, z, share.Values[1], plain.Values)
		}
	}
}
