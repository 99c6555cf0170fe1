package intake

import (
	"encoding/json"
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"
	"time"

	"asusual/model/check"
	"asusual/model/finding"
	"asusual/model/fitness"
	"asusual/model/fourier"
	"asusual/model/item"
	"asusual/model/light"
	"asusual/model/spectrum"
)

var dawn = time.Date(2026, 11, 25, 6, 0, 0, 0, time.UTC)

var rules = check.Rules{{Role: check.Dark, Name: "dark*"}, {Role: check.Reference, Name: "white*"}, {Role: check.Standard, Name: "std*"}}

// A source gives spectra of p channels of raw intensities a minute apart.
type source struct {
	axis *spectrum.Axis
	rng  *rand.Rand
	n    int
}

func newSource(t testing.TB, p int) *source {
	t.Helper()
	at := make([]float64, p)
	for i := range at {
		at[i] = 1000 + 2*float64(i)
	}
	a, err := spectrum.NewAxis(spectrum.Nanometre, at)
	if err != nil {
		t.Fatal(err)
	}
	return &source{axis: a, rng: rand.New(rand.NewPCG(3, 3))}
}

// next has the counts of a share of the light above a dark of 500; an absorbance is −log₁₀ of the share.
func (c *source) next(name string, share float64) spectrum.Spectrum {
	v := make([]float64, c.axis.Len())
	for i := range v {
		v[i] = 500 + 20000*share*(1+0.3*math.Sin(float64(i)/30)) + c.rng.NormFloat64()
	}
	c.n++
	return spectrum.Spectrum{Axis: c.axis, Values: v, Quantity: spectrum.Intensity, File: name, Time: dawn.Add(time.Duration(c.n) * time.Minute)}
}

func intake(t testing.TB, opt Options) *Intake {
	t.Helper()
	k, err := New(opt, check.BookState{})
	if err != nil {
		t.Fatal(err)
	}
	return k
}

func take(t testing.TB, k *Intake, s spectrum.Spectrum) Taken {
	t.Helper()
	got, err := k.Take(s)
	if err != nil {
		t.Fatalf("Take(%s): %v", s.Name(), err)
	}
	return got
}

// TestTake: darks and references go to the checks, samples come out as absorbances made with those before them.
func TestTake(t *testing.T) {
	c, k := newSource(t, 64), intake(t, Options{Rules: rules})
	if _, err := k.Take(c.next("oat.csv", 0.1)); err == nil || !strings.Contains(err.Error(), "no dark spectrum is there") {
		t.Errorf("a sample before any dark: %v", err)
	}
	if got := take(t, k, c.next("dark.csv", 0)); got.Role != check.Dark || got.Ready || len(got.Results) == 0 {
		t.Errorf("a dark: %+v, want its results and nothing to judge", got)
	}
	if got := take(t, k, c.next("white.csv", 1)); got.Role != check.Reference || got.Ready || len(got.Results) == 0 {
		t.Errorf("a reference: %+v, want its results and nothing to judge", got)
	}
	got := take(t, k, c.next("oat.csv", 0.1))
	if !got.Ready || got.Count != 1 || got.Sample.Quantity != spectrum.Absorbance || got.Sample.File != "oat.csv" {
		t.Fatalf("a sample: %+v, want an absorbance to judge", got)
	}
	for i, a := range got.Sample.Values {
		if !(math.Abs(a-1) <= 0.005) {
			t.Fatalf("channel %d: absorbance %.4f, want 1", i+1, a)
		}
	}
	late := c.next("oat.csv", 0.1)
	late.Time = late.Time.Add(48 * time.Hour)
	if got := take(t, k, late); len(got.Findings) != 2 || got.Findings[1].Kind != finding.StaleReference {
		t.Errorf("two days later: says %v, want that dark and reference are stale", got.Findings)
	}
	if got := k.Close(); got.Count != 0 || got.Ready {
		t.Errorf("Close without items: %+v, want nothing", got)
	}
}

