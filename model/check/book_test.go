package check

import (
	"encoding/json"
	"fmt"
	"math"
	"math/rand/v2"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"

	"asusual/model/finding"
	"asusual/model/fitness"
	"asusual/model/light"
	"asusual/model/spectrum"
)

var monday = time.Date(2026, 11, 23, 6, 0, 0, 0, time.UTC)

// A bench is an invented instrument: its detector, its lamp, and one standard with three bands.
type bench struct {
	t     testing.TB
	axis  *spectrum.Axis
	rng   *rand.Rand
	hours float64

	lamp, darkness, noise float64
	shift                 float64
	change                func(v []float64)
}

func newBench(t testing.TB) *bench {
	return &bench{t: t, axis: evenAxis(t, spectrum.Nanometre, 900, 3.125, 257), rng: rand.New(rand.NewPCG(11, 12)), lamp: 1, darkness: 800, noise: 3}
}

var standardAt = []float64{975.8, 1151.7, 1366.8}

// take measures: share of the light that comes back, nil for the dark, with an integration time of 20 ms.
func (b *bench) take(name string, share func(nm float64) float64) spectrum.Spectrum {
	v := make([]float64, b.axis.Len())
	for i := range v {
		nm := b.axis.At(i)
		v[i] = b.darkness + b.noise*b.rng.NormFloat64()
		if share != nil {
			v[i] += 40000 * b.lamp * math.Exp(-math.Pow((nm-1300)/350, 2)) * share(nm+b.shift)
		}
	}
	if b.change != nil {
		b.change(v)
	}
	b.hours++
	return spectrum.Spectrum{Axis: b.axis, Values: v, Quantity: spectrum.Intensity, File: name, Exposure: 20 * time.Millisecond,
		Time: monday.Add(time.Duration(b.hours * float64(time.Hour)))}
}

func (b *bench) dark() spectrum.Spectrum { return b.take("dark", nil) }
func (b *bench) white() spectrum.Spectrum {
	return b.take("white", func(float64) float64 { return 1 })
}
func (b *bench) standard() spectrum.Spectrum {
	return b.take("oxides", func(nm float64) float64 {
		a := 0.05
		for _, c := range standardAt {
			a += 0.4 * math.Exp(-math.Pow((nm-c)/9, 2)/2)
		}
		return math.Pow(10, -a)
	})
}

func (b *bench) book(set Settings) *Book {
	b.t.Helper()
	k, err := NewBook(set, BookState{})
	if err != nil {
		b.t.Fatal(err)
	}
	return k
}

var oxides = &Certificate{Name: "oxides", Unit: spectrum.Nanometre, Bands: []Band{{At: 975.8}, {At: 1151.7}, {At: 1366.8, Tolerance: 2}}}

// round adds a dark, a reference and a standard.
func (b *bench) round(k *Book) []Result {
	return slices.Concat(k.Add(Dark, b.dark()), k.Add(Reference, b.white()), k.Add(Standard, b.standard()))
}

func of(rs []Result, m Measure) (out []Result) {
	for _, r := range rs {
		if r.Measure == m {
			out = append(out, r)
		}
	}
	return out
}

