package fitness

import (
	"encoding/json"
	"fmt"
	"math"
	"math/rand/v2"
	"reflect"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"asusual/model/finding"
	"asusual/model/oatline"
)

// A faulty is what an instrument does to the absorbances of one spectrum, the i-th, in place.
type faulty func(rng *rand.Rand, x []float64, i int)

// spectraOf returns n spectra of another day of the line, with an upset from the first on and what the instrument does to each.
func spectraOf(t testing.TB, l *oatline.Line, n int, upset *oatline.Upset, do faulty) [][]float64 {
	t.Helper()
	st := oatline.Stretch{Run: "another day", From: monday.AddDate(0, 0, 20), N: n, Every: 20 * time.Second}
	if upset != nil {
		st.Upsets = []oatline.Upset{*upset}
	}
	s, err := l.Series(st)
	if err != nil {
		t.Fatal(err)
	}
	rng := rand.New(rand.NewPCG(uint64(n), 3))
	all := make([][]float64, n)
	for i := range all {
		all[i] = make([]float64, l.Axis().Len())
		s.Fill(all[i], i)
		if do != nil {
			do(rng, all[i], i)
		}
	}
	return all
}

func doctor(t testing.TB, seed uint64, channels int) (*oatline.Line, *Doctor) {
	t.Helper()
	l, err := oatline.New(oatline.Settings{Seed: seed, Channels: channels})
	if err != nil {
		t.Fatal(err)
	}
	b, err := NewBaseline(l.Axis(), good(t, l, 12, 40))
	if err != nil {
		t.Fatal(err)
	}
	return l, NewDoctor(b, l.Axis())
}

const broken = 70 // the channel, from 0, that faults of one channel are at; of 128 it lies at 1,340.945 nm

var (
	stuck  faulty = func(_ *rand.Rand, x []float64, _ int) { x[broken] = 0.4123 }
	off    faulty = func(_ *rand.Rand, x []float64, _ int) { x[broken] += 0.01 }
	spikes faulty = func(rng *rand.Rand, x []float64, _ int) {
		if rng.Float64() < 0.3 {
			x[broken] += 0.05
		}
	}
	rough faulty = func(rng *rand.Rand, x []float64, i int) {
		if i == 30 {
			edges(0.05)(rng, x, i)
			for j := range x {
				x[j] += 0.05 * rng.NormFloat64()
			}
		}
	}
	dropout faulty = func(_ *rand.Rand, x []float64, i int) {
		if i == 30 {
			x[len(x)-2] = -9.99
		}
	}
	stray faulty = func(_ *rand.Rand, x []float64, i int) {
		if i == 30 {
			x[broken] += 0.05
		}
	}
)

// edges is noise of a standard deviation in the outer quarters; everywhere is noise in all channels.
func edges(sd float64) faulty {
	return func(rng *rand.Rand, x []float64, _ int) {
		for j := range x {
			if j < len(x)/4 || j >= len(x)-len(x)/4 {
				x[j] += sd * rng.NormFloat64()
			}
		}
	}
}

// along adds a·(-½ … ½) + c·(0 … 1, at both ends) to every spectrum.
func along(a, c float64) faulty {
	return func(_ *rand.Rand, x []float64, _ int) {
		for j := range x {
			u := float64(j)/float64(len(x)-1) - 0.5
			x[j] += a*u + c*4*u*u
		}
	}
}

