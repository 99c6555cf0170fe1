package light

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"
	"time"

	"asusual/model/finding"
	"asusual/model/spectrum"
)

var morning = time.Date(2026, 11, 25, 6, 0, 0, 0, time.UTC)

func axisOf(t testing.TB, p int) *spectrum.Axis {
	t.Helper()
	at := make([]float64, p)
	for i := range at {
		at[i] = 900 + float64(2*i)
	}
	a, err := spectrum.NewAxis(spectrum.Nanometre, at)
	if err != nil {
		t.Fatal(err)
	}
	return a
}

// counts is a spectrum of raw intensities, min minutes after six, with an integration time of ms milliseconds.
func counts(a *spectrum.Axis, name string, min int, ms float64, values ...float64) spectrum.Spectrum {
	return spectrum.Spectrum{Axis: a, Values: values, Quantity: spectrum.Intensity, File: name, Time: morning.Add(time.Duration(min) * time.Minute),
		Exposure: time.Duration(ms * float64(time.Millisecond))}
}

func store(t testing.TB, opt Options, darks, refs []spectrum.Spectrum) *Store {
	t.Helper()
	s, err := NewStore(opt)
	if err != nil {
		t.Fatal(err)
	}
	for _, d := range darks {
		if err := s.AddDark(d); err != nil {
			t.Fatal(err)
		}
	}
	for _, r := range refs {
		if err := s.AddReference(r); err != nil {
			t.Fatal(err)
		}
	}
	return s
}

func kinds(fs []finding.Finding) string {
	var out []string
	for _, f := range fs {
		out = append(out, string(f.Kind))
	}
	return strings.Join(out, " ")
}

// TestAbsorbance: a detector with b = 100 counts, c = 2 counts a millisecond and light of 40 a millisecond at full: worked out by hand.
func TestAbsorbance(t *testing.T) {
	a := axisOf(t, 2)
	signal := func(ms, light float64) float64 { return 100 + ms*(2+light) }
	dark := func(ms float64) spectrum.Spectrum {
		return counts(a, fmt.Sprintf("dark %g", ms), 0, ms, signal(ms, 0), signal(ms, 0))
	}
	ref := func(ms float64) spectrum.Spectrum {
		return counts(a, "white", 1, ms, signal(ms, 40), signal(ms, 40))
	}
	for _, tt := range []struct {
		name       string
		darks      []float64
		ref        float64
		sample     float64
		findings   string
		darkOfThis string
	}{
		{"all alike", []float64{20}, 20, 20, "", "dark 20"},
		{"sample four times as long", []float64{20, 80}, 20, 80, "", "dark 80"},
		{"sample's dark in between", []float64{20, 80}, 20, 50, "dark-between", "dark 20, dark 80"},
		{"the closest two of four", []float64{10, 20, 60, 80}, 20, 50, "dark-between", "dark 20, dark 60"},
		{"both in between", []float64{10, 90}, 20, 50, "dark-between dark-between", "dark 10, dark 90"},
	} {
		var darks []spectrum.Spectrum
		for _, ms := range tt.darks {
			darks = append(darks, dark(ms))
		}
		s := store(t, Options{}, darks, []spectrum.Spectrum{ref(tt.ref)})
		got, err := s.Absorbance(counts(a, "oat", 2, tt.sample, signal(tt.sample, 4), signal(tt.sample, 20))) // a tenth and half of the light
		if err != nil {
			t.Errorf("%s: %v", tt.name, err)
			continue
		}
		if v := got.Spectrum.Values; !(math.Abs(v[0]-1) <= 1e-12) || !(math.Abs(v[1]-0.30102999566398120) <= 1e-12) {
			t.Errorf("%s: Absorbance = %v, want 1 and log₁₀ 2", tt.name, v)
		}
		if kinds(got.Findings) != tt.findings || got.Dark != tt.darkOfThis || got.Reference != "white" {
			t.Errorf("%s: made with %q and %q, said %q; want %q, white, %q", tt.name, got.Dark, got.Reference, kinds(got.Findings), tt.darkOfThis, tt.findings)
		}
		if q := got.Spectrum; q.Quantity != spectrum.Absorbance || q.File != "oat" || !q.Time.Equal(morning.Add(2*time.Minute)) || got.Masked != nil {
			t.Errorf("%s: Absorbance = %+v, want the sample's particulars", tt.name, got)
		}
	}
}

