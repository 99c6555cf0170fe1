package fitness

import (
	"math"
	"testing"

	"asusual/model/finding"
)

func ramp(p int, change func(x []float64)) []float64 {
	x := make([]float64, p)
	for i := range x {
		x[i] = 0.1 + 0.002*float64(i)
	}
	change(x)
	return x
}

func TestCheck(t *testing.T) {
	tests := []struct {
		name string
		x    []float64
		want finding.Kind // "" for fit
	}{
		{"a plain spectrum", ramp(256, func([]float64) {}), ""},
		{"a value that is no number", ramp(256, func(x []float64) { x[17] = math.NaN() }), finding.NotFinite},
		{"an infinite value", ramp(256, func(x []float64) { x[0] = math.Inf(-1) }), finding.NotFinite},
		{"values whose sum is not finite", ramp(256, func(x []float64) { scale(x, 1e308) }), finding.TooLarge},
		{"the largest number in one channel, as for no value", ramp(256, func(x []float64) { x[255] = math.MaxFloat64 }), finding.TooLarge},
		{"the lowest number in one channel", ramp(256, func(x []float64) { x[0] = -math.MaxFloat64 }), finding.TooLarge},
		{"counts of 32 bits that are called absorbance", ramp(256, func(x []float64) { scale(x, 1<<32) }), ""},
		{"a mark of -9999 in one channel", ramp(256, func(x []float64) { x[3] = -9999 }), ""},
		{"NaN among them", ramp(256, func(x []float64) { scale(x, 1e308); x[255] = math.NaN() }), finding.NotFinite},
		{"a flat top that rises once more", ramp(256, func(x []float64) { fill(x[100:120], 3); x[200] = 4 }), ""},
		{"one value everywhere", ramp(256, func(x []float64) { fill(x, 0.4) }), finding.Flat},
		{"a flat top of 20 channels in 256", ramp(256, func(x []float64) { fill(x[100:120], 3) }), finding.Saturated},
		{"a flat top of 12 channels in 256", ramp(256, func(x []float64) { fill(x[100:112], 3) }), ""},
		{"a flat stretch below the top", ramp(256, func(x []float64) { fill(x[100:140], 0.2) }), ""},
		{"two equal highest values in 9", ramp(9, func(x []float64) { x[7] = x[8] }), ""},
	}
	for _, tt := range tests {
		got := Check(tt.x)
		var kind finding.Kind
		if len(got) > 0 {
			kind = got[0].Kind
		}
		if kind != tt.want {
			t.Errorf("Check(%s) = %v, want kind %q", tt.name, got, tt.want)
		}
	}
}

func TestCheckNamesTheChannel(t *testing.T) {
	got := Check(ramp(64, func(x []float64) { x[17] = math.NaN() }))
	if len(got) != 1 || got[0].Values[0] != 18 {
		t.Errorf("Check = %v, want one finding that names channel 18", got)
	}
	got = Check(ramp(64, func(x []float64) { x[17] = -1e30 }))
	if len(got) != 1 || got[0].String() != "channel 18 holds -1e+30, which no absorbance can be" {
		t.Errorf("Check = %v, want one finding that names channel 18 and its value", got)
	}
}

func scale(x []float64, by float64) {
	for i := range x {
		x[i] *= by
	}
}

func fill(x []float64, v float64) {
	for i := range x {
		x[i] = v
	}
}

func BenchmarkCheck(b *testing.B) {
	x := ramp(512, func([]float64) {})
	b.ReportAllocs()
	for b.Loop() {
		Check(x)
	}
}
