package item

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"
	"time"

	"gonum.org/v1/gonum/stat"

	"asusual/model/finding"
	"asusual/model/spectrum"
)

var noon = time.Date(2026, 11, 25, 12, 0, 0, 0, time.UTC)

func axisOf(t testing.TB, p int) *spectrum.Axis {
	t.Helper()
	at := make([]float64, p)
	for i := range at {
		at[i] = 1000 + 10*float64(i)
	}
	a, err := spectrum.NewAxis(spectrum.Nanometre, at)
	if err != nil {
		t.Fatal(err)
	}
	return a
}

// An event is a spectrum at a tenth of a second, with its id, or "empty" for the belt that a condition tells.
type event struct {
	at   int
	id   string
	v    float64
	gone bool
}

// gathered runs events through a gatherer and writes each item as id:count/trimmed=mean, and then what came late.
func gathered(t testing.TB, opt Options, es []event) (string, []*Item) {
	t.Helper()
	g, err := NewGatherer(opt)
	if err != nil {
		t.Fatal(err)
	}
	a := axisOf(t, 4)
	var items []*Item
	var late []string
	for i, e := range es {
		s := spectrum.Spectrum{Axis: a, Values: []float64{e.v, e.v + 1, e.v + 2, e.v + 3}, Quantity: spectrum.Absorbance,
			Time: noon.Add(time.Duration(e.at) * 100 * time.Millisecond), File: fmt.Sprintf("%d.csv", i+1)}
		got, err := g.Add(s, Mark{ID: e.id, Empty: e.gone})
		if err != nil {
			t.Fatal(err)
		}
		if got.Ended != nil {
			items = append(items, got.Ended)
		}
		if got.Late != nil {
			late = append(late, fmt.Sprintf("%d.csv late of %s", i+1, got.Late.Name))
		}
	}
	if it := g.Close(); it != nil {
		items = append(items, it)
	}
	if g.Close() != nil {
		t.Error("a second Close gave an item")
	}
	var out []string
	for _, it := range items {
		mean := "none"
		if it.Count > 0 {
			mean = fmt.Sprintf("%.4g", it.Spectrum.Values[0])
		}
		name := it.ID
		if name == "" {
			name = it.Spectrum.File
		}
		out = append(out, fmt.Sprintf("%s:%d/%d=%s", name, it.Count, it.Trimmed, mean))
	}
	return strings.Join(append(out, late...), " "), items
}

// TestGather: means are worked out by hand.
func TestGather(t *testing.T) {
	run := func(ids string, from, step int) (es []event) { // "aab" are three spectra of two items
		for i, c := range ids {
			es = append(es, event{at: from + i*step, id: strings.TrimSpace(string(c)), v: float64(i)})
		}
		return es
	}
	for _, tt := range []struct {
		name string
		opt  Options
		es   []event
		want string
	}{
		{"by id", Options{ByID: true}, run("aaabbc", 0, 1), "a:3/0=1 b:2/0=3.5 c:1/0=5"},
		{"one id, two items, by gap", Options{ByID: true, Gap: time.Second}, append(run("aa", 0, 1), run("aa", 30, 1)...), "a:2/0=0.5 a:2/0=0.5"},
		{"by gap", Options{Gap: time.Second}, append(run("   ", 0, 10), run("  ", 31, 1)...), "1.csv:3/0=1 4.csv:2/0=0.5"},
		{"a gap of just a second does not end it", Options{Gap: time.Second}, []event{{at: 0}, {at: 10, v: 4}}, "1.csv:2/0=2"},
		{"edges are left out", Options{ByID: true, Trim: 2}, run("aaaaaaabbbbb", 0, 1), "a:3/4=3 b:1/4=9"},
		{"nothing but edges", Options{ByID: true, Trim: 2}, run("aaaa", 0, 1), "a:0/4=none"},
		{"fewer than the edges", Options{ByID: true, Trim: 2}, run("aaab", 0, 1), "a:0/3=none b:0/1=none"},
		{"the belt by a condition", Options{Gap: time.Minute}, []event{{at: 0, v: 1}, {at: 1, v: 3}, {at: 2, gone: true, v: 99}, {at: 3, v: 5}, {at: 4, gone: true}, {at: 5, gone: true}}, "1.csv:2/0=2 4.csv:1/0=5"},
		{"the belt by its level", Options{Presence: &Presence{From: 1010, To: 1020, Above: 5}}, []event{{at: 0, v: 3}, {at: 1, v: 4}, {at: 2, v: 6}, {at: 3, v: 3.5}, {at: 4, v: 9}}, "2.csv:2/0=5 5.csv:1/0=9"},
		{"the belt is brighter", Options{Presence: &Presence{Above: 5, Below: true}}, []event{{at: 0, v: 3}, {at: 1, v: 4}, {at: 2, v: 1}}, "1.csv:1/0=3 3.csv:1/0=1"},
		{"nothing comes", Options{Gap: time.Second}, nil, ""},
		{"nothing but belt", Options{Presence: &Presence{Above: 50}}, run("abc", 0, 1), ""},
	} {
		got, items := gathered(t, tt.opt, tt.es)
		if got != tt.want {
			t.Errorf("%s: items %q, want %q", tt.name, got, tt.want)
		}
		for _, it := range items {
			if it.To.Before(it.From) || it.Enough != (it.Count > 0) {
				t.Errorf("%s: item from %v to %v, enough %v", tt.name, it.From, it.To, it.Enough)
			}
			if want := it.From.Add(it.To.Sub(it.From) / 2); !it.Spectrum.Time.Equal(want) {
				t.Errorf("%s: the item's time is %v, want the middle %v", tt.name, it.Spectrum.Time, want)
			}
		}
	}
}