// TestSentences: what is said of faults of known size, in words, and that the verdict may not be that the process has changed.
func TestSentences(t *testing.T) {
	l, d := doctor(t, 7, 128)
	axis := func(shift, stretch float64) faulty {
		return func(_ *rand.Rand, x []float64, _ int) {
			for j := range x {
				x[j] += shift*d.s.g[Shift][j] + stretch*d.s.g[Stretch][j]
			}
		}
	}
	for _, tt := range []struct {
		name string
		do   faulty
		want string // the reason, with % for a number
		size float64
	}{
		{"shift", axis(0.4, 0), "moves as an axis shift of % nm would: check the instrument before the process", 0.4},
		{"stretch", axis(0, 2), "moves as an axis stretched by % nm from end to end would: check the instrument before the process", 2},
		{"both", axis(0.8, 1.6), "moves as an axis shift of % nm in the middle and a stretch of % nm from end to end would: check the instrument before the process", 0.8},
		{"offset", func(_ *rand.Rand, x []float64, _ int) {
			for j := range x {
				x[j] += 0.3
			}
		}, "moves as a film on the window or another light would, by % absorbance on the whole: check probe and lamp before the process", 0.3},
		{"slope", along(0.3, 0), "moves as a film on the window or another light would, by % absorbance from end to end: check probe and lamp before the process", 0.3},
		{"stuck", stuck, "the channel at 1340.94 nm gives the same value again and again while the others move: look at the detector, or leave it out", 0},
		{"off", off, "the channel at 1340.94 nm stands out alone from those beside it, in % % of the latest spectra: look at the detector, or leave it out", 95},
		{"spikes", spikes, "the channel at 1340.94 nm stands out alone from those beside it, in % % of the latest spectra: look at the detector, or leave it out", 30},
		{"very noisy edges", edges(0.003), "the spectra are far noisier than when the reference was learned: at least % times in the middle of the axis, at least % times at its edges", 1},
	} {
		var tr Trend
		for _, x := range spectraOf(t, l, 60, nil, tt.do) {
			d.Add(&tr, x)
		}
		got := d.Look(&tr, true)
		want := regexp.MustCompile("^" + strings.ReplaceAll(strings.ReplaceAll(regexp.QuoteMeta(tt.want), "% %", "% \x00"), "%", "([0-9.]+)"))
		want = regexp.MustCompile(strings.ReplaceAll(want.String(), "\x00", "%") + "$")
		if got.State != Bad || len(got.Reasons) != 1 || !want.MatchString(got.Reasons[0].String()) {
			t.Errorf("%s: Look = %s, %v; want unfit, %q alone", tt.name, got.State, got.Reasons, tt.want)
			continue
		}
		if m := want.FindStringSubmatch(got.Reasons[0].String()); tt.size > 0 {
			if size, err := strconv.ParseFloat(m[1], 64); err != nil || math.Abs(size-tt.size) > 0.35*tt.size {
				t.Errorf("%s: %v, want about %g", tt.name, got.Reasons[0], tt.size)
			}
		}
		for _, f := range got.Reasons {
			if said := f.In(finding.German()); strings.Contains(said, "{") || said == f.String() {
				t.Errorf("%s: in German %q", tt.name, said)
			}
		}
	}
}

// TestNoiseThatGrows: noise that grows slowly is told from half as much again on, and makes the instrument unfit from four times on.
func TestNoiseThatGrows(t *testing.T) {
	l, d := doctor(t, 7, 128)
	var tr Trend
	said := map[State]float64{}
	for i, x := range spectraOf(t, l, 2000, nil, func(rng *rand.Rand, x []float64, i int) { edges(0.003*float64(i)/2000)(rng, x, i) }) {
		d.Add(&tr, x)
		got := d.Look(&tr, false)
		if _, seen := said[got.State]; !seen {
			said[got.State] = 0.003 * float64(i) / 2000 / d.s.b.Rough.Edge
		}
		want := map[State]finding.Kind{Ageing: finding.Noisier, Bad: finding.FarNoisier}[got.State]
		told := slices.ContainsFunc(got.Reasons, func(f finding.Finding) bool { return f.Kind == want })
		if i >= settled && told != (got.State != Fit) {
			t.Fatalf("spectrum %d: Look = %s, %v", i, got.State, got.Reasons)
		}
	}
	// what is added in squares is 1.5²−1 and 4²−1 of the usual, and the trend is a few spectra late
	if a, b := said[Ageing], said[Bad]; a < 1 || a > 1.4 || b < 3.7 || b > 4.4 {
		t.Errorf("with %.2f times the usual noise added ageing, with %.2f unfit; want about 1.1 and 3.9", a, b)
	}
}

// TestQuietDays: usual spectra say nothing, and neither does one stray spike or a process that has changed.
func TestQuietDays(t *testing.T) {
	for seed := range uint64(6) {
		l, d := doctor(t, 40+seed, 64<<(seed%3))
		for _, tt := range []struct {
			name  string
			upset *oatline.Upset
			do    faulty
		}{
			{"usual", nil, nil}, {"one stray spike", nil, stray}, {"one rough spectrum", nil, rough}, {"one channel near the end without light", nil, dropout},
			{"oil", &oatline.Upset{Kind: oatline.OilPump, Size: 0.45}, nil},
			{"a new absorber", &oatline.Upset{Kind: oatline.NewBand, Size: 0.02}, nil},
		} {
			if tt.do != nil && l.Axis().Len() <= broken {
				continue
			}
			var tr Trend
			for i, x := range spectraOf(t, l, 120, tt.upset, tt.do) {
				d.Add(&tr, x)
				if got := d.Look(&tr, tt.upset != nil); i >= settled && (got.State != Fit || len(got.Reasons) > 0) {
					t.Errorf("seed %d, %s, spectrum %d: Look = %s, %v; want fit", 40+seed, tt.name, i, got.State, got.Reasons)
					break
				}
			}
		}
	}
}

