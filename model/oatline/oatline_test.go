package oatline

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/floats/scalar"
	"gonum.org/v1/gonum/stat"

	"asusual/model/spectrum"
)

// series returns the series of a stretch of a line, and fails the test where it cannot be made.
func series(t testing.TB, set Settings, s Stretch) *Series {
	t.Helper()
	l, err := New(set)
	if err != nil {
		t.Fatalf("New(%+v): %v", set, err)
	}
	r, err := l.Series(s)
	if err != nil {
		t.Fatalf("Series(%+v): %v", s, err)
	}
	return r
}

// still is a line on which nothing differs, wanders or makes noise, so that a law can be seen by itself.
func still() Settings { return Settings{Lots: -1, Wander: -1, Noise: -1} }

// pure returns the spectrum of a pure component at one wavelength, from its bands.
func pure(component int, nm float64) float64 {
	v := 0.0
	for _, b := range componentBands[component] {
		v += b.value(nm)
	}
	return v
}

// channel returns the channel of an axis nearest to a position.
func channel(a *spectrum.Axis, nm float64) int {
	at := a.Values()
	return floats.NearestIdx(at, nm)
}

// TestGolden keeps the values of seed 1 as they are: other tests and the figures of the README rest on them.
// Six significant digits, since machines round differently. The numbers are this program's own.
func TestGolden(t *testing.T) {
	want := map[string][4]string{
		InUse:   {"0.402559", "0.327237", "1.27133", "0.353669"},
		Rinse:   {"0.023361", "0.0306648", "1.13681", "0.152742"},
		StartUp: {"0.209468", "0.176221", "1.1971", "0.251596"},
		Air:     {"-0.00116074", "-0.00197798", "-0.0025985", "-0.00321877"},
	}
	for _, c := range []string{InUse, Rinse, StartUp, Air} {
		r := series(t, Settings{Seed: 1}, Stretch{Run: "golden", Condition: c, From: time.Unix(0, 0), N: 15})
		var got [4]string
		v := r.At(7).Values
		for i, k := range []int{20, 100, 170, 250} {
			got[i] = fmt.Sprintf("%.6g", v[k])
		}
		if got != want[c] {
			t.Errorf("%s: spectrum 7 of seed 1 = %q, want %q", c, got, want[c])
		}
	}
}

func TestSameSeedSameValues(t *testing.T) {
	s := Stretch{Run: "a", N: 40, Upsets: []Upset{Usual(NewBand, time.Minute), Usual(AxisShift, 2*time.Minute)}}
	r := series(t, Settings{Seed: 5}, s)
	var all [][]float64
	for x := range r.All() {
		all = append(all, x.Values)
	}
	short := s
	short.N = 25
	pieces := series(t, Settings{Seed: 5}, short)
	for i := short.N - 1; i >= 0; i-- { // in another order, from a shorter stretch
		if got := pieces.At(i).Values; !slices.Equal(got, all[i]) {
			t.Errorf("spectrum %d made by itself differs from the one made in order", i)
		}
	}
	for name, other := range map[string]*Series{
		"another seed": series(t, Settings{Seed: 6}, s),
		"another run":  series(t, Settings{Seed: 5}, Stretch{Run: "b", N: 40}),
		"another time": series(t, Settings{Seed: 5}, Stretch{Run: "a", N: 40, From: time.Unix(1, 0)}),
	} {
		if slices.Equal(other.At(3).Values, all[3]) {
			t.Errorf("%s gives the same spectrum", name)
		}
	}
}

