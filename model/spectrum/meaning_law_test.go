package spectrum

import (
	"encoding/json"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"
	"time"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/floats/scalar"
)

// TestTimeReadsBack: a moment written in any of the usual forms, in any zone, reads as the same moment.
func TestTimeReadsBack(t *testing.T) {
	rng := rand.New(rand.NewPCG(31, 1))
	zones := []*time.Location{time.UTC, time.FixedZone("", 3600), time.FixedZone("", -5*3600-1800), time.FixedZone("", 14*3600)}
	for range 300 {
		zone := zones[rng.IntN(len(zones))]
		at := time.Unix(1e9+rng.Int64N(2e9), 0).In(zone)
		fine := at.Add(time.Duration(rng.IntN(1000)) * time.Millisecond)
		for _, layout := range timeLayouts {
			if strings.HasSuffix(layout, "MST") {
				continue // names of zones are below
			}
			want := at
			if !strings.Contains(layout, "05") {
				want = at.Truncate(time.Minute)
			}
			if !strings.Contains(layout, "04") {
				want = time.Date(at.Year(), at.Month(), at.Day(), 0, 0, 0, 0, zone)
			}
			same(t, at.Format(layout), zone, want)
		}
		same(t, fine.Format(time.RFC3339Nano), time.UTC, fine)
		same(t, fine.Format("2006-01-02 15:04:05.000"), zone, fine)
		same(t, at.UTC().Format("2006-01-02 15:04:05 MST"), zone, at)
		same(t, fmt.Sprint(at.Unix()), zone, at)
		same(t, fmt.Sprint(fine.UnixMilli()), zone, fine)
		same(t, " "+at.Format(time.RFC3339)+"\t", time.UTC, at)
	}
}

func same(t *testing.T, text string, zone *time.Location, want time.Time) {
	t.Helper()
	if got, err := ParseTime(text, zone); err != nil || !got.Equal(want) {
		t.Fatalf("ParseTime(%q, %v) = %v, %v; want %v", text, zone, got, err, want)
	}
}