// TestBookFit: an instrument that stays as it is stays fit, with every measure taken.
func TestBookFit(t *testing.T) {
	b := newBench(t)
	k := b.book(Settings{Standard: oxides, Pause: 4 * time.Hour, Limits: Limits{LineMean: Pair{2e-3, 3e-3}, LineEach: Pair{6e-3, 9e-3}, Repeat: Pair{6e-3, 1e-2}}})
	var rs []Result
	for range 12 {
		rs = b.round(k)
		for _, r := range rs {
			if r.State != fitness.Fit && r.State != "" || r.State != "" && r.Finding.Kind != "" {
				t.Errorf("%s %s = %g %s: %s, %v; want fit", r.Measure, r.About, r.Value, r.Unit, r.State, r.Finding)
			}
			if r.Time.IsZero() || math.IsNaN(r.Value) {
				t.Errorf("%s: time %v, value %g", r.Measure, r.Time, r.Value)
			}
		}
	}
	for m, n := range map[Measure]int{DarkLevel: 1, DarkNoise: 1, Hot: 1, LightLevel: 9, LineNoise: 8, LineMean: 1, LineTimes: 1, Saturated: 1, Dead: 1, Stuck: 1, Repeatable: 1, BandAt: 3, NotMeasured: 0} {
		if got := of(rs, m); len(got) != n {
			t.Errorf("%d results of %s, want %d", len(got), m, n)
		}
	}
	if state, since, why := k.Instrument(); state != fitness.Fit || len(why) > 0 || since.IsZero() {
		t.Errorf("Instrument = %v since %v, %v; want fit", state, since, why)
	}
	if k.Add(Sample, b.white()) != nil {
		t.Error("a sample was checked")
	}
}

// TestBookFaults: each fault is told by its measure, with its size, and makes the instrument what it should be.
func TestBookFaults(t *testing.T) {
	quiet := Limits{LineMean: Pair{2e-3, 3e-3}, LineEach: Pair{6e-3, 9e-3}, Repeat: Pair{6e-3, 1e-2}}
	for _, tt := range []struct {
		name  string
		fault func(b *bench)
		m     Measure
		about string
		value float64
		tol   float64
		state fitness.State
		kind  finding.Kind
	}{
		{"cooling lost", func(b *bench) { b.darkness = 1000 }, DarkLevel, "20ms", 25, 0.5, fitness.Ageing, finding.DarkLevel},
		{"light leaks in", func(b *bench) { b.darkness = 2400 }, DarkLevel, "20ms", 200, 1, fitness.Bad, finding.DarkLevel},
		{"a noisy detector", func(b *bench) { b.noise = 7 }, DarkNoise, "20ms", 7. / 3, 0.6, fitness.Ageing, finding.DarkNoise},
		{"an old lamp", func(b *bench) { b.lamp = 0.7 }, LightLevel, "all channels", 30, 0.5, fitness.Ageing, finding.LightLevel},
		{"a lamp that fails", func(b *bench) { b.lamp = 0.3 }, LightLevel, "all channels", 70, 0.5, fitness.Bad, finding.LightLevel},
		{"a hot channel", func(b *bench) { b.change = func(v []float64) { v[40] += 300 } }, Hot, "20ms", 100. / 257, 0.01, fitness.Ageing, finding.HotChannels},
		{"a dead channel", func(b *bench) { b.change = func(v []float64) { v[120] = 801 } }, Dead, "", 100. / 257, 0.01, fitness.Ageing, finding.DeadChannels},
		{"too much light", func(b *bench) {
			b.change = func(v []float64) {
				for i := range v {
					v[i] = min(v[i], 39000)
				}
			}
		}, Saturated, "", 100 * 45. / 257, 6, fitness.Bad, finding.SaturatedNow},
		{"an axis that crept", func(b *bench) { b.shift = 1.6 }, BandAt, "1366.8 nm", 1.6, 0.3, fitness.Ageing, finding.BandMoved},
		{"an axis that moved", func(b *bench) { b.shift = -3 }, BandAt, "1366.8 nm", 3, 0.3, fitness.Bad, finding.BandMoved},
	} {
		b := newBench(t)
		k := b.book(Settings{Standard: oxides, Pause: 4 * time.Hour, Limits: quiet})
		for range 6 {
			b.round(k)
		}
		tt.fault(b)
		rs := b.round(k)
		if tt.m == DarkNoise {
			rs = b.round(k) // noise is told from two in a row
		}
		i := slices.IndexFunc(rs, func(r Result) bool { return r.Measure == tt.m && r.About == tt.about })
		if i < 0 {
			t.Errorf("%s: no result of %s over %q", tt.name, tt.m, tt.about)
			continue
		}
		r := rs[i]
		if !(math.Abs(r.Value-tt.value) <= tt.tol) || r.State != tt.state || r.Finding.Kind != tt.kind {
			t.Errorf("%s: %s = %.4g %s, %s, %v; want %.4g, %s, %s", tt.name, r.Measure, r.Value, r.Unit, r.State, r.Finding, tt.value, tt.state, tt.kind)
		}
		if text := r.Finding.String(); strings.Contains(text, "{") {
			t.Errorf("%s: a word is missing in %q", tt.name, text)
		}
		if state, since, why := k.Instrument(); state == fitness.Fit || len(why) == 0 || since.Before(monday.Add(18*time.Hour)) {
			t.Errorf("%s: Instrument = %v since %v, %v; want it not fit since the fault", tt.name, state, since, why)
		}
	}
}

