package fourier

import (
	"encoding/json"
	"math"
	"math/cmplx"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"
	"time"

	"gonum.org/v1/gonum/dsp/fourier"
	"gonum.org/v1/gonum/floats/scalar"

	"asusual/model/finding"
	"asusual/model/spectrum"
)

const laser = 6.32991e-5 // cm, the vacuum wavelength of a helium–neon laser

// interferogram records I(x) at x = (i−left)·step for i from 0 to left+right.
func interferogram(t testing.TB, left, right int, step float64, at func(x float64) float64) spectrum.Spectrum {
	t.Helper()
	n := left + right + 1
	x, v := make([]float64, n), make([]float64, n)
	for i := range n {
		x[i] = float64(i-left) * step
		v[i] = at(x[i])
	}
	axis, err := spectrum.NewAxis(spectrum.Retardation, x)
	if err != nil {
		t.Fatal(err)
	}
	return spectrum.Spectrum{Axis: axis, Values: v, Quantity: spectrum.Interferogram, File: "oat.jdx", Time: time.Unix(1_800_000_000, 0)}
}

func transform(t testing.TB, s spectrum.Spectrum, opt Options) spectrum.Spectrum {
	t.Helper()
	tr, err := NewTransformer(opt)
	if err != nil {
		t.Fatal(err)
	}
	out, _, err := tr.Transform(s)
	if err != nil {
		t.Fatal(err)
	}
	return out
}

// TestAnalyticPair transforms a damped cosine, whose transform is a Lorentzian (Bracewell, The Fourier Transform and Its Applications,
// 3rd edition, 2000, dictionary of transforms; from memory):
//
//	e^(−a|x|)·cos 2πν̃₀x  ↔  a/(a²+4π²(ν̃−ν̃₀)²) + a/(a²+4π²(ν̃+ν̃₀)²)
//
// Points Δ apart make of it the sum over all its aliases, which has a closed form: with z = e^(−aΔ) and φ± = 2π(ν̃±ν̃₀)Δ, half of
// Σ± Δ(1−z²)/(1−2z·cos φ±+z²), from the geometric series.
func TestAnalyticPair(t *testing.T) {
	const a, nu0 = 60.0, 6000.0 // a half width of a/2π, about 9.5 cm⁻¹
	for _, tt := range []struct {
		name        string
		left, right int
	}{
		{"one-sided", 600, 8000}, {"two-sided", 6000, 6000}, {"nearly two-sided", 5800, 6000}, {"other way round", 8000, 600},
	} {
		for _, fill := range []int{1, 2, 4} {
			s := interferogram(t, tt.left, tt.right, laser, func(x float64) float64 { return math.Exp(-a*math.Abs(x)) * math.Cos(2*math.Pi*nu0*x) })
			out := transform(t, s, Options{Apodization: None, ZeroFill: fill})
			if out.Quantity != spectrum.Intensity || out.Axis.Unit() != spectrum.ReciprocalCentimetre || out.File != "oat.jdx" || out.Time.IsZero() {
				t.Fatalf("%s: Transform gave %v in %v of %q", tt.name, out.Quantity, out.Axis.Unit(), out.File)
			}
			worst, top := 0.0, 1/a
			z := math.Exp(-a * laser)
			for k, got := range out.Values {
				nu := out.Axis.At(k)
				sum, lorentz := 0.0, 0.0
				for _, sign := range []float64{-1, 1} {
					d := 2 * math.Pi * (nu + sign*nu0)
					sum += laser * (1 - z*z) / (1 - 2*z*math.Cos(d*laser) + z*z) / 2
					lorentz += a / (a*a + d*d)
				}
				worst = max(worst, math.Abs(got-sum))
				if math.Abs(nu-nu0) < 100 && math.Abs(got-lorentz) > 1e-4*top {
					t.Errorf("%s, zero filling %d: at %.1f cm⁻¹ %.8f, want the Lorentzian's %.8f", tt.name, fill, nu, got, lorentz)
				}
			}
			if worst > 2e-4*top { // for the mean that is taken off, and what lies beyond the last point
				t.Errorf("%s, zero filling %d: differs from the closed form by %.3g of its height, want 2e-4", tt.name, fill, worst/top)
			}
		}
	}
}