// Regions, "about": B. G. Osborne, T. Fearn, P. H. Hindle, Practical NIR Spectroscopy, 1993; J. Workman, L. Weyer,
// Practical Guide and Spectral Atlas for Interpretive Near-Infrared Spectroscopy, 2012; both from memory, so each
// region is widened by 10 nm. The highest value of the component within 60 nm of the region must lie in it.
func TestBandsLieWherePublished(t *testing.T) {
	for _, c := range []struct {
		component int
		what      string
		lo, hi    float64
	}{
		{water, "O–H second overtone region", 970, 970},
		{water, "O–H combination", 1190, 1190},
		{water, "O–H first overtone", 1440, 1460},
		{oil, "C–H third overtone", 900, 930},
		{oil, "C–H second overtone", 1150, 1215},
		{starch, "O–H hydrogen-bonded", 1580, 1580},
		{starch, "C–H first overtone", 1690, 1780},
		{maltose, "C–H second overtone", 1150, 1215},
		{maltose, "C–H first overtone", 1690, 1780},
		{protein, "N–H second overtone", 1020, 1050},
		{protein, "N–H first overtone", 1480, 1570},
		{protein, "CH₃ first overtone", 1695, 1705},
		{fibre, "C–H second overtone", 1150, 1215},
	} {
		t.Run(c.what, func(t *testing.T) {
			best, at := -1.0, 0.0
			for nm := max(900, c.lo-25); nm <= min(1715, c.hi+25); nm++ {
				if v := pure(c.component, nm); v > best {
					best, at = v, nm
				}
			}
			if at < c.lo-10 || at > c.hi+10 {
				t.Errorf("component %d has its highest value near %s at %g nm, want %g to %g", c.component, c.what, at, c.lo, c.hi)
			}
		})
	}
}

// changes returns how an upset at full height changes the spectrum of a still line, and the axis.
func changes(t *testing.T, set Settings, u Upset) ([]float64, *spectrum.Axis) {
	t.Helper()
	u.After, u.Ramp = 0, 0
	good := series(t, set, Stretch{Run: "a", N: 1}).At(0)
	bad := series(t, set, Stretch{Run: "a", N: 1, Upsets: []Upset{u}}).At(0)
	d := slices.Clone(bad.Values)
	floats.Sub(d, good.Values)
	return d, good.Axis
}

func TestUpsetsDoWhatTheySay(t *testing.T) {
	clear := still()
	clear.Scatter = -1
	at := func(d []float64, a *spectrum.Axis, nm float64) float64 { return d[channel(a, nm)] }

	d, a := changes(t, clear, Usual(Dilution, 0))
	for _, nm := range []float64{970, 1190, 1450} { // Beer's law: more water, more of its bands
		if got := at(d, a, nm); got <= 0 {
			t.Errorf("dilution changes A(%g nm) by %g, want a rise", nm, got)
		}
	}
	for k, got := range d { // v Σ cⱼ (ε_water − εⱼ), j over the dry matter
		want, nm := 0.0, a.At(k)
		for j := oil; j < nComponents; j++ {
			want += Usual(Dilution, 0).Size * recipe[j] * (pure(water, nm) - pure(j, nm))
		}
		if !scalar.EqualWithinAbs(got, want, 1e-6) {
			t.Fatalf("dilution changes A(%g nm) by %g, want %g by the law of mixtures", nm, got, want)
		}
	}
	twice, _ := changes(t, clear, Upset{Kind: Dilution, Size: 2 * Usual(Dilution, 0).Size})
	for k := range d { // shares add up, so the change is proportional to the water
		if !scalar.EqualWithinAbsOrRel(twice[k], 2*d[k], 1e-12, 1e-9) {
			t.Fatalf("twice the dilution changes channel %d by %g, want twice %g", k, twice[k], d[k])
		}
	}

	d, a = changes(t, clear, Usual(OilPump, 0))
	if got := at(d, a, 1210) - at(d, a, 1120); got >= 0 {
		t.Errorf("less oil changes its band at 1210 nm by %g against 1120 nm, want a fall", got)
	}

	d, a = changes(t, still(), Usual(NewBand, 0))
	if k := floats.MaxIdx(d); math.Abs(a.At(k)-1270) > 2 || !scalar.EqualWithinAbs(d[k], 0.003, 5e-5) {
		t.Errorf("a new band rises by %g at %g nm, want 0.003 at 1270 nm", d[k], a.At(k))
	}

	d, a = changes(t, still(), Usual(Fouling, 0))
	if first, last := d[0], d[len(d)-1]; !(first > last && last > 0) || !scalar.EqualWithinAbs(at(d, a, 1300), 0.08, 2e-4) {
		t.Errorf("fouling adds %g at 900, %g at 1300, %g at 1700 nm; want it falling, 0.08 at 1300 nm", first, at(d, a, 1300), last)
	}
	mid := (d[0] + d[len(d)-1]) / 2
	if !scalar.EqualWithinAbs(at(d, a, 1300), mid, 1e-3) {
		t.Errorf("fouling adds %g at 1300 nm, want a straight line through %g", at(d, a, 1300), mid)
	}

	d, a = changes(t, still(), Usual(LampAgeing, 0))
	if lo := floats.Min(d); lo < -math.Log10(1-0.3*0.8)-1e-9 {
		t.Errorf("a lamp that lost 30 %% raises A by %g somewhere, want at least %g", lo, -math.Log10(1-0.3*0.8))
	}
	if got := d[0] + d[len(d)-1] - 2*at(d, a, 1300); got < 0.01 {
		t.Errorf("a lamp's ageing has a curvature of %g, want more than 0.01", got)
	}
}

