package fitness

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"
	"time"

	"gonum.org/v1/gonum/mat"

	"asusual/model/oatline"
)

var monday = time.Date(2026, 11, 23, 6, 0, 0, 0, time.UTC)

// good returns the absorbances of runs of known-good production, stride taken, one spectrum a row.
func good(t testing.TB, l *oatline.Line, runs, each int) *mat.Dense {
	t.Helper()
	x := mat.NewDense(runs*each, l.Axis().Len(), nil)
	for r := range runs {
		s, err := l.Series(oatline.Stretch{Run: fmt.Sprint("run ", r), From: monday.AddDate(0, 0, r), N: each, Every: time.Minute})
		if err != nil {
			t.Fatal(err)
		}
		for i := range each {
			s.Fill(x.RawRowView(r*each+i), i)
		}
	}
	return x
}

// departure returns the mean of a run with the upset less the baseline's mean.
func departure(t testing.TB, l *oatline.Line, b *Baseline, run string, u oatline.Upset) []float64 {
	t.Helper()
	const n = 60
	s, err := l.Series(oatline.Stretch{Run: run, From: monday.AddDate(0, 0, 20), N: n, Every: 20 * time.Second, Upsets: []oatline.Upset{u}})
	if err != nil {
		t.Fatal(err)
	}
	d, one := make([]float64, l.Axis().Len()), make([]float64, l.Axis().Len())
	for i := range n {
		s.Fill(one, i)
		for j, v := range one {
			d[j] += (v - b.Mean[j]) / n
		}
	}
	return d
}

// confusionCases are the changes that the table of confusion is made of: sizes from small to large, all there from
// the first spectrum.
var confusionCases = []struct {
	kind  oatline.Kind
	sizes []float64
}{
	{oatline.AxisShift, []float64{0.3, 0.6, 1.2, -0.6}},
	{oatline.Fouling, []float64{0.04, 0.08, 0.16}},
	{oatline.LampAgeing, []float64{0.15, 0.3, 0.5}},
	{oatline.OilPump, []float64{0.25, 0.45, 0.8}},
	{oatline.Dilution, []float64{0.03, 0.06, 0.15}},
	{oatline.NewBand, []float64{0.002, 0.005, 0.02}},
}

// TestConfusion measures, over simulated lines, how often a change of the instrument and one of the process are told
// for what they are. With -v it looks at more lines and prints the table. No threshold was fitted to these lines, but they are not
// unseen: an exploration over seeds 100 to 159 had looked at them before.
func TestConfusion(t *testing.T) {
	lines := 12
	if testing.Verbose() {
		lines = 40
	}
	like, share := map[oatline.Kind][]int{}, map[oatline.Kind][]float64{} // by size
	for i := range lines {
		l, err := oatline.New(oatline.Settings{Seed: uint64(100 + i), Channels: 128 << (i % 2)})
		if err != nil {
			t.Fatal(err)
		}
		b, err := NewBaseline(l.Axis(), good(t, l, 12, 40))
		if err != nil {
			t.Fatal(err)
		}
		for _, c := range confusionCases {
			if like[c.kind] == nil {
				like[c.kind], share[c.kind] = make([]int, len(c.sizes)), make([]float64, len(c.sizes))
			}
			for k, size := range c.sizes {
				d := b.Diagnose(l.Axis(), departure(t, l, b, "another day", oatline.Upset{Kind: c.kind, Size: size}))
				share[c.kind][k] += d.Shares[d.Best] / float64(lines)
				if d.Like() {
					like[c.kind][k]++
				}
			}
		}
	}
	var table strings.Builder
	said := map[bool][2]int{} // by whether it is the instrument's: said to be, of
	for _, c := range confusionCases {
		for k, size := range c.sizes {
			n := said[c.kind.Instrument()]
			said[c.kind.Instrument()] = [2]int{n[0] + like[c.kind][k], n[1] + lines}
			fmt.Fprintf(&table, "%-12s %6g  like the instrument on %3d of %d lines (share explained %.2f)\n", c.kind, size, like[c.kind][k], lines, share[c.kind][k])
		}
	}
	process, instrument := said[false], said[true]
	t.Logf("\n%sprocess said to be like the instrument: %d of %d; instrument not: %d of %d", &table,
		process[0], process[1], instrument[1]-instrument[0], instrument[1])
	if share := float64(process[0]) / float64(process[1]); share > 0.03 {
		t.Errorf("process changes said to be like the instrument: %d of %d, want at most 3 %%", process[0], process[1])
	}
	if share := float64(instrument[0]) / float64(instrument[1]); share < 0.97 {
		t.Errorf("instrument changes said to be like the instrument: %d of %d, want at least 97 %%", instrument[0], instrument[1])
	}
}

