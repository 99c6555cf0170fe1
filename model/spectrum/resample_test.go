package spectrum

import (
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"
)

func TestAxisIn(t *testing.T) {
	for _, tt := range []struct {
		from Unit
		at   []float64
		to   Unit
		want []float64 // by definition: λ [nm] = 10⁷ / ν̃ [cm⁻¹] = 10³ λ [µm]
	}{
		{Nanometre, []float64{1000, 2000, 2500}, ReciprocalCentimetre, []float64{10000, 5000, 4000}},
		{ReciprocalCentimetre, []float64{10000, 5000, 4000}, Nanometre, []float64{1000, 2000, 2500}},
		{Nanometre, []float64{900, 1700}, Micrometre, []float64{.9, 1.7}},
		{Micrometre, []float64{.5, 1.25}, Nanometre, []float64{500, 1250}},
		{Micrometre, []float64{2.5, 25}, ReciprocalCentimetre, []float64{4000, 400}},
		{ReciprocalCentimetre, []float64{4000, 400}, Micrometre, []float64{2.5, 25}},
		{Channel, []float64{0, 1}, Channel, []float64{0, 1}},
	} {
		a, err := axisOf(t, tt.from, tt.at...).In(tt.to)
		if err != nil || a.Unit() != tt.to || !slices.Equal(a.Values(), tt.want) {
			t.Errorf("axis %v %v in %v = %v, %v; want %v", tt.from, tt.at, tt.to, a, err, tt.want)
		}
	}
	for _, tt := range [][2]Unit{{Channel, Nanometre}, {Nanometre, Channel}, {UnknownUnit, Nanometre}, {Nanometre, UnknownUnit}} {
		if a, err := axisOf(t, tt[0], 1, 2).In(tt[1]); err == nil || !strings.Contains(err.Error(), "does not convert") {
			t.Errorf("axis in %v converts to %v: %v, %v; want an error", tt[0], tt[1], a, err)
		}
	}
}

// grid returns p positions from lo on, each step apart and moved by up to wobble of a step.
func gridAxis(t testing.TB, u Unit, lo, step float64, p int, wobble float64) *Axis {
	rng := rand.New(rand.NewPCG(uint64(p), 7))
	at := make([]float64, p)
	for i := range at {
		at[i] = lo + step*(float64(i)+wobble*(rng.Float64()-.5))
	}
	return axisOf(t, u, at...)
}

// TestResampleCubic asserts the property that the method promises: a polynomial of degree 3 at most comes out exactly, on
// regular and irregular axes, rising and falling, in gaps inside and at the ends.
func TestResampleCubic(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 1))
	for _, p := range []int{4, 5, 17, 256} {
		for _, wobble := range []float64{0, .6} {
			for _, step := range []float64{1.5, -1.5} {
				from := gridAxis(t, Nanometre, 1300, step, p, wobble)
				lo, hi := from.Range()
				to := gridAxis(t, Nanometre, lo, (hi-lo)/40, 41, 0)
				if p%2 == 1 { // the other way round
					at := to.Values()
					slices.Reverse(at)
					to = axisOf(t, Nanometre, at...)
				}
				r, err := NewResampler(from, to)
				if err != nil {
					t.Fatal(err)
				}
				for degree := range 4 {
					c := [4]float64{}
					for k := range degree + 1 {
						c[k] = rng.NormFloat64()
					}
					poly := func(x float64) float64 {
						u := (x - 1300) / 100
						return c[0] + u*(c[1]+u*(c[2]+u*c[3]))
					}
					src, dst := make([]float64, p), make([]float64, to.Len())
					size := 0.0
					for i := range src {
						src[i] = poly(from.At(i))
						size = max(size, math.Abs(src[i]))
					}
					r.Apply(dst, src)
					for i, got := range dst {
						if want := poly(to.At(i)); !(math.Abs(got-want) <= 1e-11*max(1, size)) {
							t.Fatalf("p=%d wobble=%v step=%v degree=%d: at %v = %v, want %v", p, wobble, step, degree, to.At(i), got, want)
						}
					}
				}
			}
		}
	}
}