// A shift of the axis is a derivative of the spectrum, to first order (Taylor).
func TestAxisShiftIsADerivative(t *testing.T) {
	for _, nm := range []float64{-0.4, 0.05, 0.6} {
		d, a := changes(t, still(), Upset{Kind: AxisShift, Size: nm})
		v := series(t, still(), Stretch{Run: "a", N: 1}).At(0).Values
		var moved, slope []float64
		for k := 1; k < len(v)-1; k++ {
			moved = append(moved, d[k]/nm)
			slope = append(slope, (v[k+1]-v[k-1])/(a.At(k+1)-a.At(k-1)))
		}
		if r := stat.Correlation(moved, slope, nil); r < 0.995 {
			t.Errorf("shift of %g nm: correlation of the change with the derivative = %.4f, want above 0.995", nm, r)
		}
		// The slope of the change on the derivative is the shift itself.
		if _, b := stat.LinearRegression(slope, moved, nil, true); !scalar.EqualWithinAbs(b, 1, 0.03) {
			t.Errorf("shift of %g nm moves the spectrum %.3f times as much", nm, b)
		}
	}
}

// The spectrum does not depend on how many channels look at it.
func TestChannelsSeeOneSpectrum(t *testing.T) {
	coarse, fine := still(), still()
	coarse.Channels, fine.Channels = 101, 401 // 8 nm and 2 nm apart
	a := series(t, coarse, Stretch{Run: "a", N: 1}).At(0)
	b := series(t, fine, Stretch{Run: "a", N: 1}).At(0)
	for k, v := range a.Values {
		if !scalar.EqualWithinAbs(v, b.Values[4*k], 1e-12) {
			t.Errorf("A(%g nm) = %v with 101 channels, %v with 401", a.Axis.At(k), v, b.Values[4*k])
		}
	}
}

// Interpolation on the grid of the light against the bands themselves.
func TestLookIsExactEnough(t *testing.T) {
	set := still()
	set.Scatter = -1
	x := series(t, set, Stretch{Run: "a", N: 1, Condition: StartUp}).At(0) // one spectrum: half product
	for k, v := range x.Values {
		want := 0.0
		for c := range nComponents {
			share := recipe[c] / 2
			if c == water {
				share = (1 + recipe[water]) / 2
			}
			want += share * pure(c, x.Axis.At(k))
		}
		want += (1 + recipe[water]) / 2 * rinseWarmer / 2 * pure(warmth, x.Axis.At(k))
		if !scalar.EqualWithinAbs(v, want, 2e-6) {
			t.Fatalf("A(%g nm) = %.8f, want %.8f from the bands", x.Axis.At(k), v, want)
		}
	}
}

// Noise alone: the difference of a noisy line and the same line without noise.
func TestNoiseIsLargerAtTheEdges(t *testing.T) {
	const n = 400
	quiet := series(t, Settings{Noise: -1}, Stretch{Run: "a", N: n})
	loud := series(t, Settings{}, Stretch{Run: "a", N: n})
	sd := func(nm float64) float64 {
		var d []float64
		k := channel(loud.line.axis, nm)
		for i := range n {
			d = append(d, loud.At(i).Values[k]-quiet.At(i).Values[k])
		}
		return stat.StdDev(d, nil)
	}
	middle := sd(1100)
	if middle < 3e-5 || middle > 3e-4 {
		t.Errorf("noise at 1100 nm = %.2g, want about 1e-4 absorbance", middle)
	}
	for _, nm := range []float64{900, 1450, 1700} {
		if got := sd(nm); got < 1.8*middle {
			t.Errorf("noise at %g nm = %.2g, want well above the %.2g at 1100 nm", nm, got, middle)
		}
	}
	more := series(t, Settings{}, Stretch{Run: "a", N: n, Upsets: []Upset{{Kind: MoreNoise, Size: 3}}})
	k := channel(more.line.axis, 1100)
	var a, b []float64
	for i := range n {
		a = append(a, loud.At(i).Values[k]-quiet.At(i).Values[k])
		b = append(b, more.At(i).Values[k]-quiet.At(i).Values[k])
	}
	if got := stat.StdDev(b, nil) / stat.StdDev(a, nil); !scalar.EqualWithinAbs(got, 4, 0.01) {
		t.Errorf("more noise by 3 makes it %.3f times as large, want 4", got)
	}
}