// TestNoiseThatComesAndGoes: an instrument that is noisy in a quarter of its spectra or more is unfit, whether it seems that the process
// has changed or not, until twenty others have followed; a few strays are no fault that hides the process.
func TestNoiseThatComesAndGoes(t *testing.T) {
	l, d := doctor(t, 7, 128)
	for _, tt := range []struct {
		name  string
		which func(i int) bool
		times float64 // the noise, as a multiple of the usual
		unfit bool
	}{
		{"every second", func(i int) bool { return i%2 == 0 }, 30, true},
		{"every second, six times as noisy", func(i int) bool { return i%2 == 0 }, 6, true},
		{"every fourth", func(i int) bool { return i%4 == 0 }, 30, true},
		{"four in a row", func(i int) bool { return i >= 56 }, 30, false},
		{"every seventh", func(i int) bool { return i%7 == 0 }, 30, false},
	} {
		var tr Trend
		for _, x := range spectraOf(t, l, 60, nil, func(rng *rand.Rand, x []float64, i int) {
			for j := range x {
				if tt.which(i) {
					x[j] += tt.times * d.s.b.Rough.Middle * rng.NormFloat64()
				}
			}
		}) {
			d.Add(&tr, x)
		}
		for _, changed := range []bool{false, true} {
			got := d.Look(&tr, changed)
			far := slices.ContainsFunc(got.Reasons, func(f finding.Finding) bool { return f.Kind == finding.FarNoisier })
			if !changed && (got.State == Bad) != tt.unfit || tt.unfit && (got.State != Bad || !far) {
				t.Errorf("%s, changed %v: Look = %s, %v; want unfit: %v", tt.name, changed, got.State, got.Reasons, tt.unfit)
			}
		}
		for _, x := range spectraOf(t, l, recent, nil, nil) {
			d.Add(&tr, x)
		}
		if got := d.Look(&tr, false); got.State == Bad {
			t.Errorf("%s, and %d usual ones since: Look = %s, %v", tt.name, recent, got.State, got.Reasons)
		}
	}
}

// TestStuckAtItsUsualValue: a channel that holds the value that it has anyway is told because it holds it.
func TestStuckAtItsUsualValue(t *testing.T) {
	l, d := doctor(t, 7, 128)
	var tr Trend
	all := spectraOf(t, l, again+2, nil, nil)
	for i, x := range all {
		x[broken] = all[0][broken]
		d.Add(&tr, x)
		tr.Channels.Out[broken] = 0 // it never stood out
		got := d.Look(&tr, false)
		if want := i >= again; (len(got.Reasons) == 1 && got.Reasons[0].Kind == finding.StuckHere) != want {
			t.Fatalf("spectrum %d: Look = %v, want that the channel is stuck: %v", i, got.Reasons, want)
		}
	}
}

// TestFewDigits: absorbances written with so few digits that channels often repeat say nothing of single ones.
func TestFewDigits(t *testing.T) {
	l, err := oatline.New(oatline.Settings{Seed: 7, Channels: 128})
	if err != nil {
		t.Fatal(err)
	}
	for _, digits := range []float64{100, 1000, 10000} {
		round := func(_ *rand.Rand, x []float64, _ int) {
			for j := range x {
				x[j] = math.Round(x[j]*digits) / digits
			}
		}
		x := good(t, l, 12, 40)
		for i := range 12 * 40 {
			round(nil, x.RawRowView(i), i)
		}
		b, err := NewBaseline(l.Axis(), x)
		if err != nil {
			t.Fatal(err)
		}
		d := NewDoctor(b, l.Axis())
		var tr Trend
		for i, x := range spectraOf(t, l, 400, nil, round) {
			d.Add(&tr, x)
			for _, f := range d.Look(&tr, false).Reasons {
				if f.Kind == finding.StuckHere || f.Kind == finding.OutHere || f.Kind == finding.Repeating {
					t.Fatalf("to the %g.th part, spectrum %d: %v", digits, i, f)
				}
			}
		}
	}
}