// TestAgainstTransforms compares with gonum's complex transform and with the plain sum, on a two-sided interferogram that is
// symmetric, so that neither phase nor weights matter: B = Δ·Σ (I−mean)·A·cos 2πν̃x.
func TestAgainstTransforms(t *testing.T) {
	const half = 256
	rng := rand.New(rand.NewPCG(7, 8))
	y := make([]float64, half+1)
	for i := range y {
		y[i] = math.Exp(-float64(i)/20) * rng.NormFloat64()
	}
	y[0] = 30
	s := interferogram(t, half, half, laser, func(x float64) float64 { return y[int(math.Round(math.Abs(x)/laser))] })
	mean := 0.0
	for _, v := range s.Values {
		mean += v / float64(len(s.Values))
	}
	for _, ap := range []Apodization{None, HappGenzel, Triangular, NortonBeerWeak, NortonBeerMedium, NortonBeerStrong} {
		out := transform(t, s, Options{Apodization: ap, ZeroFill: 4})
		n := 2048
		seq := make([]complex128, n)
		for i := -half; i <= half; i++ {
			seq[(i+n)%n] = complex((s.Values[i+half]-mean)*ap.At(float64(i)/half), 0)
		}
		coeff := fourier.NewCmplxFFT(n).Coefficients(nil, seq)
		for k, got := range out.Values {
			want := laser * cmplx.Abs(coeff[k+1]) // the phase turns what is negative
			if real(coeff[k+1]) < 0 {
				want = -want
			}
			if k%97 == 0 {
				sum := 0.0
				for i := -half; i <= half; i++ {
					sum += (s.Values[i+half] - mean) * ap.At(float64(i)/half) * math.Cos(2*math.Pi*out.Axis.At(k)*float64(i)*laser)
				}
				if !scalar.EqualWithinAbsOrRel(want, laser*sum, 1e-12, 1e-9) {
					t.Fatalf("%v: the two outside transforms differ: %g and %g", ap, want, laser*sum)
				}
			}
			if !scalar.EqualWithinAbsOrRel(got, want, 1e-12, 1e-9) {
				t.Fatalf("%v: channel %d = %.12g, gonum gives %.12g", ap, k+1, got, want)
			}
		}
	}
}

// source is the light of an invented instrument over wavenumber: a broad hump with two bands in it.
func source(nu float64) float64 {
	b := math.Exp(-math.Pow((nu-6500)/1200, 2))
	b *= 1 - 0.6*math.Exp(-math.Pow((nu-6900)/80, 2)) - 0.3*math.Exp(-math.Pow((nu-5200)/60, 2))
	return b
}

// record sums up I(x) = 2∫ B cos(2πν̃x − φ(ν̃)) dν̃ over 3,000 to 7,800 cm⁻¹, whose transform is B.
func record(phase func(nu float64) float64) func(x float64) float64 {
	const from, to, n = 2500.0, 7850.0, 1200
	return func(x float64) float64 {
		sum := 0.0
		for i := range n {
			nu := from + (to-from)*(float64(i)+0.5)/n
			sum += source(nu) * math.Cos(2*math.Pi*nu*x-phase(nu))
		}
		return 2 * sum * (to - from) / n
	}
}

// TestMertz: an interferogram whose centre lies between two points, and whose phase bends over wavenumber as that of a beam
// splitter does, gives the same spectrum as one without fault; without correction it would not.
func TestMertz(t *testing.T) {
	phases := map[string]func(nu float64) float64{
		"none":     func(float64) float64 { return 0 },
		"constant": func(float64) float64 { return 0.8 },
		"centre between points": func(nu float64) float64 {
			return 2 * math.Pi * nu * 0.4 * laser
		},
		"bent": func(nu float64) float64 { return 0.3 + 1.2*math.Pow((nu-6000)/3000, 2) },
	}
	for name, phase := range phases {
		for _, flip := range []float64{1, -1} { // a detector may give the negative
			i := record(phase)
			s := interferogram(t, 200, 900, laser, func(x float64) float64 { return flip * i(x) })
			out := transform(t, s, Options{From: 3000, To: 7700})
			worst := 0.0
			for k, got := range out.Values {
				worst = max(worst, math.Abs(got-source(out.Axis.At(k))))
			}
			if worst > 0.03 {
				t.Errorf("phase %s, sign %g: differs from the light by up to %.3f of its height, want 0.03", name, flip, worst)
			}
			if lo, hi := out.Axis.Range(); lo < 3000 || hi > 7700 {
				t.Errorf("phase %s: the axis goes from %g to %g, want 3,000 to 7,700", name, lo, hi)
			}
		}
	}
}