// TestPlain: without options everything goes through as it came.
func TestPlain(t *testing.T) {
	c, k := newSource(t, 16), intake(t, Options{})
	s := c.next("dark.csv", 0.5)
	if got := take(t, k, s); !got.Ready || got.Role != check.Sample || &got.Sample.Values[0] != &s.Values[0] || got.Sample.Quantity != spectrum.Intensity {
		t.Errorf("Take = %+v, want the spectrum itself", got)
	}
}

// TestFaultIsSeen: a lamp that fails is told by the book, and a restart from its state goes on.
func TestFaultIsSeen(t *testing.T) {
	c, k := newSource(t, 128), intake(t, Options{Rules: rules})
	for range 6 {
		take(t, k, c.next("dark.csv", 0))
		take(t, k, c.next("white.csv", 1))
	}
	kept, err := json.Marshal(k.Checks().State)
	if err != nil {
		t.Fatal(err)
	}
	var state check.BookState
	if err := json.Unmarshal(kept, &state); err != nil {
		t.Fatal(err)
	}
	if k, err = New(Options{Rules: rules}, state); err != nil {
		t.Fatal(err)
	}
	if got := take(t, k, c.next("oat.csv", 0.5)); !got.Ready {
		t.Errorf("a sample after a restart: %+v", got)
	}
	take(t, k, c.next("white.csv", 0.2))
	if s, _, why := k.Checks().Instrument(); s != fitness.Bad || len(why) == 0 {
		t.Errorf("a fifth of the light: %v, %v; want unfit", s, why)
	}
}

// TestInterferograms: reference and sample are interferograms; the absorbance is the sample's, log₁₀ 2.
func TestInterferograms(t *testing.T) {
	const step = 6.32991e-5
	at := make([]float64, 700)
	for i := range at {
		at[i] = float64(i)
	}
	axis, err := spectrum.NewAxis(spectrum.Channel, at)
	if err != nil {
		t.Fatal(err)
	}
	of := func(name string, gain float64) spectrum.Spectrum {
		v := make([]float64, len(at))
		for i := range v {
			x := (float64(i) - 150.3) * step
			v[i] = 3000 + gain*math.Exp(-math.Pow(x/8e-4, 2))*math.Cos(2*math.Pi*6000*x)
		}
		return spectrum.Spectrum{Axis: axis, Values: v, Quantity: spectrum.Interferogram, File: name, Time: dawn}
	}
	k := intake(t, Options{Rules: rules, Check: check.Settings{Light: light.Options{NoDark: true}}, Fourier: &fourier.Options{Step: step, From: 5600, To: 6400}})
	if got := take(t, k, of("white.csv", 1000)); len(got.Results) == 0 || got.Results[0].Measure == check.NotMeasured {
		t.Fatalf("the reference: %v", got.Results)
	}
	got := take(t, k, of("oat.csv", 500))
	for i, a := range got.Sample.Values {
		if !(math.Abs(a-0.30102999566398120) <= 1e-6) {
			t.Fatalf("at %.1f cm⁻¹: absorbance %.7f, want log₁₀ 2", got.Sample.Axis.At(i), a)
		}
	}
	plain := intake(t, Options{})
	if _, err := plain.Take(of("oat.csv", 1)); err == nil || !strings.HasPrefix(err.Error(), "transforming the interferogram: ") {
		t.Errorf("without a step: %v, want that the transform is not known", err)
	}
}

// TestKeep: a dark and a reference for all are used, and are no checks.
func TestKeep(t *testing.T) {
	c, k := newSource(t, 16), intake(t, Options{})
	if err := k.Keep(check.Dark, c.next("d.csv", 0)); err != nil {
		t.Fatal(err)
	}
	if err := k.Keep(check.Reference, c.next("w.csv", 1)); err != nil {
		t.Fatal(err)
	}
	got := take(t, k, c.next("oat.csv", 0.01))
	if got.Sample.Quantity != spectrum.Absorbance || !(math.Abs(got.Sample.Values[3]-2) <= 0.02) || len(k.Checks().State.Latest) > 0 {
		t.Errorf("Take = %+v, want an absorbance of 2 and no check", got)
	}
	for _, err := range []error{k.Keep(check.Standard, c.next("s.csv", 1)), k.Keep(check.Dark, got.Sample),
		k.Keep(check.Reference, spectrum.Spectrum{Quantity: spectrum.Interferogram, Axis: c.axis, Values: make([]float64, 16)})} {
		if err == nil {
			t.Error("Keep took a standard, an absorbance for a dark, or an interferogram that is none")
		}
	}
}