// TestRepeating: one spectrum again and again makes the instrument unfit after a while, until another comes; a still scene in counts of
// 8 bits, whose noise is a tenth of a count, does not.
func TestRepeating(t *testing.T) {
	l, d := doctor(t, 7, 64)
	all := spectraOf(t, l, 2, nil, nil)
	var tr Trend
	for i := range frozen + 20 {
		d.Add(&tr, all[0])
		if got := d.Look(&tr, false); (got.State == Bad) != (i+1 >= frozen) {
			t.Fatalf("spectrum %d, each as the first: Look = %s, %v", i+1, got.State, got.Reasons)
		}
	}
	if got, want := d.Look(&tr, false).Reasons[0].String(), "the last 120 spectra are the same in every channel: the instrument, or what writes its files, gives one again and again"; got != want {
		t.Errorf("Look says %q, want %q", got, want)
	}
	d.Add(&tr, all[1])
	if got := d.Look(&tr, false); got.State == Bad {
		t.Errorf("with another spectrum: Look = %s, %v, want that it is not unfit", got.State, got.Reasons)
	}

	rng := rand.New(rand.NewPCG(5, 6))
	var still Trend
	x := make([]float64, 64)
	for i := range 2000 {
		for j := range x {
			counts := math.Round(255*math.Pow(10, -all[0][j]) + 0.1*rng.NormFloat64())
			x[j] = -math.Log10(counts / 255)
		}
		if d.Add(&still, x); still.Channels.same() > frozen/10 {
			t.Fatalf("8 bits of a still scene: %d spectra in a row are the same at spectrum %d", still.Channels.same(), i+1)
		}
	}
}

// TestKeptStuckWhileLearning: a channel that was stuck while the reference was learned is no news.
func TestKeptStuckWhileLearning(t *testing.T) {
	l, err := oatline.New(oatline.Settings{Seed: 7, Channels: 128})
	if err != nil {
		t.Fatal(err)
	}
	x := good(t, l, 12, 40)
	for i := range 12 * 40 {
		stuck(nil, x.RawRowView(i), i)
	}
	b, err := NewBaseline(l.Axis(), x)
	if err != nil {
		t.Fatal(err)
	}
	d := NewDoctor(b, l.Axis())
	var tr Trend
	for _, x := range spectraOf(t, l, 60, nil, stuck) {
		d.Add(&tr, x)
	}
	if got := d.Look(&tr, false); got.State != Fit {
		t.Errorf("Look = %s, %v, want fit: it was so when the reference was learned", got.State, got.Reasons)
	}
}

// TestProcessBesideABrokenChannel: where the process changes as well, the verdict is not taken from it.
func TestProcessBesideABrokenChannel(t *testing.T) {
	l, d := doctor(t, 7, 128)
	var tr Trend
	for _, x := range spectraOf(t, l, 60, &oatline.Upset{Kind: oatline.OilPump, Size: 0.8}, func(_ *rand.Rand, x []float64, _ int) { x[broken] += 0.004 }) {
		d.Add(&tr, x)
	}
	if got := d.Look(&tr, true); got.State != Ageing || len(got.Reasons) != 1 || got.Reasons[0].Kind != finding.OutHere {
		t.Errorf("Look = %s, %v, want ageing by the channel, and the change to stand", got.State, got.Reasons)
	}
}

// TestTrendIsKept: kept as JSON, a trend goes on as if nothing had happened, and one of an older version begins its channels anew.
func TestTrendIsKept(t *testing.T) {
	l, d := doctor(t, 7, 128)
	all := spectraOf(t, l, 40, nil, spikes)
	var whole, cut Trend
	for i, x := range all {
		d.Add(&whole, x)
		d.Add(&cut, x)
		if i == 20 {
			b, err := json.Marshal(cut)
			if err != nil {
				t.Fatal(err)
			}
			cut = Trend{}
			if err := json.Unmarshal(b, &cut); err != nil {
				t.Fatal(err)
			}
		}
	}
	if !reflect.DeepEqual(whole, cut) {
		t.Error("a trend that was kept after 21 spectra goes on differently")
	}
	old := Trend{Mean: append([]float64{}, all[0]...), N: 9}
	d.Add(&old, all[1])
	if old.N != 10 || len(old.Channels.Out) != 128 {
		t.Errorf("a trend without channels goes on with %d spectra and %d channels, want 10 and 128", old.N, len(old.Channels.Out))
	}
}