// An AR(1) series has the lag-1 autocorrelation φ and, started from its stationary distribution, a variance that
// does not depend on φ (Box and Jenkins, Time Series Analysis, 1976, section 3.2).
func TestWanderingIsAR1(t *testing.T) {
	const every, n = 20 * time.Second, 20000
	for _, phi := range []float64{0, 0.5, 0.8, 0.95} {
		r := series(t, Settings{Seed: 3, Lots: -1, Memory: MemoryFor(phi, every)}, Stretch{Run: "a", N: n, Every: every})
		for _, j := range []int{oil, hWarm, hAxis} {
			x := make([]float64, n)
			for i := range x {
				x[i] = r.hidden[i*nHidden+j]
			}
			if got := stat.Correlation(x[1:], x[:n-1], nil); !scalar.EqualWithinAbs(got, phi, 0.03) {
				t.Errorf("φ = %g: lag-1 autocorrelation of hidden state %d = %.3f", phi, j, got)
			}
			// The standard error of a variance grows with φ: (1+φ²)/(1−φ²) times as many spectra are needed.
			tol := 4 * math.Sqrt((1+phi*phi)/(1-phi*phi)/2/n)
			if got := stat.StdDev(x, nil) / spread[j].wander; !scalar.EqualWithinAbs(got, 1, tol) {
				t.Errorf("φ = %g: spread of hidden state %d = %.3f of the stated one, want 1 ± %.3f", phi, j, got, tol)
			}
		}
	}
}

// Runs differ more than spectra within a run do, by Settings.Lots.
func TestRunsDiffer(t *testing.T) {
	between := func(lots float64) float64 {
		var means, within []float64
		for run := range 30 {
			r := series(t, Settings{Seed: 2, Lots: lots}, Stretch{Run: fmt.Sprint(run), N: 200})
			k := channel(r.line.axis, 1200)
			var v []float64
			for i := range r.Len() {
				v = append(v, r.At(i).Values[k])
			}
			m, s := stat.MeanStdDev(v, nil)
			means, within = append(means, m), append(within, s)
		}
		return stat.StdDev(means, nil) / stat.Mean(within, nil)
	}
	if none, usual, much := between(-1), between(0), between(3); !(none < 0.6 && usual > 1.5 && much > 2*usual) {
		t.Errorf("spread of runs / spread within: none %.2f, usual %.2f, 3 × %.2f; want below 0.6, above 1.5, above twice that", none, usual, much)
	}
}

func TestConditionsLookLikeThemselves(t *testing.T) {
	mean := func(c string) (float64, *Series) {
		r := series(t, Settings{}, Stretch{Run: "a", Condition: c, N: 30})
		sum := 0.0
		for x := range r.All() {
			if x.Label != c {
				t.Errorf("a spectrum of %s is labelled %q", c, x.Label)
			}
			sum += stat.Mean(x.Values, nil)
		}
		return sum / 30, r
	}
	use, _ := mean(InUse)
	rinse, _ := mean(Rinse)
	air, a := mean(Air)
	if !(use > rinse && rinse > 0.1 && math.Abs(air) < 0.02) {
		t.Errorf("mean absorbance: usual %.3f, rinse %.3f, air %.3f; want a fall to about 0", use, rinse, air)
	}
	for x := range a.All() {
		if hi := floats.Max(x.Values); hi > 0.05 {
			t.Errorf("an empty beam has an absorbance of %.3f", hi)
		}
	}
	_, s := mean(StartUp)
	k := channel(s.line.axis, 1100)
	if first, last := s.At(0).Values[k], s.At(29).Values[k]; !(first < 0.05 && last > 0.25) {
		t.Errorf("start-up goes from %.3f to %.3f at 1100 nm, want from water's to the product's turbidity", first, last)
	}
}

