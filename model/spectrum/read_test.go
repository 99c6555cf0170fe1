package spectrum

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"
	"time"
)

// collect reads a text and returns its spectra and its errors as text.
func collect(t *testing.T, rd *Reader, text, name string) (ss []Spectrum, bad []string) {
	t.Helper()
	for s, err := range rd.Read(strings.NewReader(text), Source{Name: name}) {
		if err != nil {
			var u *Unreadable
			if !errors.As(err, &u) {
				t.Fatalf("Read(%q) gave %T, want *Unreadable", name, err)
			}
			bad = append(bad, err.Error())
			continue
		}
		check(t, s)
		ss = append(ss, s)
	}
	return ss, bad
}

// check asserts what holds for every spectrum that Read gives.
func check(t *testing.T, s Spectrum) {
	t.Helper()
	if s.Axis == nil || len(s.Values) != s.Axis.Len() {
		t.Fatalf("%s: %d values on axis %v, want one a channel", s.Name(), len(s.Values), s.Axis)
	}
	if s.Quantity == UnknownQuantity {
		t.Errorf("%s: quantity unknown, want one", s.Name())
	}
	for i, v := range s.Values {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			t.Fatalf("%s: channel %d is %v, want a finite value", s.Name(), i+1, v)
		}
	}
	if _, err := NewAxis(s.Axis.Unit(), s.Axis.Values()); err != nil {
		t.Fatalf("%s: axis: %v", s.Name(), err)
	}
}

// twoColumnsText writes p channels from 900 nm on, 1.5625 nm apart, with three header lines.
func twoColumnsText(p int) string {
	var b strings.Builder
	b.WriteString("# time: 2026-11-25T06:34:12+01:00\n# axis: nm\n# quantity: absorbance\n")
	for i := range p {
		fmt.Fprintf(&b, "%g,%.6f\n", 900+1.5625*float64(i), 0.5+0.4*math.Sin(float64(i)/40))
	}
	return b.String()
}