// TestConfusionOfChannels measures, over simulated lines, how often faults of single channels and noise are told as such where spectra
// lie outside usual, and how often a change of the process is taken for one. With -v it looks at more lines and prints the table.
func TestConfusionOfChannels(t *testing.T) {
	lines := 4
	if testing.Verbose() {
		lines = 40
	}
	cases := []struct {
		name       string
		upset      *oatline.Upset
		do         faulty
		instrument bool
	}{
		{"stuck channel", nil, stuck, true}, {"spiking channel", nil, spikes, true}, {"channel off by 0.01", nil, off, true},
		{"noise of 0.001 at the edges", nil, edges(0.001), true}, {"noise of 0.003 at the edges", nil, edges(0.003), true},
		{"oil pump, 0.25", &oatline.Upset{Kind: oatline.OilPump, Size: 0.25}, nil, false}, {"oil pump, 0.8", &oatline.Upset{Kind: oatline.OilPump, Size: 0.8}, nil, false},
		{"dilution, 3 %", &oatline.Upset{Kind: oatline.Dilution, Size: 0.03}, nil, false}, {"dilution, 15 %", &oatline.Upset{Kind: oatline.Dilution, Size: 0.15}, nil, false},
		{"new absorber, 0.002", &oatline.Upset{Kind: oatline.NewBand, Size: 0.002}, nil, false}, {"new absorber, 0.02", &oatline.Upset{Kind: oatline.NewBand, Size: 0.02}, nil, false},
	}
	told := make([]int, len(cases))
	for i := range lines {
		l, d := doctor(t, uint64(300+i), 128<<(i%2))
		for k, c := range cases {
			var tr Trend
			for _, x := range spectraOf(t, l, 40, c.upset, c.do) {
				d.Add(&tr, x)
			}
			for _, f := range d.Look(&tr, true).Reasons {
				if f.Kind == finding.StuckHere || f.Kind == finding.OutHere || f.Kind == finding.Noisier || f.Kind == finding.FarNoisier {
					told[k]++
				}
			}
		}
	}
	var table strings.Builder
	for k, c := range cases {
		fmt.Fprintf(&table, "%-28s told as a fault of channels or noise on %2d of %d lines\n", c.name, told[k], lines)
		if c.instrument && told[k] < lines || !c.instrument && told[k] > 0 {
			t.Errorf("%s: told as the instrument's on %d of %d lines", c.name, told[k], lines)
		}
	}
	t.Logf("\n%s", &table)
}

// TestStraysArePassedOver: a few spectra in a row that lie far off and are over leave no mark on the mean of late, whatever they are; more of
// them, and those that come again and again, are what late spectra are like.
func TestStraysArePassedOver(t *testing.T) {
	l, d := doctor(t, 7, 128)
	lifted := func(from, to, every int) faulty {
		return func(_ *rand.Rand, x []float64, i int) {
			if i >= from && i < to && (i-from)%every == 0 {
				for j := range x {
					x[j] += 2
				}
			}
		}
	}
	usual := spectraOf(t, l, 60, nil, nil)
	for _, tt := range []struct {
		name  string
		do    faulty
		bears bool // the mean of late bears them
	}{
		{"one", lifted(30, 31, 1), false},
		{"three in a row", lifted(30, 33, 1), false},
		{"two, the second after the first was over", lifted(30, 33, 2), false},
		{"while the second of them is the last", lifted(58, 60, 1), true},
		{"four in a row", lifted(30, 34, 1), true},
		{"every third", lifted(20, 60, 3), true},
	} {
		var with, without Trend
		for i, x := range spectraOf(t, l, 60, nil, tt.do) {
			d.Add(&with, x)
			if x[0] < 1.5 {
				d.Add(&without, usual[i])
			}
		}
		most := 0.0
		for j, v := range with.Mean {
			most = max(most, math.Abs(v-without.Mean[j]))
		}
		if bears := most > 1e-4; bears != tt.bears {
			t.Errorf("%s: the mean of late departs by %.2g from that without them, want it so: %v", tt.name, most, tt.bears)
		}
		if kept := with.Before != nil; kept != (tt.name == "while the second of them is the last") {
			t.Errorf("%s: a mean of before is kept: %v", tt.name, kept)
		}
	}
}