// TestLikeIsClear: by hand. A cause that explains enough is not named where another explains nearly as much.
func TestLikeIsClear(t *testing.T) {
	for _, tt := range []struct {
		shares [nCauses]float64
		want   bool
	}{
		{[nCauses]float64{LightChanged: 0.81}, true},                    // 0.19 left over, of 1
		{[nCauses]float64{LightChanged: 0.79}, false},                   // too little
		{[nCauses]float64{LightChanged: 0.81, AxisMoved: 0.52}, false},  // 0.19 of 0.48 is 0.40
		{[nCauses]float64{LightChanged: 0.84, AxisMoved: 0.52}, true},   // 0.16 of 0.48 is 0.33
		{[nCauses]float64{LightChanged: 1, PathChanged: 0.9}, true},     // nothing left over
		{[nCauses]float64{LightChanged: 0.9, PathChanged: 0.85}, false}, // 0.10 of 0.15
	} {
		if got := (Diagnosis{Shares: tt.shares, Best: LightChanged}).Like(); got != tt.want {
			t.Errorf("Like of shares %v = %v, want %v", tt.shares, got, tt.want)
		}
	}
}

// TestDiagnoseKnownEffect adds exactly one unit of each effect, where there is no noise: the size comes back.
func TestDiagnoseKnownEffect(t *testing.T) {
	l, err := oatline.New(oatline.Settings{Seed: 3, Channels: 128})
	if err != nil {
		t.Fatal(err)
	}
	b, err := NewBaseline(l.Axis(), good(t, l, 8, 40))
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range Effects() {
		g := directions(l.Axis(), b.Mean)[e]
		d := make([]float64, len(g))
		for j := range d {
			d[j] = 0.03 * g[j]
		}
		got := b.Diagnose(l.Axis(), d)
		if size, share := got.Sizes[e], got.Shares[got.Best]; !(math.Abs(size-0.03) <= 1e-9) || !(math.Abs(share-1) <= 1e-6) || !slices.Contains(causes[got.Best].effects, e) {
			t.Errorf("Diagnose(0.03 of %v) = size %.6g, share %.6g, best %v; want 0.03, 1, the cause of %v", e, size, share, got.Best, e)
		}
		if !(math.Abs(got.Together-1) <= 1e-6) {
			t.Errorf("Diagnose(0.03 of %v): together %.6g, want 1", e, got.Together)
		}
	}
}

func TestDiagnoseNothing(t *testing.T) {
	l, err := oatline.New(oatline.Settings{Seed: 3, Channels: 64})
	if err != nil {
		t.Fatal(err)
	}
	b, err := NewBaseline(l.Axis(), good(t, l, 4, 20))
	if err != nil {
		t.Fatal(err)
	}
	if got := b.Diagnose(l.Axis(), make([]float64, 64)); got.Like() || got.Together != 0 {
		t.Errorf("Diagnose(no departure) = %+v, want no likeness", got)
	}
}

// The quick way to whether a departure is larger says what its length says.
func TestBeyondIsLength(t *testing.T) {
	l, err := oatline.New(oatline.Settings{Seed: 3, Channels: 64})
	if err != nil {
		t.Fatal(err)
	}
	b, err := NewBaseline(l.Axis(), good(t, l, 4, 20))
	if err != nil {
		t.Fatal(err)
	}
	s, rng := newSolver(b, l.Axis()), rand.New(rand.NewPCG(1, 2))
	d := make([]float64, 64)
	for i := range 200 {
		for j := range d {
			d[j] = rng.NormFloat64() * math.Sqrt(b.Noise[j])
			for a := range b.Variance { // as usual, and further
				d[j] += float64(i%5) * b.Usual[a*64+j] * math.Sqrt(b.Variance[a])
			}
		}
		length := s.length(d)
		for _, share := range []float64{0, 0.5, 0.999999, 1.000001, 2} {
			if got, want := s.beyond(d, share*length), share < 1; got != want {
				t.Fatalf("departure %d: beyond %g of its length %g = %v, want %v", i, share, length, got, want)
			}
		}
	}
}

// BenchmarkDoctorAdd is what each spectrum of production costs.
func BenchmarkDoctorAdd(b *testing.B) {
	l, err := oatline.New(oatline.Settings{Seed: 3, Channels: 512})
	if err != nil {
		b.Fatal(err)
	}
	spectra := good(b, l, 4, 20)
	base, err := NewBaseline(l.Axis(), spectra)
	if err != nil {
		b.Fatal(err)
	}
	d, t := NewDoctor(base, l.Axis()), &Trend{}
	n, _ := spectra.Dims()
	b.ReportAllocs()
	for i := 0; b.Loop(); i++ {
		d.Add(t, spectra.RawRowView(i%n))
	}
}

// TestRoughOfWhiteNoise: for white noise of standard deviation σ the estimate is σ, since the squares of 1, −3, 3, −1
// add up to 20.
func TestRoughOfWhiteNoise(t *testing.T) {
	quiet, err := oatline.New(oatline.Settings{Seed: 5, Channels: 1024, Noise: -1})
	if err != nil {
		t.Fatal(err)
	}
	x := good(t, quiet, 1, 1).RawRowView(0)
	const sigma = 0.002
	state := uint64(7)
	for j := range x {
		sum := 0.0
		for range 12 { // the sum of twelve uniforms less six has variance 1
			state = state*6364136223846793005 + 1442695040888963407
			sum += float64(state>>11) / (1 << 53)
		}
		x[j] += sigma * (sum - 6)
	}
	r := RoughOf(x)
	for part, got := range map[string]float64{"middle": r.Middle, "edge": r.Edge} {
		if !(math.Abs(got/sigma-1) <= 0.12) {
			t.Errorf("RoughOf(noise of %g): %s %.5f, want %g within 12 %%", sigma, part, got, sigma)
		}
	}
}