func TestAbsorbanceRefused(t *testing.T) {
	a, other := axisOf(t, 3), axisOf(t, 2)
	dark := counts(a, "dark", 0, 20, 10, 10, 10)
	white := counts(a, "white", 0, 20, 110, 110, 110)
	oat := counts(a, "oat", 0, 20, 60, 60, 60)
	inMS := func(s spectrum.Spectrum, ms float64) spectrum.Spectrum {
		s.Exposure = time.Duration(ms * float64(time.Millisecond))
		return s
	}
	of := func(q spectrum.Quantity) spectrum.Spectrum { s := oat; s.Quantity = q; return s }
	for _, tt := range []struct {
		name        string
		darks, refs []spectrum.Spectrum
		sample      spectrum.Spectrum
		want        string
	}{
		{"nothing", nil, nil, oat, "no dark spectrum is there"},
		{"no reference", []spectrum.Spectrum{dark}, nil, oat, "no reference spectrum is there"},
		{"dark of another axis", []spectrum.Spectrum{counts(other, "d", 0, 20, 1, 1)}, []spectrum.Spectrum{white}, oat, "no dark spectrum has its axis (3 channels, 900–904 nm)"},
		{"reference of another axis", []spectrum.Spectrum{dark}, []spectrum.Spectrum{counts(other, "d", 0, 20, 1, 1)}, oat, "no reference spectrum has its axis"},
		{"longer than all darks", []spectrum.Spectrum{dark, inMS(dark, 5)}, []spectrum.Spectrum{white}, inMS(oat, 50), "integration time of 50 ms; there are those of 5 ms, 20 ms; measure one of 50 ms"},
		{"shorter than all darks", []spectrum.Spectrum{dark}, []spectrum.Spectrum{white}, inMS(oat, 1), "integration time of 1 ms; there are those of 20 ms"},
		{"reference without its dark", []spectrum.Spectrum{dark}, []spectrum.Spectrum{inMS(white, 90)}, oat, "the reference white: no dark spectrum has its integration time of 90 ms"},
		{"absorbance", []spectrum.Spectrum{dark}, []spectrum.Spectrum{white}, of(spectrum.Absorbance), "the spectrum oat holds absorbance; raw intensities are needed"},
		{"no light", []spectrum.Spectrum{dark}, []spectrum.Spectrum{white}, counts(a, "oat", 0, 20, 60, 9, 60), "1 of 3 channels have no absorbance, 0 of them saturated and the others without light, more than 5 %; the first lies at 902 nm"},
		{"no number", []spectrum.Spectrum{dark}, []spectrum.Spectrum{white}, counts(a, "oat", 0, 20, 60, math.NaN(), 60), "channel 2 holds NaN"},
		{"the largest number", []spectrum.Spectrum{dark}, []spectrum.Spectrum{white}, counts(a, "oat", 0, 20, 60, math.MaxFloat64, 60), "channel 2 holds 1.79769e+308, which cannot be computed with"},
		{"too few values", []spectrum.Spectrum{dark}, []spectrum.Spectrum{white}, counts(a, "oat", 0, 20, 60), "1 values and no axis"},
		{"time below zero", []spectrum.Spectrum{dark}, []spectrum.Spectrum{white}, inMS(oat, -1), "integration time of -1ms"},
	} {
		got, err := store(t, Options{}, tt.darks, tt.refs).Absorbance(tt.sample)
		if err == nil || !strings.Contains(err.Error(), tt.want) {
			t.Errorf("%s: Absorbance = %v, %v; want an error with %q", tt.name, got.Spectrum.Values, err, tt.want)
		}
	}
	s := store(t, Options{}, nil, nil)
	if err := s.AddDark(of(spectrum.Reflectance)); err == nil || !strings.Contains(err.Error(), "the dark oat holds reflectance") {
		t.Errorf("AddDark(reflectance) = %v", err)
	}
	if err := s.AddReference(counts(a, "oat", 0, 20, 60)); err == nil {
		t.Error("AddReference took a spectrum with too few values")
	}
}