// TestResampleFewChannels asserts that two and three channels give a line and a parabola.
func TestResampleFewChannels(t *testing.T) {
	for _, tt := range []struct {
		at, src, to, want []float64
	}{
		{[]float64{900, 910}, []float64{1, 2}, []float64{900, 905, 910}, []float64{1, 1.5, 2}},
		{[]float64{902, 901, 900}, []float64{4, 1, 0}, []float64{900, 900.5, 901.5}, []float64{0, .25, 2.25}},
	} {
		r, err := NewResampler(axisOf(t, Nanometre, tt.at...), axisOf(t, Nanometre, tt.to...))
		if err != nil {
			t.Fatal(err)
		}
		dst := make([]float64, len(tt.to))
		r.Apply(dst, tt.src)
		for i := range dst {
			if !(math.Abs(dst[i]-tt.want[i]) <= 1e-12) {
				t.Errorf("from %v %v at %v = %v, want %v", tt.at, tt.src, tt.to[i], dst[i], tt.want[i])
			}
		}
	}
}

// TestResampleLaws asserts, on a smooth spectrum: channels that both axes have keep their values; there and back gives the same
// within the method's error; units and direction do not matter; and the error falls as the fourth power of the step.
func TestResampleLaws(t *testing.T) {
	band := func(nm float64) float64 { return math.Exp(-math.Pow((nm-1450)/60, 2) / 2) }
	sample := func(a *Axis) []float64 {
		v := make([]float64, a.Len())
		for i := range v {
			nm, _ := convert(a.At(i), a.Unit(), Nanometre)
			v[i] = band(nm)
		}
		return v
	}
	worst := func(from, to *Axis) float64 {
		r, err := NewResampler(from, to)
		if err != nil {
			t.Fatal(err)
		}
		dst, e := make([]float64, to.Len()), 0.0
		r.Apply(dst, sample(from))
		for i, want := range sample(to) {
			e = max(e, math.Abs(dst[i]-want))
		}
		return e
	}
	fine, coarse := gridAxis(t, Nanometre, 1200, 4, 126, 0), gridAxis(t, Nanometre, 1200, 8, 63, 0)
	target := gridAxis(t, Nanometre, 1210, 1.37, 340, 0)
	e4, e8 := worst(fine, target), worst(coarse, target)
	if e4 > 2e-6 || e8/e4 < 12 || e8/e4 > 20 {
		t.Errorf("error on a band of 60 nm with 4 nm and 8 nm steps = %.2g, %.2g; want below 2e-6, and 16 times as much", e4, e8)
	}
	wave, err := fine.In(ReciprocalCentimetre)
	if err != nil {
		t.Fatal(err)
	}
	if e := worst(wave, target); e > 4e-6 {
		t.Errorf("error from cm⁻¹ = %.2g, want below 4e-6", e)
	}
	if e := worst(fine, coarse); e > 1e-15 { // every other channel
		t.Errorf("error on channels that both have = %.2g, want none", e)
	}
}

// TestResampleOvershoot asserts what the documentation says of a step: inside, the largest of x(1−x)(2−x)/6 on 0…1, which
// is 6.4 %; in the end gaps, the largest of x(1−x)(7−2x)/6, which is 25.2 %.
func TestResampleOvershoot(t *testing.T) {
	from := gridAxis(t, Nanometre, 900, 1, 20, 0)
	to := gridAxis(t, Nanometre, 900, .01, 1901, 0)
	r, err := NewResampler(from, to)
	if err != nil {
		t.Fatal(err)
	}
	for _, tt := range []struct {
		at   int // the step's place
		want float64
	}{{10, .06415}, {2, .2517}, {18, .2517}} {
		src, dst := make([]float64, 20), make([]float64, 1901)
		for i := tt.at; i < 20; i++ {
			src[i] = 1
		}
		r.Apply(dst, src)
		over := max(slices.Max(dst)-1, -slices.Min(dst))
		if !(math.Abs(over-tt.want) <= .0005) {
			t.Errorf("a step at channel %d overshoots by %.4f, want %.4f", tt.at, over, tt.want)
		}
	}
}