func TestReadColumns(t *testing.T) {
	at := time.Date(2026, 11, 25, 5, 34, 12, 0, time.UTC)
	for _, tt := range []struct {
		name, text string
		opt        Options
		axis       string
		values     []float64
		quantity   Quantity
		time       time.Time
		run, label string
	}{
		{name: "comments", text: "# time: 2026-11-25T06:34:12+01:00\n# axis: nm\n# quantity: reflectance\n# run: lot 7\n# label: usual\n900,0.5\n901,0.25\n",
			axis: "2 channels, 900–901 nm", values: []float64{.5, .25}, quantity: Reflectance, time: at, run: "lot 7", label: "usual"},
		{name: "bare", text: "900,0.5\n901,0.25\n", axis: "2 channels, 900–901 nm", values: []float64{.5, .25}, quantity: Absorbance},
		{name: "no last newline", text: "900,0.5\n901,0.25", axis: "2 channels, 900–901 nm", values: []float64{.5, .25}, quantity: Absorbance},
		{name: "Windows line ends", text: "Wavelength (nm),Absorbance\r\n900,0.5\r\n901,0.25\r\n", axis: "2 channels, 900–901 nm", values: []float64{.5, .25}, quantity: Absorbance},
		{name: "byte order mark", text: "\ufeff900,0.5\n901,0.25\n", axis: "2 channels, 900–901 nm", values: []float64{.5, .25}, quantity: Absorbance},
		{name: "decimal comma, semicolon", text: "900,5;0,5\n901,5;-1,25E-1\n", axis: "2 channels, 900.5–901.5 nm", values: []float64{.5, -.125}, quantity: Absorbance},
		{name: "decimal comma, tab", text: "900,5\t0,5\n901,5\t0,25\n", axis: "2 channels, 900.5–901.5 nm", values: []float64{.5, .25}, quantity: Absorbance},
		{name: "decimal comma, blanks", text: " 900,5   0,5\n 901,5   0,25\n", axis: "2 channels, 900.5–901.5 nm", values: []float64{.5, .25}, quantity: Absorbance},
		{name: "decimal comma appears late", text: "900;0\n901;0\n902;0,5\n", axis: "3 channels, 900–902 nm", values: []float64{0, 0, .5}, quantity: Absorbance},
		{name: "blanks", text: "900   0.5\n901 0.25  \n", axis: "2 channels, 900–901 nm", values: []float64{.5, .25}, quantity: Absorbance},
		{name: "comma and blank", text: "900, 0.5\n901, 0.25\n", axis: "2 channels, 900–901 nm", values: []float64{.5, .25}, quantity: Absorbance},
		{name: "quoted, trailing delimiter", text: "\"900\";\"0.5\";\n\"901\";\"0.25\";\n", axis: "2 channels, 900–901 nm", values: []float64{.5, .25}, quantity: Absorbance},
		{name: "a comment without percent, a column with it", text: "# quantity: transmittance\nnm,Transmittance (%)\n900,1.5\n901,0.5\n", axis: "2 channels, 900–901 nm", values: []float64{.015, .005}, quantity: Transmittance},
		{name: "a comment with percent, a column without", text: "# quantity: transmittance (%)\nnm,Transmittance\n900,1.5\n901,0.5\n", axis: "2 channels, 900–901 nm", values: []float64{.015, .005}, quantity: Transmittance},
		{name: "a comment and a column that differ", text: "# quantity: transmittance\nnm,Reflectance (%)\n900,1.5\n901,0.5\n", axis: "2 channels, 900–901 nm", values: []float64{1.5, .5}, quantity: Transmittance},
		{name: "one of three columns, percent in the comment", text: "# quantity: transmittance (%)\nnm,Transmittance,note\n900,1.5,1\n901,0.5,2\n", opt: Options{Quantity: Transmittance}, axis: "2 channels, 900–901 nm", values: []float64{.015, .005}, quantity: Transmittance},
		{name: "falling wavenumbers, percent", text: "Wavenumber (cm-1)\t%T\n10000\t50\n9990\t25\n", axis: "2 channels, 9990–10000 cm⁻¹", values: []float64{.5, .25}, quantity: Transmittance},
		{name: "Latin-1 micrometres", text: "wavelength [\xb5m];reflectance\n0.9;0.5\n0.91;0.25\n", axis: "2 channels, 0.9–0.91 µm", values: []float64{.5, .25}, quantity: Reflectance},
		{name: "preamble", text: "Oat drink, filler 3\nDate: 25.11.2026\nTime: 05:34:12\nIntegration time [ms];20\nBatch;lot 7\n\n900;0.5\n901;0.25\n\n",
			axis: "2 channels, 900–901 nm", values: []float64{.5, .25}, quantity: Absorbance, time: at, run: "lot 7"},
		{name: "index", text: "0,120\n1,65535\n", axis: "2 channels, 0–1 channel", values: []float64{120, 65535}, quantity: Intensity},
		{name: "options win", text: "# axis: nm\n# quantity: absorbance\n1.1,50\n1.2,25\n", opt: Options{Unit: Micrometre, Quantity: Reflectance, Percent: true},
			axis: "2 channels, 1.1–1.2 µm", values: []float64{.5, .25}, quantity: Reflectance},
		{name: "sample, dark, reference", text: "wavelength (nm),dark,reference,sample\n900,100,1100,200\n901,100,1100,1100\n",
			axis: "2 channels, 900–901 nm", values: []float64{1, 0}, quantity: Absorbance},
		{name: "intensity wanted", text: "wavelength (nm),dark,reference,sample\n900,100,1100,200\n901,100,1100,1100\n", opt: Options{Quantity: Intensity},
			axis: "2 channels, 900–901 nm", values: []float64{200, 1100}, quantity: Intensity},
		{name: "column by name", text: "wavelength (nm),counts,absorbance\n900,200,1\n901,1100,0\n", axis: "2 channels, 900–901 nm", values: []float64{1, 0}, quantity: Absorbance},
		{name: "channels said", text: "# number of channels: 2\n900,0.5\n901,0.25\n", axis: "2 channels, 900–901 nm", values: []float64{.5, .25}, quantity: Absorbance},
	} {
		t.Run(tt.name, func(t *testing.T) {
			ss, bad := collect(t, NewReader(tt.opt), tt.text, "oat.csv")
			if len(bad) > 0 || len(ss) != 1 {
				t.Fatalf("Read gave %d spectra and %q, want 1 and none", len(ss), bad)
			}
			s := ss[0]
			if s.Axis.String() != tt.axis || s.Quantity != tt.quantity || s.Run != tt.run || s.Label != tt.label || s.Row != 0 {
				t.Errorf("Read = %v, %v, run %q, label %q, row %d; want %s, %v, %q, %q, 0", s.Axis, s.Quantity, s.Run, s.Label, s.Row, tt.axis, tt.quantity, tt.run, tt.label)
			}
			if !s.Time.Equal(tt.time) {
				t.Errorf("time = %v, want %v", s.Time, tt.time)
			}
			for i, v := range tt.values {
				if !(math.Abs(s.Values[i]-v) <= 1e-15) {
					t.Errorf("value %d = %v, want %v", i+1, s.Values[i], v)
				}
			}
		})
	}
}