func TestOptionsRefused(t *testing.T) {
	for _, opt := range []Options{{Full: -1}, {Full: math.NaN()}, {Masked: 1}, {Masked: -0.1}, {Masked: math.NaN()}, {Stale: -1}, {Keep: -1}} {
		if _, err := NewStore(opt); err == nil {
			t.Errorf("NewStore(%+v) gave no error", opt)
		}
	}
}

// TestNearest: the reference nearest in time, on either side of the sample.
func TestNearest(t *testing.T) {
	a := axisOf(t, 1+1)
	dark := counts(a, "dark", 0, 20, 0, 0)
	var refs []spectrum.Spectrum
	for _, min := range []int{240, 0, 120} { // whatever order they come in
		refs = append(refs, counts(a, fmt.Sprintf("white %d", min), min, 20, 100, 100))
	}
	s := store(t, Options{}, []spectrum.Spectrum{dark}, refs)
	for min, want := range map[int]string{-60: "white 0", 0: "white 0", 59: "white 0", 60: "white 0", 61: "white 120", 170: "white 120", 190: "white 240", 900: "white 240"} {
		got, err := s.Absorbance(counts(a, "oat", min, 20, 50, 50))
		if err != nil || got.Reference != want {
			t.Errorf("%d min: reference %q, %v; want %q", min, got.Reference, err, want)
		}
	}
	never := counts(a, "oat", 0, 20, 50, 50)
	never.Time = time.Time{}
	if got, err := s.Absorbance(never); err != nil || got.Reference != "white 240" {
		t.Errorf("without a time: reference %q, %v; want the last", got.Reference, err)
	}
	if len(s.refs) != 3 || !slices.IsSortedFunc(s.refs, func(a, b spectrum.Spectrum) int { return a.Time.Compare(b.Time) }) {
		t.Error("references are not kept in order of time")
	}
}

func TestStale(t *testing.T) {
	a := axisOf(t, 2)
	s := store(t, Options{Stale: time.Hour}, []spectrum.Spectrum{counts(a, "dark", 100, 20, 0, 0)}, []spectrum.Spectrum{counts(a, "white", 0, 20, 9, 9)})
	for min, want := range map[int]string{30: "stale-dark", 60: "", 61: "stale-reference", 300: "stale-dark stale-reference"} {
		got, err := s.Absorbance(counts(a, "oat", min, 20, 5, 5))
		if err != nil {
			t.Fatal(err)
		}
		// The reference's own dark is 100 min away from it, which is said of whatever is made with it.
		if said := strings.TrimSpace(strings.Replace(kinds(got.Findings), "stale-dark", "", 1)); min == 60 || min == 61 {
			if said != want {
				t.Errorf("%d min: said %q, want %q and the reference's dark", min, said, want)
			}
		} else if !strings.HasPrefix(kinds(got.Findings), want[:5]) {
			t.Errorf("%d min: said %q, want %q", min, kinds(got.Findings), want)
		}
	}
	got, err := s.Absorbance(counts(a, "oat", 300, 20, 5, 5))
	if err != nil {
		t.Fatal(err)
	}
	last := got.Findings[len(got.Findings)-1]
	if want := "the nearest reference spectrum was measured 5 h away, more than 1 h: measure a new one"; last.String() != want {
		t.Errorf("said %q, want %q", last, want)
	}
}