func TestResamplerRefused(t *testing.T) {
	nm := axisOf(t, Nanometre, 900, 1000, 1100)
	for _, tt := range []struct {
		name     string
		from, to *Axis
		want     string
	}{
		{"below", nm, axisOf(t, Nanometre, 899, 1000), "the spectrum covers 900–1100 nm, the reference needs 899–1000 nm; nothing is extrapolated"},
		{"above", nm, axisOf(t, Nanometre, 1000, 1100.1), "the reference needs 1000–1100.1 nm"},
		{"other unit", nm, axisOf(t, ReciprocalCentimetre, 9000, 10000), "the spectrum covers 9090.91–11111.1 cm⁻¹, the reference needs 9000–10000 cm⁻¹"},
		{"channels and nm", nm, axisOf(t, Channel, 0, 1, 2), "bare channels can only be compared with the same channels"},
		{"channels", axisOf(t, Channel, 0, 1, 2), axisOf(t, Channel, 0, 1), "bare channels"},
		{"unknown and nm", axisOf(t, UnknownUnit, 900, 1000), nm, "does not convert"},
	} {
		if _, err := NewResampler(tt.from, tt.to); err == nil || !strings.Contains(err.Error(), tt.want) {
			t.Errorf("%s: NewResampler = %v, want an error with %q", tt.name, err, tt.want)
		}
	}
}

func TestResamplerIdentity(t *testing.T) {
	a := axisOf(t, Channel, 0, 1, 2)
	r, err := NewResampler(a, axisOf(t, Channel, 0, 1, 2))
	if err != nil || !r.Identity() {
		t.Fatalf("NewResampler of equal axes = %+v, %v; want the identity", r, err)
	}
	dst := make([]float64, 3)
	r.Apply(dst, []float64{1, 2, 3})
	if !slices.Equal(dst, []float64{1, 2, 3}) {
		t.Errorf("Apply = %v, want a copy", dst)
	}
	// An end that only rounding has moved is still covered.
	nm := axisOf(t, Nanometre, 900, 1300, 1700)
	cm, err := nm.In(ReciprocalCentimetre)
	if err != nil {
		t.Fatal(err)
	}
	for _, pair := range [][2]*Axis{{nm, cm}, {cm, nm}} {
		if r, err := NewResampler(pair[0], pair[1]); err != nil || r.Identity() {
			t.Errorf("NewResampler(%v, %v) = %v; want it to reach both ends", pair[0], pair[1], err)
		}
	}
	defer func() {
		if recover() == nil {
			t.Error("Apply with a wrong length did not panic")
		}
	}()
	r.Apply(dst[:2], dst)
}

// TestResamplerSpan: what lies outside the span changes nothing, and what lies at either end of it does.
func TestResamplerSpan(t *testing.T) {
	wide, falling := gridAxis(t, Nanometre, 900, 2, 400, 0), axisOf(t, Nanometre, 1500.5, 1300.5, 1100.5)
	cm, err := wide.In(ReciprocalCentimetre)
	if err != nil {
		t.Fatal(err)
	}
	for _, pair := range [][2]*Axis{{wide, falling}, {cm, falling}, {wide, axisOf(t, Nanometre, 1100.5, 1500.5)}, {wide, wide}} {
		r, err := NewResampler(pair[0], pair[1])
		if err != nil {
			t.Fatal(err)
		}
		src, dst := make([]float64, pair[0].Len()), make([]float64, pair[1].Len())
		from, to := r.Span()
		for i := range src {
			clear(src)
			src[i] = 1
			r.Apply(dst, src)
			zero := !slices.ContainsFunc(dst, func(v float64) bool { return v != 0 })
			if outside := i < from || i >= to; outside && !zero || zero && (i == from || i == to-1) {
				t.Errorf("%v to %v: Span = %d, %d, and channel %d decides: %v", pair[0], pair[1], from, to, i, !zero)
			}
		}
	}
}

func BenchmarkResample(b *testing.B) {
	from, to := gridAxis(b, Nanometre, 890, 1.5, 560, .2), gridAxis(b, Nanometre, 900, 1.5625, 512, 0)
	r, err := NewResampler(from, to)
	if err != nil {
		b.Fatal(err)
	}
	src, dst := make([]float64, 560), make([]float64, 512)
	b.ReportAllocs()
	for b.Loop() {
		r.Apply(dst, src)
	}
}
