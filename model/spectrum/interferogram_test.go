package spectrum

import (
	"fmt"
	"math"
	"strings"
	"testing"
	"time"
)

// newIFG is a block of an interferogram of 4 points.
func newIFG() jdx {
	return newJDX().with("DATA TYPE", "INFRARED INTERFEROGRAM", "XUNITS", "MICROMETERS", "YUNITS", "ARBITRARY UNITS", "YFACTOR", "1", "FIRSTY", "-",
		"FIRSTX", "-1.2656", "LASTX", "2.5312", "DELTAX", "1.2656").lines("-1.2656 12 -3 907 44\n")
}

// TestReadInterferogram: positions are worked out by hand, 1 µm being 10⁻⁴ cm.
func TestReadInterferogram(t *testing.T) {
	csv := func(head string, at ...string) string {
		text := head
		for i, x := range at {
			text += fmt.Sprintf("%s,%d\n", x, 5+i*i)
		}
		return text
	}
	for _, tt := range []struct {
		name, text string
		unit       Unit
		at         []float64
	}{
		{"JCAMP-DX in µm", newIFG().String(), Retardation, []float64{-1.2656e-4, 0, 1.2656e-4, 2.5312e-4}},
		{"JCAMP-DX in points", newIFG().with("XUNITS", "ARBITRARY UNITS", "FIRSTX", "0", "LASTX", "3", "DELTAX", "1").lines("0 12 -3 907 44\n").String(), Channel, []float64{0, 1, 2, 3}},
		{"JCAMP-DX in cm", newIFG().with("XUNITS", "CENTIMETERS").String(), Retardation, []float64{-1.2656, 0, 1.2656, 2.5312}},
		{"CSV in cm", csv("# quantity: interferogram\n# axis: cm\n", "-0.001", "0", "0.001"), Retardation, []float64{-.001, 0, .001}},
		{"CSV in nm", csv("# quantity: interferogram\n# axis: nm\n", "-633", "0", "633"), Retardation, []float64{-6.33e-5, 0, 6.33e-5}},
		{"CSV in points, named by its columns", csv("point,interferogram\n", "1", "2", "3"), Channel, []float64{1, 2, 3}},
		{"CSV from a point on", csv("point,interferogram\n", "-1", "0", "1"), Channel, []float64{-1, 0, 1}},
	} {
		for _, opt := range []Options{{}, {Unit: ReciprocalCentimetre, Time: TimeNone}} { // the unit of spectra says nothing here
			ss, bad := collect(t, NewReader(opt), tt.text, "oat.jdx")
			if len(ss) != 1 || len(bad) > 0 {
				t.Fatalf("%s: Read gave %d spectra and %q, want one", tt.name, len(ss), bad)
			}
			s := ss[0]
			if s.Quantity != Interferogram || s.Axis.Unit() != tt.unit {
				t.Errorf("%s: Read gave %v in %v, want an interferogram in %v", tt.name, s.Quantity, s.Axis.Unit(), tt.unit)
			}
			for i, want := range tt.at {
				if got := s.Axis.At(i); math.Abs(got-want) > 1e-15 {
					t.Errorf("%s: position %d = %v, want %v", tt.name, i+1, got, want)
				}
			}
			if _, err := s.Absorbance(); err == nil || !strings.Contains(err.Error(), "only by its Fourier transform") {
				t.Errorf("%s: Absorbance gave error %v, want one that names the transform", tt.name, err)
			}
		}
	}
}

func TestReadInterferogramRefused(t *testing.T) {
	for _, tt := range []struct{ name, text, want string }{
		{"wavenumbers", newIFG().with("XUNITS", "1/CM").String(), "and its axis is in cm-1"},
		{"no unit", "# quantity: interferogram\n-0.5,1\n0.1,9\n0.7,2\n", "position 2 is 0.1, the first -0.5), and no unit"},
		{"CSV in cm-1", "# quantity: interferogram\n# axis: cm-1\n1,1\n2,9\n", "and its axis is in cm-1"},
	} {
		ss, bad := collect(t, NewReader(Options{}), tt.text, "oat.jdx")
		if len(ss) > 0 || len(bad) != 1 || !strings.Contains(bad[0], tt.want) {
			t.Errorf("%s: Read gave %d spectra and %q, want none and a reason with %q", tt.name, len(ss), bad, tt.want)
		}
	}
}