// TestBookReturns: a fault that is mended is told no longer.
func TestBookReturns(t *testing.T) {
	b := newBench(t)
	k := b.book(Settings{})
	for i := range 9 {
		b.darkness = 800
		if i == 7 {
			b.darkness = 2000
		}
		k.Add(Dark, b.dark())
		want := fitness.Fit
		if i == 7 {
			want = fitness.Bad
		}
		if state, since, _ := k.Instrument(); state != want || i >= 7 && !since.Equal(monday.Add(time.Duration(i+1)*time.Hour)) {
			t.Errorf("dark %d: Instrument = %v since %v, want %v", i+1, state, since, want)
		}
	}
}

// TestDarkTakenOff: of a detector that takes its darkness off by itself, only noise is left, of which no share can be taken; nor is one that
// was taken before told any longer.
func TestDarkTakenOff(t *testing.T) {
	b := newBench(t)
	b.darkness = 0
	k := b.book(Settings{})
	for i := range 10 {
		if i == 9 {
			k.State.Latest = append(k.State.Latest, Result{Measure: DarkLevel, About: "20ms", State: fitness.Bad})
		}
		rs := k.Add(Dark, b.dark())
		if level := of(rs, DarkLevel); i >= 5 && len(level) > 0 || len(of(rs, DarkNoise)) != min(i/5, 1) {
			t.Errorf("dark %d: %v, want its noise and no level", i+1, rs)
		}
	}
	if state, _, why := k.Instrument(); state != fitness.Fit || len(why) != 1 || why[0].Kind != finding.CannotCheck {
		t.Errorf("Instrument = %v, %v; want fit, and why the level is not known", state, why)
	}
	b.noise = 9
	k.Add(Dark, b.dark())
	k.Add(Dark, b.dark())
	if state, _, why := k.Instrument(); state == fitness.Fit {
		t.Errorf("with three times the noise: Instrument = %v, %v; want that it is not fit", state, why)
	}
}

// TestDarkOfANoisyDetector: the median of 257 channels tells a level of nine times the noise of one, and that it is half as much again.
func TestDarkOfANoisyDetector(t *testing.T) {
	b := newBench(t)
	b.darkness, b.noise = 900, 100
	k := b.book(Settings{})
	for i := range 7 {
		if i == 6 {
			b.darkness = 1350
		}
		level := of(k.Add(Dark, b.dark()), DarkLevel)
		if want := float64(i / 6 * 50); len(level) != 1 || !(math.Abs(level[0].Value-want) <= 3) {
			t.Errorf("dark %d: level %v, want it to have moved by %g %%", i+1, level, want)
		}
	}
}

