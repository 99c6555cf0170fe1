package check

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"
)

func TestChannels(t *testing.T) {
	rng := rand.New(rand.NewPCG(9, 9))
	light, dark := make([]float64, 256), make([]float64, 256)
	for i := range light {
		light[i] = 20000 * math.Exp(-math.Pow((float64(i)-128)/60, 2)) // nothing at the ends
		dark[i] = 800 + 5*rng.NormFloat64() + float64(i)/50
	}
	if got := deadIn(light); got != nil {
		t.Errorf("deadIn(an even hump) = %v, want none", got)
	}
	if got := hotIn(dark); got != nil {
		t.Errorf("hotIn(noise of 5 counts) = %v, want none", got)
	}
	light[50], light[51], light[200] = 3, -1, 0
	dark[7], dark[255] = 1200, 900
	if got := deadIn(light); !slices.Equal(got, []int{50, 51, 200}) {
		t.Errorf("deadIn = %v, want 50, 51, 200", got)
	}
	if got := hotIn(dark); !slices.Equal(got, []int{7, 255}) {
		t.Errorf("hotIn = %v, want 7, 255", got)
	}
	flat := slices.Repeat([]float64{64}, 40)
	flat[3] = 65
	if got := hotIn(flat); !slices.Equal(got, []int{3}) {
		t.Errorf("hotIn(one digit above a flat dark) = %v, want 3", got)
	}
	flat[3] = 64.01
	if got := hotIn(flat); got != nil {
		t.Errorf("hotIn(a hair above a flat dark) = %v, want none", got)
	}
	if got := deadIn(nil); got != nil {
		t.Errorf("deadIn(nothing) = %v", got)
	}
	if got := deadIn(make([]float64, 9)); got != nil {
		t.Errorf("deadIn(no light at all) = %v, want none: the lamp is off", got)
	}
}

func TestStuckIn(t *testing.T) {
	rows := make([][]float64, 5)
	for r := range rows {
		rows[r] = make([]float64, 20)
		for i := range rows[r] {
			rows[r][i] = float64(100*i + r)
		}
		rows[r][4], rows[r][11] = 77, 0
	}
	if got := stuckIn(rows); !slices.Equal(got, []int{4, 11}) {
		t.Errorf("stuckIn = %v, want 4, 11", got)
	}
	if got := stuckIn(rows[:4]); got != nil {
		t.Errorf("stuckIn of four rows = %v, want none: they are too few", got)
	}
	same := slices.Repeat([][]float64{rows[0]}, 6)
	if got := stuckIn(same); got != nil {
		t.Errorf("stuckIn of one row six times = %v, want none: that is a copied file", got)
	}
}

// TestRepeatsOf: three repeats of two channels by hand: deviations −1, 0, 1 and 2, −2, 0, so √(10/(2·2)).
func TestRepeatsOf(t *testing.T) {
	got, err := RepeatsOf([][]float64{{4, 12}, {5, 8}, {6, 10}})
	if err != nil {
		t.Fatal(err)
	}
	if !(math.Abs(got.RMS-math.Sqrt(2.5)) <= 1e-14) || !slices.Equal(got.Mean, []float64{5, 10}) {
		t.Errorf("RepeatsOf = RMS %v about %v, want √2.5 about 5, 10", got.RMS, got.Mean)
	}
	if !slices.Equal(got.Deviations[1], []float64{0, -2}) {
		t.Errorf("deviation of the second = %v, want 0, −2", got.Deviations[1])
	}
	for _, x := range [][][]float64{nil, {{1}, {2}}, {{1}, {2}, {3, 4}}, {{}, {}, {}}} {
		if _, err := RepeatsOf(x); err == nil {
			t.Errorf("RepeatsOf(%v) gave no error", x)
		}
	}
}

// TestRepeatsLaw: for independent noise σ the figure is σ; a spectrum added to all repeats changes nothing.
func TestRepeatsLaw(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 1))
	x := make([][]float64, 8)
	for i := range x {
		x[i] = make([]float64, 500)
		for j := range x[i] {
			x[i][j] = 0.003 * rng.NormFloat64()
		}
	}
	plain, _ := RepeatsOf(x)
	if !(math.Abs(plain.RMS/0.003-1) <= 0.04) {
		t.Errorf("noise of 0.003: RMS %.5f", plain.RMS)
	}
	for i := range x {
		for j := range x[i] {
			x[i][j] += math.Sin(float64(j))
		}
	}
	moved, _ := RepeatsOf(x)
	if !(math.Abs(moved.RMS-plain.RMS) <= 1e-12) {
		t.Errorf("a spectrum added to all: RMS %.12f, was %.12f", moved.RMS, plain.RMS)
	}
}

// TestBetween: the noise of two spectra in a row is σ for independent noise σ, whatever both move by.
func TestBetween(t *testing.T) {
	rng := rand.New(rand.NewPCG(2, 1))
	a, b := make([]float64, 4000), make([]float64, 4000)
	for i := range a {
		a[i], b[i] = float64(i)+3*rng.NormFloat64(), float64(i)+50+3*rng.NormFloat64()
	}
	if got := between(a, b); !(math.Abs(got-3) <= 0.15) {
		t.Errorf("between = %.3f, want 3", got)
	}
}

func TestLists(t *testing.T) {
	if got := without([]int{1, 2, 5, 9}, []int{2, 9}); !slices.Equal(got, []int{1, 5}) {
		t.Errorf("without = %v, want 1, 5", got)
	}
	if got := united([]int{5, 1}, []int{1, 7}); !slices.Equal(got, []int{1, 5, 7}) {
		t.Errorf("united = %v, want 1, 5, 7", got)
	}
	for _, tt := range []struct {
		v    []float64
		want float64
	}{{[]float64{3, 1, 2}, 2}, {[]float64{4, 1, 3, 2}, 2.5}, {[]float64{7}, 7}} {
		if got := median(tt.v); got != tt.want {
			t.Errorf("median(%v) = %g, want %g", tt.v, got, tt.want)
		}
	}
	if got := median(nil); !math.IsNaN(got) {
		t.Errorf("median(nothing) = %g, want NaN", got)
	}
}