// TestMasked: masked channels lie on the straight line between their neighbours, by hand, over an axis that is not even.
func TestMasked(t *testing.T) {
	axis, err := spectrum.NewAxis(spectrum.Nanometre, []float64{900, 902, 904, 910, 912, 914})
	if err != nil {
		t.Fatal(err)
	}
	dark := counts(axis, "dark", 0, 20, 0, 0, 0, 0, 0, 0)
	white := counts(axis, "white", 0, 20, 1000, 1000, 1000, 1000, 1000, 999)
	for _, tt := range []struct {
		name      string
		full      float64
		values    []float64
		masked    []int
		saturated int
		want      []float64
	}{
		{"none", 0, []float64{100, 100.01, 100.02, 100.03, 10, 99.9}, nil, 0, []float64{1, 1, 1, 1, 2, 1}},
		{"one within", 0, []float64{100, 100, 10, -5, 100, 99.9}, []int{3}, 0, []float64{1, 1, 2, 1.25, 1, 1}},
		{"two within", 0, []float64{100, 100, 0, -5, 10, 99.9}, []int{2, 3}, 0, []float64{1, 1, 1.2, 1.8, 2, 1}},
		{"both ends", 0, []float64{0, 10, 100, 100, 100, 0}, []int{0, 5}, 0, []float64{2, 2, 1, 1, 1, 1}},
		{"saturated", 200, []float64{100, 200, 100, 100, 100, 99.9}, []int{1}, 1, []float64{1, 1, 1, 1, 1, 1}},
	} {
		if tt.full > 0 {
			white.Values = []float64{100, 100, 100, 100, 100, 99.9} // below full, ten times the light of 10
			for i := range tt.want {
				tt.want[i] = 0
			}
		}
		s := store(t, Options{Masked: 0.5, Full: tt.full}, []spectrum.Spectrum{dark}, []spectrum.Spectrum{unlike(white)})
		got, err := s.Absorbance(counts(axis, "oat", 0, 20, tt.values...))
		if err != nil {
			t.Errorf("%s: %v", tt.name, err)
			continue
		}
		if !slices.Equal(got.Masked, tt.masked) || got.Saturated != tt.saturated {
			t.Errorf("%s: masked %v, %d saturated; want %v, %d", tt.name, got.Masked, got.Saturated, tt.masked, tt.saturated)
		}
		for i, w := range tt.want {
			if !(math.Abs(got.Spectrum.Values[i]-w) <= 1e-3) {
				t.Errorf("%s: channel %d = %.6f, want %g", tt.name, i+1, got.Spectrum.Values[i], w)
			}
		}
		if want := len(tt.masked) > 0; want != strings.Contains(kinds(got.Findings), "masked") {
			t.Errorf("%s: said %q", tt.name, kinds(got.Findings))
		}
	}
}

// unlike moves neighbouring values a hair apart, so that no top is flat.
func unlike(s spectrum.Spectrum) spectrum.Spectrum {
	s.Values = slices.Clone(s.Values)
	for i := range s.Values {
		s.Values[i] *= 1 - 1e-6*float64(i)
	}
	return s
}

func TestFull(t *testing.T) {
	for _, tt := range []struct {
		name string
		v    []float64
		full float64
		want []int
		at   float64
	}{
		{"at a stated level", []float64{1, 65535, 65534, 65536}, 65535, []int{1, 3}, 65535},
		{"below it", []float64{1, 2, 3}, 65535, nil, 0},
		{"a flat top", []float64{1, 9, 9, 9, 9, 2}, 0, []int{1, 2, 3, 4}, 9},
		{"three in a row", []float64{1, 9, 9, 9, 2, 9}, 0, nil, 0},
		{"two flat tops", []float64{9, 9, 9, 9, 1, 9, 9, 9, 9, 9}, 0, []int{0, 1, 2, 3, 5, 6, 7, 8, 9}, 9},
		{"a flat stretch below the top", []float64{9, 3, 3, 3, 3, 3}, 0, nil, 0},
		{"one value", []float64{3, 3, 3, 3, 3, 3}, 0, nil, 0},
		{"nothing", nil, 0, nil, 0},
	} {
		if got, at := Full(tt.v, tt.full); !slices.Equal(got, tt.want) || at != tt.at {
			t.Errorf("%s: Full = %v at %g, want %v at %g", tt.name, got, at, tt.want, tt.at)
		}
	}
}