// TestResultsNotRenewed: a result of darks with another integration time stands as long as one of them is kept, and one of a band as
// long as the certificate states it.
func TestResultsNotRenewed(t *testing.T) {
	b := newBench(t)
	k := b.book(Settings{Light: light.Options{Keep: 6}})
	for range 6 {
		k.Add(Dark, b.dark())
	}
	b.darkness = 2400
	k.Add(Dark, b.dark())
	b.darkness = 800
	for i := range 6 {
		if state, _, _ := k.Instrument(); state != fitness.Bad {
			t.Errorf("before dark %d of 10 ms: Instrument = %v, want unfit by the last of 20 ms", i+1, state)
		}
		s := b.dark()
		s.Exposure = 10 * time.Millisecond
		k.Add(Dark, s)
	}
	if state, since, why := k.Instrument(); state != fitness.Fit || len(why) > 0 || !since.Equal(monday.Add(13*time.Hour)) {
		t.Errorf("after the last dark of 20 ms went: Instrument = %v since %v, %v; want fit since now", state, since, why)
	}

	set := Settings{Standard: oxides}
	k = b.book(set)
	b.shift = 5
	b.round(k)
	if state, _, _ := k.Instrument(); state != fitness.Bad {
		t.Fatalf("Instrument = %v with an axis 5 nm off, want unfit", state)
	}
	cert := *oxides
	cert.Bands = []Band{{At: 1945.7}}
	for _, c := range []*Certificate{nil, &cert} {
		again, err := NewBook(Settings{Standard: c}, k.State)
		if err != nil {
			t.Fatal(err)
		}
		if state, since, why := again.Instrument(); state != fitness.Fit || len(why) > 0 || !since.Equal(monday.Add(time.Duration(b.hours)*time.Hour)) {
			t.Errorf("with another certificate: Instrument = %v since %v, %v; want fit since the last check", state, since, why)
		}
	}
	if state, _, _ := k.Instrument(); state != fitness.Bad {
		t.Errorf("a book with another certificate changed the state of the first: %v", state)
	}
}

// TestBookResumes: a book that is kept as JSON and taken up again gives what one without a break gives.
func TestBookResumes(t *testing.T) {
	one, two := newBench(t), newBench(t)
	set := Settings{Standard: oxides, Pause: 4 * time.Hour}
	whole, parts := one.book(set), two.book(set)
	for i := range 10 {
		a, b := one.round(whole), two.round(parts)
		if !reflect.DeepEqual(a, b) {
			t.Fatalf("round %d: %v, without a break %v", i+1, b, a)
		}
		kept, err := json.Marshal(parts.State)
		if err != nil {
			t.Fatal(err)
		}
		var state BookState
		if err := json.Unmarshal(kept, &state); err != nil {
			t.Fatal(err)
		}
		if parts, err = NewBook(set, state); err != nil {
			t.Fatal(err)
		}
	}
	if d, r := parts.Store().Counts(); d == 0 || r == 0 {
		t.Errorf("%d darks and %d references after the last break, want some", d, r)
	}
}