// TestRatioHasNoApodizationLeft: the absorbance from two interferograms of one instrument is that of the sample, whatever the
// phase of the instrument.
func TestRatioHasNoApodizationLeft(t *testing.T) {
	phase := func(nu float64) float64 { return 0.5 + 0.9*math.Pow((nu-6000)/3000, 2) }
	white := record(phase)
	s := interferogram(t, 200, 700, laser, white)
	grey := interferogram(t, 200, 700, laser, func(x float64) float64 { return 0.25 * white(x) })
	tr, err := NewTransformer(Options{From: 5000, To: 7500})
	if err != nil {
		t.Fatal(err)
	}
	a, _, err1 := tr.Transform(s)
	b, _, err2 := tr.Transform(grey)
	if err1 != nil || err2 != nil {
		t.Fatal(err1, err2)
	}
	if a.Axis != b.Axis {
		t.Error("two spectra of one grid do not share their axis")
	}
	for k := range a.Values {
		if got := -math.Log10(b.Values[k] / a.Values[k]); math.Abs(got-0.60205999132796239) > 1e-9 { // log₁₀ 4
			t.Fatalf("channel %d: absorbance %.12f, want log₁₀ 4", k+1, got)
		}
	}
}

func TestTransformRefused(t *testing.T) {
	good := func() spectrum.Spectrum {
		return interferogram(t, 100, 400, laser, func(x float64) float64 { return math.Exp(-90*math.Abs(x)) * math.Cos(2*math.Pi*6000*x) })
	}
	points := good()
	points.Axis, _ = spectrum.NewAxis(spectrum.Channel, rising(501, func(i int) float64 { return float64(i) }))
	for _, tt := range []struct {
		name   string
		opt    Options
		change func(*spectrum.Spectrum)
		want   string
	}{
		{"absorbance", Options{}, func(s *spectrum.Spectrum) { s.Quantity = spectrum.Absorbance }, "holds absorbance, no interferogram"},
		{"too few values", Options{}, func(s *spectrum.Spectrum) { s.Values = s.Values[1:] }, "500 values and no axis"},
		{"a hole", Options{}, func(s *spectrum.Spectrum) {
			s.Axis, _ = spectrum.NewAxis(spectrum.Retardation, rising(501, func(i int) float64 { return float64(i+i/400) * laser }))
		}, "not evenly apart"},
		{"points without a step", Options{}, func(s *spectrum.Spectrum) { *s = points }, "path difference between its points is not known"},
		{"another step", Options{Step: laser / 2}, func(*spectrum.Spectrum) {}, "6.32991e-05 cm apart, the settings say"},
		{"no number", Options{}, func(s *spectrum.Spectrum) { s.Values[7] = math.NaN() }, "point 8 of the interferogram holds NaN"},
		{"nothing", Options{}, func(s *spectrum.Spectrum) { clear(s.Values) }, "has no centre"},
		{"centre at the border", Options{}, func(s *spectrum.Spectrum) { s.Values[3] = 99 }, "3 points before its centre"},
		{"no channel", Options{From: 7000, To: 7001}, func(*spectrum.Spectrum) {}, "no two channels lie from 7000 to 7001"},
	} {
		s := good()
		tt.change(&s)
		tr, err := NewTransformer(tt.opt)
		if err != nil {
			t.Fatal(err)
		}
		if out, _, err := tr.Transform(s); err == nil || !strings.Contains(err.Error(), tt.want) {
			t.Errorf("%s: Transform gave %d values and %v, want an error with %q", tt.name, len(out.Values), err, tt.want)
		}
	}
	short := spectrum.Spectrum{Quantity: spectrum.Interferogram, Axis: points.Axis, Values: make([]float64, 501)}
	short.Axis, _ = spectrum.NewAxis(spectrum.Channel, []float64{1, 2, 3})
	short.Values = short.Values[:3]
	tr, _ := NewTransformer(Options{Step: laser})
	if _, _, err := tr.Transform(short); err == nil || !strings.Contains(err.Error(), "3 points; 32 to") {
		t.Errorf("Transform of 3 points gave %v", err)
	}
	for _, opt := range []Options{{ZeroFill: 3}, {ZeroFill: 32}, {PhasePoints: 2}, {Step: -1}, {Step: 2}, {From: 9, To: 8}, {From: math.NaN()}, {To: math.Inf(1)}, {Apodization: 99}} {
		if _, err := NewTransformer(opt); err == nil {
			t.Errorf("NewTransformer(%+v) gave no error", opt)
		}
	}
}