func TestLongAndFew(t *testing.T) {
	var es []event
	for i := range 25 {
		es = append(es, event{at: i, id: "a"})
	}
	got, items := gathered(t, Options{ByID: true, Most: 10, Least: 6}, es)
	if got != "a:10/0=0 a:10/0=0 a:5/0=0" {
		t.Errorf("items %q, want two closed at ten and the rest", got)
	}
	if f := items[0].Findings; len(f) != 1 || f[0].Kind != finding.LongItem || !strings.Contains(f[0].String(), "the item a did not end after 10 spectra") {
		t.Errorf("the first says %v, want that it did not end", f)
	}
	last := items[2]
	if last.Enough || len(last.Findings) != 1 || last.Findings[0].String() != "the item a has 5 spectra after its edges were taken off, 6 are wanted" {
		t.Errorf("the last: enough %v, says %v; want that it has too few", last.Enough, last.Findings)
	}
}

func TestChangeWithin(t *testing.T) {
	g, err := NewGatherer(Options{ByID: true})
	if err != nil {
		t.Fatal(err)
	}
	s := spectrum.Spectrum{Axis: axisOf(t, 3), Values: []float64{1, 2, 3}, Quantity: spectrum.Absorbance, Time: noon}
	other, third := s, s
	other.Axis, other.Values = axisOf(t, 2), []float64{1, 2}
	third.Quantity = spectrum.Reflectance
	for i, tt := range []struct {
		s    spectrum.Spectrum
		want string // of the item that it ends
	}{{s, ""}, {other, "the item was closed because the axis changed within it"}, {s, "the item was closed because the axis changed within it"}, {third, "the item was closed because the quantity changed within it"}} {
		got, err := g.Add(tt.s, Mark{ID: "a"})
		it := got.Ended
		if err != nil || (it == nil) != (tt.want == "") || it != nil && (len(it.Findings) != 1 || it.Findings[0].String() != tt.want) {
			t.Errorf("spectrum %d: Add = %+v, %v; want an item that says %q", i+1, it, err, tt.want)
		}
	}
}

func TestRefused(t *testing.T) {
	for want, opt := range map[string]Options{
		"nothing tells one item":                {},
		"a gap of -1s":                          {ByID: true, Gap: -time.Second},
		"-3 spectra trimmed":                    {ByID: true, Trim: -3},
		"an item ends after 4 spectra":          {ByID: true, Trim: 2, Most: 4},
		"a level of NaN":                        {Presence: &Presence{Above: math.NaN()}},
		"the first position before the second.": {Presence: &Presence{From: 9, To: 8}},
	} {
		if _, err := NewGatherer(opt); err == nil || !strings.Contains(err.Error(), strings.TrimSuffix(want, ".")) {
			t.Errorf("NewGatherer(%+v) = %v, want an error with %q", opt, err, want)
		}
	}
	g, _ := NewGatherer(Options{Presence: &Presence{From: 2000, To: 2100, Above: 1}})
	s := spectrum.Spectrum{Axis: axisOf(t, 3), Values: []float64{1, 2, 3}, File: "oat.csv"}
	if _, err := g.Add(s, Mark{}); err == nil || !strings.Contains(err.Error(), "oat.csv: no channel lies from 2000 to 2100") {
		t.Errorf("a rule beside the axis: %v", err)
	}
	s.Values = s.Values[:2]
	if _, err := g.Add(s, Mark{}); err == nil || !strings.Contains(err.Error(), "2 values and no axis") {
		t.Errorf("too few values: %v", err)
	}
}