// TestBookCannot: what cannot be checked is told with the reason, and nothing else is made of it.
func TestBookCannot(t *testing.T) {
	b := newBench(t)
	other := evenAxis(t, spectrum.Nanometre, 900, 3, 257)
	for _, tt := range []struct {
		name string
		role Role
		s    func() spectrum.Spectrum
		want string
	}{
		{"reference before any dark", Reference, b.white, "no dark spectrum is there"},
		{"another axis", Dark, func() spectrum.Spectrum { s := b.dark(); s.Axis = other; return s }, "the checks so far"},
		{"too few values", Dark, func() spectrum.Spectrum { s := b.dark(); s.Values = s.Values[1:]; return s }, "256 values and no axis"},
		{"a dark of absorbances", Dark, func() spectrum.Spectrum { s := b.dark(); s.Quantity = spectrum.Absorbance; return s }, "holds absorbance"},
		{"a dark of the largest number", Dark, func() spectrum.Spectrum { s := b.dark(); s.Values[7] = math.MaxFloat64; return s }, "channel 8 holds 1.79769e+308, which cannot be computed with"},
		{"a reference of reflectances of the largest number", Reference, func() spectrum.Spectrum {
			s := b.dark()
			s.Values[7], s.Quantity = math.MaxFloat64, spectrum.Reflectance
			return s
		}, "channel 8 holds 1.79769e+308, which cannot be computed with"},
		{"a reference without any absorbance", Reference, func() spectrum.Spectrum {
			s := b.dark()
			s.Values, s.Quantity = slices.Repeat([]float64{-200}, len(s.Values)), spectrum.Absorbance
			return s
		}, "channel 1 holds -200, which cannot be computed with"},
		{"a standard of the largest number", Standard, func() spectrum.Spectrum {
			s := b.dark()
			s.Values[7], s.Quantity = math.MaxFloat64, spectrum.Absorbance
			return s
		}, "channel 8 holds 1.79769e+308, which cannot be computed with"},
		{"an interferogram", Reference, func() spectrum.Spectrum { s := b.dark(); s.Quantity = spectrum.Interferogram; return s }, "no light can be told"},
		{"a standard without a dark", Standard, b.standard, "no dark spectrum is there"},
	} {
		k := b.book(Settings{Standard: oxides})
		k.State.Axis = b.axis
		rs := k.Add(tt.role, tt.s())
		if len(rs) != 1 || rs[0].Measure != NotMeasured || rs[0].State != "" || !strings.Contains(rs[0].Finding.String(), tt.want) {
			t.Errorf("%s: Add = %v, want one result that says %q", tt.name, rs, tt.want)
		}
		state, _, why := k.Instrument()
		if state != fitness.Fit || len(why) != 1 {
			t.Errorf("%s: Instrument = %v, %v; want fit, and why it is not known", tt.name, state, why)
		}
	}
	k := b.book(Settings{Standard: oxides})
	k.Add(Reference, b.white())
	k.Add(Dark, b.dark())
	k.Add(Reference, b.white())
	if _, _, why := k.Instrument(); len(why) != 0 {
		t.Errorf("after a dark and a reference: %v, want that the trouble is over", why)
	}
}

// TestBands: a band beside the axis, or not to be found, is told and no fault.
func TestBands(t *testing.T) {
	b := newBench(t)
	cert := *oxides
	cert.Bands = []Band{{At: 1945.7}, {At: 1250}, {At: 1366.8}}
	k := b.book(Settings{Standard: &cert})
	k.Add(Dark, b.dark())
	k.Add(Reference, b.white())
	rs := of(k.Add(Standard, b.standard()), BandAt)
	if len(rs) != 3 || rs[0].Finding.Kind != finding.BandNotFound || rs[1].State == fitness.Fit || rs[2].State != fitness.Fit {
		t.Errorf("bands = %v, want one beside the axis, one that is not there, and one", rs)
	}
	if !strings.Contains(rs[0].Finding.String(), "the axis goes from 900 to 1700 nm") {
		t.Errorf("said %q, want the axis", rs[0].Finding)
	}
	channels, err := spectrum.NewAxis(spectrum.Channel, b.axis.Values())
	if err != nil {
		t.Fatal(err)
	}
	s := spectrum.Spectrum{Axis: channels, Values: make([]float64, 257), Quantity: spectrum.Absorbance}
	if rs := b.book(Settings{Standard: oxides}).Add(Standard, s); len(rs) != 1 || rs[0].Measure != NotMeasured {
		t.Errorf("a standard over channels = %v, want that it cannot be told", rs)
	}
}