func rising(n int, at func(i int) float64) []float64 {
	x := make([]float64, n)
	for i := range x {
		x[i] = at(i)
	}
	return x
}

// TestRefusedBetween: an interferogram that cannot be transformed leaves the next as it would have been: one that is too coarse, one
// with positions in another unit, and one that is too short for two channels in the range.
func TestRefusedBetween(t *testing.T) {
	damped := func(x float64) float64 { return math.Exp(-90*math.Abs(x)) * math.Cos(2*math.Pi*6000*x) }
	good := interferogram(t, 100, 400, laser, damped)
	tr, err := NewTransformer(Options{From: 4000, To: 4060})
	if err != nil {
		t.Fatal(err)
	}
	want, _, err := tr.Transform(good)
	if err != nil {
		t.Fatal(err)
	}
	for name, bad := range map[string]spectrum.Spectrum{
		"coarse":       interferogram(t, 100, 400, 10*laser, damped),
		"another unit": interferogram(t, 100, 400, 1e4*laser, damped),
		"short":        interferogram(t, 12, 30, laser, damped),
	} {
		if _, _, err := tr.Transform(bad); err == nil || !strings.Contains(err.Error(), "no two channels") {
			t.Fatalf("%s: Transform gave %v, want that it has no two channels in the range", name, err)
		}
		got, _, err := tr.Transform(good)
		if err != nil || !slices.Equal(got.Values, want.Values) {
			t.Errorf("after one that is refused as %s: Transform gave other values than before (%v)", name, err)
		}
	}
}

// TestPoints: an interferogram over a count of points with a step is the same as one over the path difference.
func TestPoints(t *testing.T) {
	s := interferogram(t, 100, 400, laser, func(x float64) float64 { return math.Exp(-90*math.Abs(x)) * math.Cos(2*math.Pi*6000*x) })
	want := transform(t, s, Options{})
	s.Axis, _ = spectrum.NewAxis(spectrum.Channel, rising(501, func(i int) float64 { return float64(i) }))
	got := transform(t, s, Options{Step: laser})
	for k := range want.Values {
		if !scalar.EqualWithinAbsOrRel(got.Values[k], want.Values[k], 1e-12, 1e-9) || !scalar.EqualWithinRel(got.Axis.At(k), want.Axis.At(k), 1e-9) {
			t.Fatalf("channel %d: %g at %g, want %g at %g", k+1, got.Values[k], got.Axis.At(k), want.Values[k], want.Axis.At(k))
		}
	}
}

func TestFindings(t *testing.T) {
	for _, tt := range []struct {
		name string
		left int
		clip float64
		want []finding.Kind
	}{
		{"all is well", 100, 2, nil},
		{"short side", 20, 2, []finding.Kind{finding.ShortSide}},
		{"overloaded", 100, 0.02, []finding.Kind{finding.Clipped}},
		{"both", 20, 0.02, []finding.Kind{finding.ShortSide, finding.Clipped}},
	} {
		s := interferogram(t, tt.left, 400, laser, func(x float64) float64 {
			return min(math.Exp(-90*math.Abs(x))*math.Cos(2*math.Pi*6000*x+0.1)+1e-9*x, tt.clip)
		})
		tr, err := NewTransformer(Options{})
		if err != nil {
			t.Fatal(err)
		}
		_, fs, err := tr.Transform(s)
		if tt.clip < 1 { // the centre may be found elsewhere, but never without a word
			if err == nil && (len(fs) == 0 || fs[len(fs)-1].Kind != finding.Clipped) {
				t.Errorf("%s: Transform gave %v, want that it is clipped", tt.name, fs)
			}
			continue
		}
		if err != nil || len(fs) != len(tt.want) || len(fs) > 0 && fs[0].Kind != tt.want[0] {
			t.Errorf("%s: Transform gave %v, %v; want %v", tt.name, fs, err, tt.want)
		}
	}
}