func TestLevel(t *testing.T) {
	const m = time.Minute
	drift := Upset{Kind: OilPump, Size: 0.4, After: 10 * m, Ramp: 20 * m, For: 60 * m}
	drips := Upset{Kind: Dilution, Size: 0.1, After: 10 * m, Period: 5 * m, Open: 2 * m}
	for _, c := range []struct {
		u    Upset
		at   time.Duration
		want float64
	}{
		{drift, 0, 0}, {drift, 10 * m, 0}, {drift, 20 * m, 0.2}, {drift, 30 * m, 0.4}, {drift, 69 * m, 0.4}, {drift, 70 * m, 0},
		{drips, 9 * m, 0}, {drips, 10 * m, 0.1}, {drips, 11 * m, 0.1}, {drips, 12 * m, 0}, {drips, 15 * m, 0.1},
		{Upset{Kind: AxisShift}, 0, 0.6}, // the usual size
	} {
		if got := c.u.Level(c.at); !scalar.EqualWithinAbs(got, c.want, 1e-12) {
			t.Errorf("%v.Level(%v) = %g, want %g", c.u.Kind, c.at, got, c.want)
		}
	}
	for _, k := range Kinds() {
		if k.String() == "" || Usual(k, 0).Size == 0 {
			t.Errorf("kind %d has no words or no usual size", k)
		}
	}
}

func TestBadSettings(t *testing.T) {
	for _, c := range []struct {
		set  Settings
		want string
	}{
		{Settings{Channels: 63}, "63 channels"},
		{Settings{Channels: 1025}, "1025 channels"},
		{Settings{PathMM: 9}, "9 mm"},
		{Settings{PathMM: math.NaN()}, "NaN mm"},
		{Settings{Noise: math.NaN()}, "NaN"},
		{Settings{Lots: math.Inf(1)}, "+Inf"},
	} {
		if _, err := New(c.set); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("New(%+v) = %v, want an error that says %q", c.set, err, c.want)
		}
	}
	l, err := New(Settings{})
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		s    Stretch
		want string
	}{
		{Stretch{}, "0 spectra"},
		{Stretch{N: 1, Condition: "lunch"}, `"lunch"`},
		{Stretch{N: 1, Upsets: []Upset{{Kind: 99}}}, "kind 99"},
		{Stretch{N: 1, Upsets: []Upset{{Kind: AxisShift, Size: 40}}}, "40"},
		{Stretch{N: 1, Upsets: []Upset{{Kind: Dilution, Size: 2}}}, "0 to 1"},
		{Stretch{N: 1, Upsets: []Upset{{Kind: Dilution, Size: math.NaN()}}}, "NaN"},
		{Stretch{N: 1, Upsets: []Upset{{Kind: Dilution, For: -1}}}, "below zero"},
	} {
		if _, err := l.Series(c.s); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("Series(%+v) = %v, want an error that says %q", c.s, err, c.want)
		}
	}
}

// Every value of every condition and upset is finite, also where hardly any light is left.
func TestAlwaysFinite(t *testing.T) {
	for _, path := range []float64{0.1, 1, 5} {
		for _, c := range []string{InUse, Rinse, StartUp, Air} {
			for _, k := range Kinds() {
				r := series(t, Settings{PathMM: path, Lots: 5, Wander: 5}, Stretch{Run: "a", Condition: c, N: 3, Upsets: []Upset{{Kind: k}}})
				for x := range r.All() {
					for i, v := range x.Values {
						if math.IsNaN(v) || math.IsInf(v, 0) {
							t.Fatalf("path %g mm, %s, %v: channel %d is %v", path, c, k, i, v)
						}
					}
				}
			}
		}
	}
}

func TestFillDoesNotAllocate(t *testing.T) {
	r := series(t, Settings{}, Stretch{Run: "a", N: 8, Upsets: []Upset{{Kind: NewBand}}})
	v := make([]float64, r.line.axis.Len())
	r.Fill(v, 0)
	if n := testing.AllocsPerRun(20, func() { r.Fill(v, 5) }); n != 0 {
		t.Errorf("Fill allocates %g times, want 0", n)
	}
}

func BenchmarkFill(b *testing.B) {
	for _, p := range []int{64, 256, 1024} {
		b.Run(fmt.Sprintf("p=%d", p), func(b *testing.B) {
			const n = 1000
			r := series(b, Settings{Channels: p}, Stretch{Run: "a", N: n})
			v := make([]float64, p)
			b.ReportAllocs()
			i := 0
			for b.Loop() {
				r.Fill(v, i%n)
				i++
			}
		})
	}
}