// TestReflectanceReferences: an instrument that writes reflectances or absorbances of its tile is checked without a dark.
func TestReflectanceReferences(t *testing.T) {
	a := evenAxis(t, spectrum.Nanometre, 900, 4, 200)
	rng := rand.New(rand.NewPCG(2, 3))
	for _, q := range []spectrum.Quantity{spectrum.Reflectance, spectrum.Absorbance} {
		k, err := NewBook(Settings{First: 3}, BookState{})
		if err != nil {
			t.Fatal(err)
		}
		var rs []Result
		for i := range 6 {
			s := spectrum.Spectrum{Axis: a, Quantity: q, Values: make([]float64, 200), Time: monday.Add(time.Duration(i) * time.Hour)}
			for j := range s.Values {
				s.Values[j] = 0.99 * (1 + 1e-4*rng.NormFloat64())
				if i == 5 {
					s.Values[j] *= 0.7
				}
				if q == spectrum.Absorbance {
					s.Values[j] = -math.Log10(s.Values[j])
				}
			}
			rs = k.Add(Reference, s)
		}
		r := of(rs, LightLevel)[0]
		if !(math.Abs(r.Value-30) <= 0.1) || r.State != fitness.Ageing {
			t.Errorf("%v: light level %.3f %%, %s; want 30 %%, ageing", q, r.Value, r.State)
		}
		if want := "the reference stands at 70 % of its first level over all channels, limit 20 % away: look at lamp, window and fibre"; r.Finding.String() != want {
			t.Errorf("%v: said %q, want %q", q, r.Finding, want)
		}
		for _, region := range of(rs, LightLevel)[1:] {
			if region.State != fitness.Ageing || region.Finding.Kind != "" {
				t.Errorf("%v: %s is %s, says %q; want ageing, and the reason said once for all channels", q, region.About, region.State, region.Finding)
			}
		}
		if n := of(rs, LineMean)[0].Value; !(math.Abs(n-6.142e-5) <= 1e-5) {
			t.Errorf("%v: noise of the 100 %% line %.3g, want 6.142e-5", q, n)
		}
	}
}

// TestLightOfARegion: a region that lost its light alone says so, and so does one that lost more than all channels did.
func TestLightOfARegion(t *testing.T) {
	b := newBench(t)
	k := b.book(Settings{First: 2})
	axis := b.axis
	for _, tt := range []struct {
		whole, last float64 // shares of the first light
		said        int
	}{{1, 1, 0}, {1, 0.7, 1}, {0.75, 0.75, 1}, {0.75, 0.6, 2}} {
		k.State.Axis, k.State.Light.Mean = axis, make([]float64, axis.Len())
		lit := make([]float64, axis.Len())
		regions := k.regions()
		_, hi := axis.Range()
		for j := range lit {
			k.State.Light.Mean[j], lit[j] = 1000, 1000*tt.whole
			if regions[len(regions)-1].has(axis.At(j), hi) {
				lit[j] = 1000 * tt.last
			}
		}
		said := 0
		for _, r := range k.levels(lit) {
			if r.Finding.Kind != "" {
				said++
			}
		}
		if said != tt.said {
			t.Errorf("light of %g, in the last region of %g: %d reasons, want %d", tt.whole, tt.last, said, tt.said)
		}
	}
}

func TestNewBookRefused(t *testing.T) {
	b := newBench(t)
	k := b.book(Settings{})
	b.round(k)
	wrong := k.State
	wrong.Light.Last = []float64{1}
	for _, tt := range []struct {
		set   Settings
		state BookState
		want  string
	}{
		{Settings{First: -1}, BookState{}, "neither can be below zero"},
		{Settings{Regions: []Region{{5, 5}}}, BookState{}, "a region from 5 to 5 is empty"},
		{Settings{Standard: &Certificate{Name: "x"}}, BookState{}, `standard "x"`},
		{Settings{Limits: Limits{Hot: Pair{3, 1}}}, BookState{}, "the limits of hot channels are 3 and 1"},
		{Settings{Light: light.Options{Full: -1}}, BookState{}, "a full channel at -1 counts"},
		{Settings{}, wrong, "holds 1 values for an axis of 257 channels"},
		{Settings{}, BookState{Darks: []spectrum.Spectrum{{}}}, "the state of the checks: the dark"},
	} {
		if _, err := NewBook(tt.set, tt.state); err == nil || !strings.Contains(err.Error(), tt.want) {
			t.Errorf("NewBook = %v, want an error with %q", err, tt.want)
		}
	}
}