// TestCounts: whatever comes, every spectrum is of the belt, of an item's middle or of its edges, or late, once.
func TestCounts(t *testing.T) {
	rng := rand.New(rand.NewPCG(6, 6))
	lates := 0
	for round := range 200 {
		opt := Options{ByID: rng.IntN(2) == 0, Gap: time.Duration(1+rng.IntN(20)) * 100 * time.Millisecond, Trim: rng.IntN(3), Most: 8 + rng.IntN(20)}
		if rng.IntN(2) == 0 {
			opt.Presence = &Presence{Above: 1.7}
		}
		g, err := NewGatherer(opt)
		if err != nil {
			t.Fatal(err)
		}
		a := axisOf(t, 5)
		n, at := 100+rng.IntN(100), 0
		counted, late := 0, 0
		count := func(it *Item) {
			if it != nil {
				counted += it.Count + it.Trimmed
				if it.Count+it.Trimmed > opt.Most {
					t.Fatalf("round %d: an item of %d spectra, at most %d are allowed", round, it.Count+it.Trimmed, opt.Most)
				}
			}
		}
		for range n {
			at += 1 + rng.IntN(15)
			v := make([]float64, 5)
			for j := range v {
				v[j] = 2 * rng.Float64()
			}
			when := at - rng.IntN(2)*rng.IntN(40) // some are overtaken
			got, err := g.Add(spectrum.Spectrum{Axis: a, Values: v, Time: noon.Add(time.Duration(when) * 100 * time.Millisecond)}, Mark{ID: string(rune('a' + rng.IntN(2))), Empty: rng.IntN(8) == 0})
			if err != nil {
				t.Fatal(err)
			}
			if got.Late != nil {
				late++
			}
			count(got.Ended)
		}
		if last, open := g.Open(); open != (g.item.Spectrum.Axis != nil && g.open) || open && last.IsZero() {
			t.Errorf("Open = %v, %v", last, open)
		}
		count(g.Close())
		if counted+g.Empty()+late != n {
			t.Fatalf("round %d, %+v: %d spectra in items, %d of the belt and %d late, want %d", round, opt, counted, g.Empty(), late, n)
		}
		lates += late
	}
	if lates < 100 {
		t.Errorf("%d spectra were late, which tells nothing", lates)
	}
}

// TestMean: the mean is gonum's, and averaging m spectra takes the noise down by √m.
func TestMean(t *testing.T) {
	const p, m = 300, 25
	rng := rand.New(rand.NewPCG(1, 9))
	g, _ := NewGatherer(Options{ByID: true})
	at := make([]float64, p)
	for i := range at {
		at[i] = float64(i + 1)
	}
	a, err := spectrum.NewAxis(spectrum.Channel, at)
	if err != nil {
		t.Fatal(err)
	}
	columns := make([][]float64, p)
	for i := range m {
		v := make([]float64, p)
		for j := range v {
			v[j] = 0.01 * rng.NormFloat64()
			columns[j] = append(columns[j], v[j])
		}
		before := slices.Clone(v)
		if _, err := g.Add(spectrum.Spectrum{Axis: a, Values: v, Time: noon.Add(time.Duration(i) * time.Second)}, Mark{ID: "x"}); err != nil {
			t.Fatal(err)
		}
		if !slices.Equal(v, before) {
			t.Fatal("Add changed the values of a spectrum")
		}
	}
	it := g.Close()
	for j, c := range columns {
		if want := stat.Mean(c, nil); !(math.Abs(it.Spectrum.Values[j]-want) <= 1e-15) {
			t.Fatalf("channel %d: %g, gonum's mean is %g", j+1, it.Spectrum.Values[j], want)
		}
	}
	if sd := stat.StdDev(it.Spectrum.Values, nil); !(math.Abs(sd/0.002-1) <= 0.15) {
		t.Errorf("the mean of %d spectra with noise 0.01 has noise %.5f, want 0.002", m, sd)
	}
}

func BenchmarkAdd(b *testing.B) {
	a := axisOf(b, 512)
	g, err := NewGatherer(Options{ByID: true, Trim: 2, Most: 1 << 30})
	if err != nil {
		b.Fatal(err)
	}
	s := spectrum.Spectrum{Axis: a, Values: make([]float64, 512), Time: noon}
	b.ReportAllocs()
	for b.Loop() {
		if _, err := g.Add(s, Mark{ID: "a"}); err != nil {
			b.Fatal(err)
		}
	}
}

// Two cartons on a belt, four spectra each; the belt between them is dark, and the first and last spectrum of each carton
// show its edge.
func ExampleGatherer() {
	axis, _ := spectrum.NewAxis(spectrum.Nanometre, []float64{1000, 1200, 1400})
	g, _ := NewGatherer(Options{Presence: &Presence{Above: 0.3}, Trim: 1})
	show := func(it *Item) {
		if it != nil {
			fmt.Printf("%d spectra, %d at its edges left out: %.2f\n", it.Count, it.Trimmed, it.Spectrum.Values)
		}
	}
	for i, level := range []float64{0, .4, .8, .9, .5, .1, .6, .8, .8, .4, 0} {
		s := spectrum.Spectrum{Axis: axis, Values: []float64{level, level, level}, Time: noon.Add(time.Duration(i) * 40 * time.Millisecond)}
		got, err := g.Add(s, Mark{})
		if err != nil {
			fmt.Println(err)
		}
		show(got.Ended)
	}
	show(g.Close())
	fmt.Println(g.Empty(), "of the empty belt")
	// Output:
	// 2 spectra, 2 at its edges left out: [0.85 0.85 0.85]
	// 2 spectra, 2 at its edges left out: [0.80 0.80 0.80]
	// 3 of the empty belt
}