func TestReadTable(t *testing.T) {
	text := "# axis: nm\n# quantity: absorbance\ntime,run,label,900,901,902\n" +
		"2026-11-25T06:00:00Z,lot 7,usual,0.1,0.2,0.3\n" +
		"2026-11-25T06:01:00Z,lot 7,usual,0.1,NaN,0.3\n" +
		"2026-11-25T06:02:00Z,lot 7,usual,0.1,0.2\n" +
		"2026-11-25T06:03:00Z,lot 8,rinse,0.4,0.5,0.6\n" +
		"2026-11-25T06:04:00Z,lot 8,rinse,0.4,0.5"
	ss, bad := collect(t, NewReader(Options{}), text, "day.csv")
	if len(ss) != 2 || ss[0].Row != 1 || ss[1].Row != 4 {
		t.Fatalf("Read gave %v, want rows 1 and 4", ss)
	}
	if s := ss[1]; s.Run != "lot 8" || s.Label != "rinse" || !s.Time.Equal(time.Date(2026, 11, 25, 6, 3, 0, 0, time.UTC)) || s.Values[2] != 0.6 {
		t.Errorf("row 4 = %+v", s)
	}
	if ss[0].Axis != ss[1].Axis {
		t.Error("rows of one table have two axes, want one")
	}
	want := []string{
		`day.csv: line 5: channel 2 (901 nm) is "NaN", no number`,
		`day.csv: line 6: 5 columns, the table's first line names 6`,
		`day.csv: line 8: the file ends in the middle of this row, "…8,rinse,0.4,0.5"; was it cut off, or is it still being written?`,
	}
	if !slices.Equal(bad, want) {
		t.Errorf("Read said\n%s\nwant\n%s", strings.Join(bad, "\n"), strings.Join(want, "\n"))
	}
}

func BenchmarkReadTwoColumns(b *testing.B) {
	text := twoColumnsText(512)
	rd := NewReader(Options{})
	r := strings.NewReader(text)
	b.ReportAllocs()
	b.SetBytes(int64(len(text)))
	for b.Loop() {
		r.Reset(text)
		for _, err := range rd.Read(r, Source{Name: "oat.csv"}) {
			if err != nil {
				b.Fatal(err)
			}
		}
	}
}

// Values that were handed back are used again, and nothing that was read before shows through.
func TestReuse(t *testing.T) {
	rd := NewReader(Options{})
	long, short := "1100,0.5\n1102,0.6\n1104,0.7\n", "1100,0.1\n1102,0.2\n"
	first, _ := collect(t, rd, long, "long.csv")
	held := first[0].Values
	rd.Reuse(held)
	second, _ := collect(t, rd, short, "short.csv")
	third, _ := collect(t, rd, long, "long.csv")
	if got := second[0].Values; !slices.Equal(got, []float64{0.1, 0.2}) || &got[:1][0] != &held[0] {
		t.Errorf("Read after Reuse = %v in new memory, want 0.1 and 0.2 in the old", got)
	}
	if got := third[0].Values; !slices.Equal(got, []float64{0.5, 0.6, 0.7}) || &got[0] == &held[0] {
		t.Errorf("Read again = %v, want 0.5, 0.6 and 0.7 in new memory", got)
	}
	rd.Reuse(second[0].Values)
	rows, _ := collect(t, rd, "time,1100,1102,1104\n2026-11-25 06:00:00,1,2,3\n2026-11-25 06:00:10,4,5,6\n", "table.csv")
	for i, want := range [][]float64{{1, 2, 3}, {4, 5, 6}} {
		if !slices.Equal(rows[i].Values, want) {
			t.Errorf("row %d after Reuse = %v, want %v", i+1, rows[i].Values, want)
		}
	}
}

// A Reader that has read other files gives what a fresh one gives, whether their positions are written alike or not.
func TestReaderRemembersNothingWrong(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 6))
	for _, delim := range []string{",", ";", "\t", " "} {
		worn := NewReader(Options{})
		for range 400 {
			text := rulerText(rng, delim)
			got, gotBad := collect(t, worn, text, "oat.csv")
			want, wantBad := collect(t, NewReader(Options{}), text, "oat.csv")
			if !slices.Equal(gotBad, wantBad) || len(got) != len(want) {
				t.Fatalf("%q: %d spectra and %q; a fresh reader has %d and %q", text, len(got), gotBad, len(want), wantBad)
			}
			for i := range want {
				if !slices.Equal(got[i].Axis.at, want[i].Axis.at) || !slices.Equal(got[i].Values, want[i].Values) {
					t.Fatalf("%q: %v, %v; a fresh reader has %v, %v", text, got[i].Axis.at, got[i].Values, want[i].Axis.at, want[i].Values)
				}
			}
		}
	}
}

// rulerText writes a short file of columns whose positions are of few kinds, some of them hardly apart, and now and then a line
// that is something else.
func rulerText(rng *rand.Rand, delim string) string {
	formats := []string{"%.0f", "%.1f", "%.3f", "%.9f", "%.14f", "+%.1f", "%.2e"}
	format, step := formats[rng.IntN(len(formats))], []float64{1, 10, 0.001, -1}[rng.IntN(4)]
	comma := delim != "," && rng.IntN(3) == 0
	var b strings.Builder
	for i := range 3 + rng.IntN(9) {
		at := fmt.Sprintf(format, 1000+step*float64(i))
		if rng.IntN(20) == 0 {
			at = []string{"x", "", "1e999", "-", "1000", "  1001"}[rng.IntN(6)]
		}
		line := at + delim + fmt.Sprintf("%.*f", rng.IntN(8), rng.NormFloat64())
		if comma {
			line = strings.ReplaceAll(line, ".", ",")
		}
		b.WriteString(line + []string{"\n", "\n", "\n", "\r\n", "\n# a comment\n"}[rng.IntN(5)])
	}
	return b.String()
}