func TestExposureNotTold(t *testing.T) {
	a := axisOf(t, 2)
	for _, tt := range []struct {
		name                     string
		dark, reference, sample_ float64
		want                     string
	}{
		{"none says it", 0, 0, 0, ""},
		{"the dark does not", 0, 20, 20, "exposure-not-told"},
		{"the sample does not", 20, 20, 0, "exposure-not-told exposure-not-told"},
		{"the reference does not", 20, 0, 20, "exposure-not-told exposure-not-told"},
	} {
		s := store(t, Options{}, []spectrum.Spectrum{counts(a, "dark", 0, tt.dark, 10, 10)}, []spectrum.Spectrum{counts(a, "white", 0, tt.reference, 110, 110)})
		got, err := s.Absorbance(counts(a, "oat", 0, tt.sample_, 20, 20))
		if err != nil || !(math.Abs(got.Spectrum.Values[0]-1) <= 1e-12) || kinds(got.Findings) != tt.want {
			t.Errorf("%s: Absorbance = %v, %v, said %q; want 1, said %q", tt.name, got.Spectrum.Values, err, kinds(got.Findings), tt.want)
		}
	}
}

// TestNoDark: the light of an interferogram has none.
func TestNoDark(t *testing.T) {
	a := axisOf(t, 2)
	s := store(t, Options{NoDark: true}, nil, []spectrum.Spectrum{counts(a, "white", 0, 0, 100, 100)})
	got, err := s.Absorbance(counts(a, "oat", 0, 0, 10, 1))
	if err != nil || !(math.Abs(got.Spectrum.Values[0]-1) <= 1e-12) || !(math.Abs(got.Spectrum.Values[1]-2) <= 1e-12) || got.Dark != "" {
		t.Errorf("Absorbance = %v, %v, want 1, 2 without a dark", got.Spectrum.Values, err)
	}
}

// TestBounded: the store holds what it is told, drops the oldest in time, and keeps copies.
func TestBounded(t *testing.T) {
	a := axisOf(t, 2)
	s := store(t, Options{Keep: 3}, nil, nil)
	for _, min := range []int{5, 1, 9, 3, 7} {
		d := counts(a, fmt.Sprint(min), min, 20, float64(min), 0)
		if err := s.AddDark(d); err != nil {
			t.Fatal(err)
		}
		d.Values[0] = -1
	}
	darks, refs := s.Spectra()
	if n, m := s.Counts(); n != 3 || m != 0 || len(darks) != 3 || len(refs) != 0 {
		t.Fatalf("%d darks and %d references are kept, want 3 and 0", n, m)
	}
	for i, want := range []float64{5, 7, 9} {
		if darks[i].Values[0] != want {
			t.Errorf("dark %d is that of minute %g, want %g", i+1, darks[i].Values[0], want)
		}
	}
}

// TestAbsorbanceLaws: gain, offset, dark current, the lamp and all three integration times drop out.
func TestAbsorbanceLaws(t *testing.T) {
	const p = 40
	a := axisOf(t, p)
	rng := rand.New(rand.NewPCG(5, 6))
	for range 50 {
		times := [2]float64{5 + 90*rng.Float64(), 5 + 90*rng.Float64()}
		var want, b, c, lamp []float64
		for range p {
			want, b = append(want, 2*rng.Float64()), append(b, 500*rng.NormFloat64())
			c, lamp = append(c, 3*rng.Float64()), append(lamp, 20+500*rng.Float64())
		}
		signal := func(ms float64, light func(i int) float64) (v []float64) {
			for i := range p {
				v = append(v, b[i]+ms*(c[i]+light(i)))
			}
			return v
		}
		none := func(int) float64 { return 0 }
		s := store(t, Options{}, []spectrum.Spectrum{counts(a, "short", 0, 4, signal(4, none)...), counts(a, "long", 0, 100, signal(100, none)...)},
			[]spectrum.Spectrum{counts(a, "white", 0, times[0], signal(times[0], func(i int) float64 { return lamp[i] })...)})
		oat := counts(a, "oat", 0, times[1], signal(times[1], func(i int) float64 { return lamp[i] * math.Pow(10, -want[i]) })...)
		before := slices.Clone(oat.Values)
		got, err := s.Absorbance(oat)
		if err != nil {
			t.Fatal(err)
		}
		for i, w := range want {
			if !(math.Abs(got.Spectrum.Values[i]-w) <= 1e-6) { // times are whole nanoseconds
				t.Fatalf("integration times %v ms: channel %d = %.9f, want %.9f", times, i+1, got.Spectrum.Values[i], w)
			}
		}
		if !slices.Equal(oat.Values, before) {
			t.Fatal("Absorbance changed the values of its sample")
		}
	}
}