// TestBookBounded: whatever the number of checks, the state stays about as large.
func TestBookBounded(t *testing.T) {
	b := newBench(t)
	k := b.book(Settings{Standard: oxides, Pause: 100 * time.Hour})
	size := 0
	for i := range 60 {
		b.round(k)
		if i == 25 || i == 59 {
			kept, err := json.Marshal(k.State)
			if err != nil {
				t.Fatal(err)
			}
			if i == 25 {
				size = len(kept)
			} else if len(kept) > size+size/20 {
				t.Errorf("the state grew from %d to %d bytes", size, len(kept))
			}
		}
	}
	for i := range 20 { // other integration times
		s := b.dark()
		s.Exposure = time.Duration(i+1) * time.Millisecond
		k.Add(Dark, s)
	}
	if n := len(k.State.Dark); n > mostDarks {
		t.Errorf("%d integration times are kept, want at most %d", n, mostDarks)
	}
}

func BenchmarkReference(b *testing.B) {
	bench := newBench(b)
	k := bench.book(Settings{})
	for range 6 {
		k.Add(Dark, bench.dark())
		k.Add(Reference, bench.white())
	}
	s := bench.white()
	b.ReportAllocs()
	for b.Loop() {
		k.Add(Reference, s)
	}
}

func ExampleBook() {
	axis, _ := spectrum.NewAxis(spectrum.Nanometre, []float64{1000, 1100, 1200, 1300, 1400, 1500, 1600, 1700})
	book, _ := NewBook(Settings{First: 2}, BookState{})
	six := time.Date(2026, 11, 25, 6, 0, 0, 0, time.UTC)
	for hour, level := range []float64{800, 802, 801, 799, 960} {
		v := make([]float64, 8)
		for i := range v {
			v[i] = level + float64(i*hour%3)
		}
		rs := book.Add(Dark, spectrum.Spectrum{Axis: axis, Values: v, Quantity: spectrum.Intensity, Time: six.Add(time.Duration(hour) * time.Hour)})
		fmt.Printf("%.1f %s %q\n", rs[0].Value, rs[0].Unit, rs[0].State)
	}
	state, since, why := book.Instrument()
	fmt.Println(state, "since", since.Format("15:04"))
	fmt.Println(why[0])
	// Output:
	// 0.0 % ""
	// 0.0 % ""
	// 0.1 % "fit"
	// 0.3 % "fit"
	// 19.9 % "ageing"
	// ageing since 10:00
	// the dark level has moved by 20 % since the first dark spectra, limit 10 %: look at the detector's cooling and at stray light
}