// TestReadInterferogramSharesAxis: a second file on the same grid shares the axis, although positions are scaled in place.
func TestReadInterferogramSharesAxis(t *testing.T) {
	rd := NewReader(Options{})
	a, _ := collect(t, rd, newIFG().String(), "a.jdx")
	b, _ := collect(t, rd, newIFG().String(), "b.jdx")
	if len(a) != 1 || len(b) != 1 || a[0].Axis != b[0].Axis {
		t.Error("two interferograms on one grid do not share their axis")
	}
	if u := rd.Info().Unit; u != Retardation {
		t.Errorf("Info gives the unit %v, want cm", u)
	}
}

func TestReadExposure(t *testing.T) {
	body := "900,1\n901,2\n902,3\n"
	for _, tt := range []struct {
		text string
		want time.Duration
		err  string
	}{
		{"# integration time: 20 ms\n" + body, 20 * time.Millisecond, ""},
		{"# Integration time (ms): 20\n" + body, 20 * time.Millisecond, ""},
		{"# exposure = 0.5 s\n" + body, 500 * time.Millisecond, ""},
		{"# exposure time: 12.5\n" + body, 12500 * time.Microsecond, ""},
		{"# integration time (us): 900\n" + body, 900 * time.Microsecond, ""},
		{"# integration time (s): 2\n" + body, 2 * time.Second, ""},
		{body, 0, ""},
		{newJDX().with("$INTEGRATION TIME", "40").String(), 40 * time.Millisecond, ""},
		{newJDX().with("$EXPOSURE", "3 s").String(), 3 * time.Second, ""},
		{"# exposure: long\n" + body, 0, `the integration time is "long", not a number`},
		{"# exposure: 3 weeks\n" + body, 0, `the integration time is "3 weeks", not a number`},
		{"# exposure: -1\n" + body, 0, "above zero"},
		{newJDX().with("$EXPOSURE", "0").String(), 0, "above zero"},
		{newJDX().with("$EXPOSURE", "1e30 s").String(), 0, "at most 24h"},
	} {
		ss, bad := collect(t, NewReader(Options{}), tt.text, "oat.csv")
		if tt.err != "" {
			if len(bad) != 1 || !strings.Contains(bad[0], tt.err) {
				t.Errorf("Read(%.40q) gave %q, want a reason with %q", tt.text, bad, tt.err)
			}
			continue
		}
		if len(ss) != 1 || ss[0].Exposure != tt.want {
			t.Errorf("Read(%.40q) gave %v, %q; want an exposure of %v", tt.text, ss, bad, tt.want)
		}
	}
}

func TestRetardationUnit(t *testing.T) {
	u, err := ParseUnit("cm")
	if err != nil || u != Retardation || u.String() != "cm" {
		t.Errorf("ParseUnit(cm) = %v, %v; want a path difference", u, err)
	}
	a, err := NewAxis(Retardation, []float64{-1, 0, 1})
	if err != nil {
		t.Fatal(err)
	}
	if _, err := a.In(Nanometre); err == nil {
		t.Error("a path difference turned into a wavelength")
	}
	q, err := ParseQuantity("interferogram")
	if err != nil || q != Interferogram {
		t.Errorf("ParseQuantity(interferogram) = %v, %v", q, err)
	}
}

// FuzzInterferogram asserts that whatever says it is an interferogram comes out as a sound one, on a path difference or
// points, or with a reason.
func FuzzInterferogram(f *testing.F) {
	for _, s := range []string{
		newIFG().String(), newIFG().with("XUNITS", "SECONDS").String(), newIFG().with("XYDATA", "(XY..XY)").lines("-1 5; 0 9; 1 4; 2 1\n").String(),
		"# quantity: interferogram\n# axis: um\n-1;5,5\n0;9\n1;4\n", "point interferogram\n1 1\n2 2\n", "cm\tinterferogram\n-1e300\t1\n1e300\t2\n",
		"# quantity: interferogram\n# exposure: 1e9\n1,2\n2,3\n",
	} {
		f.Add([]byte(s), byte(0))
		f.Add([]byte(s), byte(0b1011))
	}
	f.Fuzz(func(t *testing.T, data []byte, o byte) {
		fuzzRead(t, data, fuzzOptions(o))
		for s, err := range Read(strings.NewReader(string(data)), Source{Name: "a.csv"}, Options{MaxBytes: 1 << 20}) {
			if err == nil && s.Exposure < 0 {
				t.Fatalf("an integration time of %v", s.Exposure)
			}
		}
	})
}