// FuzzAbsorbance: whatever counts come, there are finite absorbances or an error.
func FuzzAbsorbance(f *testing.F) {
	f.Add([]byte{0, 10, 255, 3, 90, 90, 90, 90}, uint8(20), uint8(40))
	f.Add([]byte{255}, uint8(0), uint8(0))
	f.Fuzz(func(t *testing.T, data []byte, ms1, ms2 uint8) {
		const p = 12
		if len(data) == 0 {
			return
		}
		a := axisOf(t, p)
		next := 0
		row := func() []float64 {
			v := make([]float64, p)
			for i := range v {
				v[i] = float64(data[next%len(data)]) * math.Pow(2, float64(int8(data[(next*3+1)%len(data)]))/3)
				next++
			}
			return v
		}
		s := store(t, Options{Masked: 0.9}, []spectrum.Spectrum{counts(a, "d", 0, float64(ms1), row()...), counts(a, "e", 0, float64(ms2), row()...)},
			[]spectrum.Spectrum{counts(a, "w", 0, float64(ms1), row()...)})
		got, err := s.Absorbance(counts(a, "s", 0, float64(ms2), row()...))
		if err != nil {
			return
		}
		for i, v := range got.Spectrum.Values {
			if math.IsNaN(v) || math.IsInf(v, 0) {
				t.Fatalf("channel %d is %v", i+1, v)
			}
		}
	})
}

func BenchmarkAbsorbance(b *testing.B) {
	for _, p := range []int{256, 1024} {
		b.Run(fmt.Sprintf("p=%d", p), func(b *testing.B) {
			a := axisOf(b, p)
			v := func(scale float64) (out []float64) {
				for i := range p {
					out = append(out, 100+scale*float64(1+i%17))
				}
				return out
			}
			s := store(b, Options{}, []spectrum.Spectrum{counts(a, "d", 0, 20, v(0)...)}, []spectrum.Spectrum{counts(a, "w", 0, 20, v(50)...)})
			oat := counts(a, "s", 0, 20, v(9)...)
			b.ReportAllocs()
			for b.Loop() {
				if _, err := s.Absorbance(oat); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

// TestSince: what was measured before a change of lamp or detector is not used for what came after, nor the other way round.
func TestSince(t *testing.T) {
	a := axisOf(t, 4)
	old, new := counts(a, "old", 0, 10, 100, 100, 100, 100), counts(a, "new", 60, 10, 300, 300, 300, 300)
	before, after := counts(a, "white before", 1, 10, 1100, 1100, 1100, 1100), counts(a, "white after", 61, 10, 2300, 2300, 2300, 2300)
	since := new.Time.Add(-time.Minute)
	s := store(t, Options{Since: since}, []spectrum.Spectrum{old, new}, []spectrum.Spectrum{before, after})
	for _, c := range []struct {
		min  int
		want string
	}{{2, "white before"}, {57, "white before"}, {59, "white after"}, {90, "white after"}} {
		x := counts(a, "oat", c.min, 10, 500, 500, 500, 500)
		if got, err := s.Absorbance(x); err != nil || got.Reference != c.want {
			t.Errorf("minute %d: reference %q, %v, want %q", c.min, got.Reference, err, c.want)
		}
	}
	x := counts(a, "oat", 90, 10, 500, 500, 500, 500)
	for _, c := range []struct {
		what        string
		darks, refs []spectrum.Spectrum
		says        string
	}{
		{"the darks of before alone", []spectrum.Spectrum{old}, []spectrum.Spectrum{after}, "no dark spectrum was measured with its lamp and detector"},
		{"the references of before alone", []spectrum.Spectrum{new}, []spectrum.Spectrum{before}, "no reference spectrum was measured with its lamp and detector"},
	} {
		if _, err := store(t, Options{Since: since}, c.darks, c.refs).Absorbance(x); err == nil || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%s: %v, want that %s", c.what, err, c.says)
		}
		if _, err := store(t, Options{}, c.darks, c.refs).Absorbance(x); err != nil {
			t.Errorf("%s, without a change: %v", c.what, err)
		}
	}
}