// TestAnotherDetector: what a detector on another axis measures is of no use to the checks before they begin anew, but absorbances are made
// with it all the same, and it is said what to set.
func TestAnotherDetector(t *testing.T) {
	b := newBench(t)
	k := b.book(Settings{})
	for range 6 {
		b.round(k)
	}
	b.lamp = 0.3
	b.round(k)
	if state, _, _ := k.Instrument(); state != fitness.Bad {
		t.Fatalf("Instrument under a third of its light = %s, want unfit", state)
	}
	changed := monday.Add(time.Duration(b.hours*float64(time.Hour)) + 30*time.Minute)
	b.axis, b.lamp, b.darkness = evenAxis(t, spectrum.Nanometre, 950, 3, 240), 1.6, 3000
	dark, white := b.dark(), b.white()
	for role, s := range map[Role]spectrum.Spectrum{Dark: dark, Reference: white} {
		if rs := k.Add(role, s); len(rs) != 1 || rs[0].Measure != NotMeasured || !strings.Contains(rs[0].Finding.String(), "since under [line.instrument]") {
			t.Errorf("%s on another axis: %v, want that since has the checks begin anew", role, rs)
		}
	}
	sample := b.take("oat", func(float64) float64 { return 0.1 })
	near := func(k *Book, when string) {
		t.Helper()
		made, err := k.Store().Absorbance(sample)
		if err != nil || made.Dark != dark.Name() || math.Abs(made.Spectrum.Values[100]-1) > 0.01 {
			t.Errorf("%s: Absorbance = %v, %v, want 1, made with the dark and the reference of the detector", when, made.Spectrum.Values, err)
		}
	}
	near(k, "before the checks begin anew")

	text, err := json.Marshal(k.State)
	if err != nil {
		t.Fatal(err)
	}
	resume := func(text []byte) *Book {
		t.Helper()
		var state BookState
		if err := json.Unmarshal(text, &state); err != nil {
			t.Fatal(err)
		}
		k, err := NewBook(Settings{Since: changed}, state)
		if err != nil {
			t.Fatal(err)
		}
		return k
	}
	k = resume(text)
	near(k, "as soon as the checks begin anew")
	if d, l := k.State.Dark, k.State.Light; len(d) != 1 || d[0].N != 1 || l.N != 1 {
		t.Errorf("the checks begin anew with %d kinds of darks and %d references, want the dark and the reference measured since", len(d), l.N)
	}
	if state, _, why := k.Instrument(); state != fitness.Fit || len(why) != 0 || !k.State.Began.Equal(changed) {
		t.Errorf("Instrument as the checks begin anew = %s, %v, began %v, want fit, and nothing against it", state, why, k.State.Began)
	}
	for range 6 {
		b.round(k)
	}
	if state, _, why := k.Instrument(); state != fitness.Fit || k.State.Light.N != 5 {
		t.Errorf("Instrument after six rounds of the new detector = %s, %v, of %d first ones, want fit, 5", state, why, k.State.Light.N)
	}
	if text, err = json.Marshal(k.State); err != nil {
		t.Fatal(err)
	}
	if again := resume(text); again.State.Light.N != 5 {
		t.Errorf("after a restart the baseline is of %d references, want that it goes on with 5", again.State.Light.N)
	}
	for _, c := range []struct {
		what  string
		since time.Time
		light int // first references that the book goes on with
	}{
		{"a date before all of these checks", changed.Add(-time.Minute), 5},
		{"a slip, a year ahead", changed.AddDate(1, 0, 0), 0},
		{"none any more", time.Time{}, 5},
	} {
		var state BookState
		if err := json.Unmarshal(text, &state); err != nil {
			t.Fatal(err)
		}
		again, err := NewBook(Settings{Since: c.since}, state)
		if err != nil {
			t.Fatal(err)
		}
		if s := again.State; s.Light.N != c.light || !c.since.IsZero() && !s.Began.Equal(c.since) {
			t.Errorf("since is %s: goes on with %d references, began %v, want %d", c.what, s.Light.N, s.Began, c.light)
		}
	}
	late := dark
	late.Time = changed.Add(-time.Hour)
	if rs := k.Add(Dark, late); rs != nil {
		t.Errorf("a dark of before the change, come late: %v, want that it is no check", rs)
	}
}

// TestAnotherDetectorAfterALateDark: a dark of the old detector that was checked after the first reference lies before the change all the same.
func TestAnotherDetectorAfterALateDark(t *testing.T) {
	b := newBench(t)
	k := b.book(Settings{})
	morning, noon := b.dark(), monday.Add(time.Duration(b.hours*float64(time.Hour))+30*time.Minute)
	b.hours++
	k.Add(Dark, b.dark())
	k.Add(Reference, b.white())
	k.Add(Dark, morning)
	again, err := NewBook(Settings{Since: noon}, k.State)
	if err != nil {
		t.Fatal(err)
	}
	if d, l := again.State.Dark, again.State.Light; len(d) != 1 || d[0].N != 1 || l.N != 1 {
		t.Errorf("after a change at noon the baseline is of darks %+v and %d references, want of the one and the one of after", d, l.N)
	}
}