// TestItems: several spectra of one item come out as one, with the findings of all.
func TestItems(t *testing.T) {
	c := newSource(t, 32)
	k := intake(t, Options{Rules: rules, Check: check.Settings{Light: light.Options{Stale: time.Second}}, Items: &item.Options{Least: 2, Trim: 1}, Trigger: ByLabel})
	take(t, k, c.next("dark.csv", 0))
	take(t, k, c.next("white.csv", 1))
	var out []string
	show := func(g Taken) {
		if g.Count > 0 || len(g.Findings) > 0 {
			kinds := ""
			for _, f := range g.Findings {
				kinds += " " + string(f.Kind)
			}
			out = append(out, fmt.Sprintf("%s %d %v%s", g.Sample.Label, g.Count, g.Ready, kinds))
		}
	}
	for i, id := range strings.Split("a a a a a b b b c c c c", " ") {
		s := c.next("oat.csv", 0.1+float64(i)/100)
		s.Label = id
		if i == 6 {
			show(take(t, k, c.next("dark.csv", 0))) // in the middle of an item
		}
		show(take(t, k, s))
	}
	show(k.Close())
	want := "a 3 true stale-dark stale-reference; b 1 false stale-dark stale-reference few-in-item; c 2 true stale-dark stale-reference"
	if got := strings.Join(out, "; "); got != want {
		t.Errorf("items %q, want %q", got, want)
	}
	belt := intake(t, Options{Items: &item.Options{Presence: &item.Presence{Above: 5000}}})
	for _, share := range []float64{0, 0.5, 0.5, 0, 0} {
		take(t, belt, c.next("oat.csv", share))
	}
	if belt.Empty() != 3 || k.Empty() != 0 || intake(t, Options{}).Empty() != 0 {
		t.Errorf("%d of the empty belt, want 3", belt.Empty())
	}
	run := intake(t, Options{Items: &item.Options{}, Trigger: ByRun})
	for i := range 4 {
		s := c.next("oat.csv", 0.5)
		s.Run = string(rune('a' + i/2))
		if got := take(t, run, s); got.Ready != (i == 2) {
			t.Errorf("spectrum %d: ready %v, want an item when the run changes", i+1, got.Ready)
		}
	}
}

func TestNewRefused(t *testing.T) {
	for want, opt := range map[string]Options{
		"rule 1, for dark spectra":          {Rules: check.Rules{{Role: check.Dark}}},
		"a full channel at -1":              {Check: check.Settings{Light: light.Options{Full: -1}}},
		"zero filling by 3":                 {Fourier: &fourier.Options{ZeroFill: 3}},
		"nothing tells one item":            {Items: &item.Options{}},
		"it is not said where the id stand": {Items: &item.Options{ByID: true}},
	} {
		if _, err := New(opt, check.BookState{}); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("New = %v, want an error with %q", err, want)
		}
	}
}

func ExampleIntake_Take() {
	axis, _ := spectrum.NewAxis(spectrum.Nanometre, []float64{1000, 1200, 1400})
	k, _ := New(Options{Rules: check.Rules{{Role: check.Dark, Label: "dark"}, {Role: check.Reference, Label: "tile"}}}, check.BookState{})
	for _, s := range []struct {
		label  string
		counts []float64
	}{{"dark", []float64{100, 110, 100}}, {"tile", []float64{10100, 20110, 10100}}, {"oat drink", []float64{1100, 2110, 200}}} {
		got, err := k.Take(spectrum.Spectrum{Axis: axis, Values: s.counts, Quantity: spectrum.Intensity, Label: s.label})
		switch {
		case err != nil:
			fmt.Println(err)
		case got.Ready:
			fmt.Printf("%s: %.2f\n", s.label, got.Sample.Values)
		default:
			fmt.Printf("%s: kept as %s\n", s.label, got.Role)
		}
	}
	// Output:
	// dark: kept as dark
	// tile: kept as reference
	// oat drink: [1.00 1.00 2.00]
}