// TestTransformLaws: values are linear in the interferogram, do not mind a constant, and are not those of the caller.
func TestTransformLaws(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	for range 20 {
		left, right := 70+rng.IntN(100), 200+rng.IntN(300)
		a, nu := 60+60*rng.Float64(), 4000+3000*rng.Float64()
		gain, level := math.Exp(3*rng.NormFloat64()), 100*rng.NormFloat64()
		f := func(x float64) float64 { return math.Exp(-a*math.Abs(x)) * math.Cos(2*math.Pi*nu*x) }
		s := interferogram(t, left, right, laser, f)
		before := append([]float64(nil), s.Values...)
		plain := transform(t, s, Options{})
		moved := transform(t, interferogram(t, left, right, laser, func(x float64) float64 { return gain*f(x) + level }), Options{})
		for k, v := range plain.Values {
			if !scalar.EqualWithinAbsOrRel(moved.Values[k], gain*v, 1e-9*gain, 1e-6) {
				t.Fatalf("%g·I + %g gives %g at channel %d, want %g", gain, level, moved.Values[k], k+1, gain*v)
			}
		}
		for i, v := range s.Values {
			if v != before[i] {
				t.Fatal("Transform changed the values of its interferogram")
			}
		}
	}
}

// FuzzTransform: whatever numbers come, there are finite values or an error.
func FuzzTransform(f *testing.F) {
	f.Add([]byte{1, 2, 3, 255, 0, 9}, uint8(40), uint8(0))
	f.Add([]byte("an interferogram of letters, long enough to have a centre of some kind"), uint8(64), uint8(3))
	f.Fuzz(func(t *testing.T, data []byte, n, ap uint8) {
		if len(data) == 0 {
			return
		}
		v := make([]float64, int(n)+2)
		for i := range v {
			v[i] = float64(int8(data[i%len(data)])) * math.Pow(10, float64(int8(data[(i*7+3)%len(data)]))/8)
		}
		axis, err := spectrum.NewAxis(spectrum.Channel, rising(len(v), func(i int) float64 { return float64(i) }))
		if err != nil {
			t.Fatal(err)
		}
		tr, err := NewTransformer(Options{Step: laser, Apodization: Apodization(ap % 6)})
		if err != nil {
			t.Fatal(err)
		}
		out, _, err := tr.Transform(spectrum.Spectrum{Axis: axis, Values: v, Quantity: spectrum.Interferogram})
		if err != nil {
			return
		}
		for k, y := range out.Values {
			if math.IsNaN(y) || math.IsInf(y, 0) {
				t.Fatalf("channel %d of %v is %v", k+1, v, y)
			}
		}
	})
}

func TestApodizationText(t *testing.T) {
	for a := NortonBeerMedium; a <= None; a++ {
		b, err := json.Marshal(a)
		if err != nil {
			t.Fatal(err)
		}
		var got Apodization
		if err := json.Unmarshal(b, &got); err != nil || got != a {
			t.Errorf("%s reads back as %v, %v; want %v", b, got, err, a)
		}
	}
	var a Apodization
	if err := a.UnmarshalText([]byte("Happ-Genzel")); err != nil || a != HappGenzel {
		t.Errorf("Happ-Genzel reads as %v, %v", a, err)
	}
	if err := a.UnmarshalText([]byte("boxcar")); err == nil || !strings.Contains(err.Error(), "triangular, none") {
		t.Errorf("boxcar reads as %v, %v; want an error that names those there are", a, err)
	}
}

func BenchmarkTransform(b *testing.B) {
	s := interferogram(b, 512, 4096, laser, func(x float64) float64 { return math.Exp(-90*math.Abs(x)) * math.Cos(2*math.Pi*6000*x) })
	tr, err := NewTransformer(Options{})
	if err != nil {
		b.Fatal(err)
	}
	b.ReportAllocs()
	for b.Loop() {
		if _, _, err := tr.Transform(s); err != nil {
			b.Fatal(err)
		}
	}
}