// TestTimeInNameReadsBack: a moment in a file's name is found whatever separates its parts and whatever stands around it.
func TestTimeInNameReadsBack(t *testing.T) {
	rng := rand.New(rand.NewPCG(32, 1))
	zone := time.FixedZone("", 2*3600)
	for range 500 {
		at := time.Unix(1e9+rng.Int64N(2e9), 0).In(zone)
		date := at.Format([]string{"20060102", "2006-01-02", "2006_01_02", "2006.01.02"}[rng.IntN(4)])
		clock := at.Format([]string{"150405", "15-04-05", "15_04_05", "15.04.05"}[rng.IntN(4)])
		name := []string{"", "oat_", "filler 3 - ", "probe2 "}[rng.IntN(4)] + date + []string{"-", "_", "T", " ", ""}[rng.IntN(5)] + clock +
			[]string{".csv", " usual.csv", "_a.jdx", ".csv.gz"}[rng.IntN(4)]
		folder := []string{"", "spectra/", `C:\lines\3\`, "2001-02-03/lot 7/"}[rng.IntN(4)]
		if got, err := TimeInName(folder+name, "", zone); err != nil || !got.Equal(at) {
			t.Fatalf("TimeInName(%q) = %v, %v; want %v", folder+name, got, err, at)
		}
		layout := "2006-01-02 15.04.05"
		if got, err := TimeInName(folder+"oat "+at.Format(layout)+".csv", layout, zone); err != nil || !got.Equal(at) {
			t.Fatalf("TimeInName(%q, %q) = %v, %v; want %v", at.Format(layout), layout, got, err, at)
		}
	}
}

// TestUnitsConvert: nm, µm and cm⁻¹ convert into each other and back; light of 1 µm has 10,000 waves to the centimetre, that
// of a helium–neon laser, 632.8 nm, has 15,802.78, by hand.
func TestUnitsConvert(t *testing.T) {
	light := []Unit{Nanometre, Micrometre, ReciprocalCentimetre}
	for _, at := range [][3]float64{{1000, 1, 10000}, {632.8, 0.6328, 15802.781}, {2500, 2.5, 4000}} {
		for i, from := range light {
			for j, to := range light {
				if got, err := convert(at[i], from, to); err != nil || !scalar.EqualWithinRel(got, at[j], 1e-7) {
					t.Errorf("convert(%g, %v, %v) = %.10g, %v; want %.10g", at[i], from, to, got, err, at[j])
				}
			}
		}
	}
	rng := rand.New(rand.NewPCG(33, 1))
	for range 100 {
		at := []float64{0.5 + rng.Float64()}
		for range 20 {
			at = append(at, at[len(at)-1]+0.001+0.01*rng.Float64())
		}
		a := axisOf(t, Micrometre, at...)
		for _, u := range light {
			there, err := a.In(u)
			if err != nil {
				t.Fatal(err)
			}
			if turns := u == ReciprocalCentimetre; there.Rising() == turns || there.Len() != a.Len() {
				t.Errorf("a rising axis of %d channels in %v: %v, rising %v", a.Len(), u, there, there.Rising())
			}
			back, err := there.In(Micrometre)
			if err != nil {
				t.Fatal(err)
			}
			for i := range at {
				if !scalar.EqualWithinRel(back.At(i), at[i], 1e-15*4) {
					t.Errorf("channel %d there and back by %v = %.17g, want %.17g", i+1, u, back.At(i), at[i])
				}
			}
		}
		for _, u := range []Unit{Channel, UnknownUnit, Retardation} {
			if _, err := a.In(u); err == nil {
				t.Errorf("In(%v) of an axis in µm = nil, want an error", u)
			}
		}
	}
}

// TestGuessUnitOfInstruments: the axes that instruments of the trade write, in each unit, whole or in part, from either end.
func TestGuessUnitOfInstruments(t *testing.T) {
	for _, nm := range [][2]float64{{400, 1000}, {900, 1700}, {950, 1650}, {1100, 2500}, {350, 2500}, {780, 2500}, {1000, 2630}} {
		for _, p := range []int{2, 100, 2048} {
			var at, um, cm []float64
			for i := range p {
				v := nm[0] + (nm[1]-nm[0])*float64(i)/float64(p-1)
				at, um, cm = append(at, v), append(um, v/1e3), append(cm, 1e7/v)
			}
			for _, c := range []struct {
				at   []float64
				want Unit
			}{{at, Nanometre}, {um, Micrometre}, {cm, ReciprocalCentimetre}} {
				if got := GuessUnit(c.at); got != c.want {
					t.Errorf("GuessUnit(%g … %g) = %v, want %v", c.at[0], c.at[p-1], got, c.want)
				}
				if got := GuessUnit(c.at[:p/2+1]); got != c.want {
					t.Errorf("GuessUnit(%g … %g) = %v, want %v, as for all of it", c.at[0], c.at[p/2], got, c.want)
				}
				back := slices.Clone(c.at)
				slices.Reverse(back)
				if got := GuessUnit(back); got != c.want {
					t.Errorf("GuessUnit(%g … %g) = %v, want %v", back[0], back[p-1], got, c.want)
				}
			}
		}
	}
	for _, p := range []int{2, 128, 256, 512, 1024} {
		at := make([]float64, p)
		for _, first := range []float64{0, 1} {
			for i := range at {
				at[i] = first + float64(i)
			}
			if got := GuessUnit(at); got != Channel {
				t.Errorf("GuessUnit(%g … %g) = %v, want %v", at[0], at[p-1], got, Channel)
			}
		}
	}
}

// TestPercentIsAHundredth: a reflectance in percent, said by the file, by the options or by its own size, is the same
// spectrum as a share, and becomes the same absorbance.
func TestPercentIsAHundredth(t *testing.T) {
	rng := rand.New(rand.NewPCG(34, 1))
	for range 50 {
		var share, percent strings.Builder
		for i := range 20 {
			v := 50 + rng.IntN(900) // in thousandths: from a twentieth on, so that one in percent stands above 2
			fmt.Fprintf(&share, "%d,%.3f\n", 1000+i, float64(v)/1e3)
			fmt.Fprintf(&percent, "%d,%.1f\n", 1000+i, float64(v)/10)
		}
		want := absorbanceOf(t, Options{}, "# quantity: reflectance\n"+share.String())
		for _, c := range []struct {
			opt  Options
			text string
		}{
			{Options{}, "# quantity: %R\n" + percent.String()},
			{Options{}, "wavelength (nm),reflectance (%)\n" + percent.String()},
			{Options{Quantity: Reflectance, Percent: true}, percent.String()},
			{Options{Quantity: Reflectance}, percent.String()}, // above 2, which no share is
		} {
			for i, v := range absorbanceOf(t, c.opt, c.text) {
				if !scalar.EqualWithinAbs(v, want[i], 1e-12) {
					t.Fatalf("channel %d = %.15g, want %.15g, of\n%.80s", i+1, v, want[i], c.text)
				}
			}
		}
	}
}

// TestPercentIsDividedOnce: a spectrum that is said to stand in percent is divided by 100 once, however much light its brightest channel
// shows, so that it stays where its neighbours are. A = −log₁₀(2.5) by hand.
func TestPercentIsDividedOnce(t *testing.T) {
	const text = "1000,50\n1001,25\n1002,250\n"
	want := []float64{0.30103, 0.60206, -0.39794}
	for _, c := range []struct {
		opt  Options
		text string
	}{
		{Options{}, "# quantity: %R\n" + text},
		{Options{Quantity: Reflectance, Percent: true}, text},
		{Options{Quantity: Transmittance, Percent: true}, "time,1000,1001,1002\n2026-11-25T06:00:00Z,50,25,250\n"},
		{Options{}, newJDX().with("XUNITS", "NANOMETERS", "YUNITS", "% TRANSMITTANCE", "LASTX", "1002", "DELTAX", "1", "NPOINTS", "3", "YFACTOR", "1", "FIRSTY", "50").
			lines("1000 50 25 250\n").String()},
	} {
		if got := absorbanceOf(t, c.opt, c.text); !floats.EqualApprox(got, want, 1e-5) {
			t.Errorf("%.60q: %v, want %v", c.text, got, want)
		}
	}
}

func absorbanceOf(t *testing.T, opt Options, text string) []float64 {
	t.Helper()
	ss, bad := collect(t, NewReader(opt), text, "oat.csv")
	if len(ss) != 1 || len(bad) > 0 {
		t.Fatalf("Read gave %d spectra and %q of\n%.80s", len(ss), bad, text)
	}
	a, err := ss[0].Absorbance()
	if err != nil {
		t.Fatal(err)
	}
	if again, err := a.Absorbance(); err != nil || !slices.Equal(again.Values, a.Values) {
		t.Errorf("the absorbance of an absorbance is another, %v", err)
	}
	return a.Values
}

// TestIntensityColumns: columns of sample, dark and reference give the absorbance that FromIntensities gives, in any order.
func TestIntensityColumns(t *testing.T) {
	rng := rand.New(rand.NewPCG(35, 1))
	names := []string{"sample", "dark", "reference"}
	for range 30 {
		order := rng.Perm(3)
		var at, want []float64
		text := "wavelength (nm)"
		for _, c := range order {
			text += "," + names[c]
		}
		text += "\n"
		for i := range 12 {
			v := [3]float64{}
			v[1] = float64(100 + rng.IntN(50))
			v[2] = v[1] + float64(20000+rng.IntN(30000))
			v[0] = v[1] + float64(1+rng.IntN(20000))
			at, want = append(at, 900+float64(i)), append(want, -math.Log10((v[0]-v[1])/(v[2]-v[1])))
			text += fmt.Sprint(at[i])
			for _, c := range order {
				text += fmt.Sprintf(",%g", v[c])
			}
			text += "\n"
		}
		got := absorbanceOf(t, Options{}, text)
		for i := range want {
			if !scalar.EqualWithinAbs(got[i], want[i], 1e-13) {
				t.Fatalf("channel %d = %.15g, want %.15g, of\n%s", i+1, got[i], want[i], text)
			}
		}
	}
}

// TestExposureInAnyUnit: an integration time is the same in seconds, milliseconds and microseconds, so that a dark is found by it.
func TestExposureInAnyUnit(t *testing.T) {
	for tenths := 1; tenths < 30000; tenths += 7 { // of a millisecond
		want := time.Duration(tenths) * 100 * time.Microsecond
		for _, text := range []string{
			fmt.Sprintf("%.1f", float64(tenths)/10), fmt.Sprintf("%.1f ms", float64(tenths)/10), fmt.Sprintf("%.4f s", float64(tenths)/1e4), fmt.Sprintf("%d us", tenths*100),
		} {
			if got, err := parseExposure(text, time.Millisecond); err != nil || got != want {
				t.Fatalf("parseExposure(%q) = %v, %v; want %v", text, got, err, want)
			}
		}
	}
}

// TestAxisRoundTrip: an axis written as JSON reads back to the last digit, and one that cannot be is refused as by NewAxis.
func TestAxisRoundTrip(t *testing.T) {
	rng := rand.New(rand.NewPCG(36, 1))
	for _, u := range []Unit{UnknownUnit, Nanometre, Micrometre, ReciprocalCentimetre, Channel, Retardation} {
		at := []float64{rng.Float64() + 1}
		for range 50 {
			at = append(at, at[len(at)-1]+rng.Float64()+1e-9)
		}
		a := axisOf(t, u, at...)
		b, err := json.Marshal(a)
		if err != nil {
			t.Fatal(err)
		}
		var back Axis
		if err := json.Unmarshal(b, &back); err != nil || !back.Equal(a) {
			t.Errorf("an axis in %v reads back as %v, %v; want %v", u, &back, err, a)
		}
	}
	for _, text := range []string{
		`{}`, `{"unit":"nm"}`, `{"unit":"nm","at":[900]}`, `{"unit":"nm","at":[900,900]}`, `{"unit":"nm","at":[900,901,900.5]}`,
		`{"unit":"nm","at":[0,900]}`, `{"unit":"mile","at":[900,901]}`, `{"unit":"nm","at":["900",901]}`, `[900,901]`,
	} {
		var a Axis
		if err := json.Unmarshal([]byte(text), &a); err == nil {
			t.Errorf("an axis of %s reads as %v, want an error", text, &a)
		}
	}
}
