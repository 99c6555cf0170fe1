package spectrum

import (
	"bytes"
	"fmt"
	"math/rand/v2"
	"slices"
	"strconv"
	"strings"
	"testing"
)

// TestReadRoundTrip writes spectra at random in every dialect, as columns and as tables, and asserts that reading gives back
// every position and value, bit for bit.
func TestReadRoundTrip(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 4))
	for _, d := range dialects {
		for _, p := range []int{2, 5, 300} {
			for _, rows := range []int{0, 1, 7} { // 0: columns
				if rows > 0 && p < 5 {
					continue
				}
				t.Run(fmt.Sprintf("%s%c/p=%d/rows=%d", d.delimName(), d.mark, p, rows), func(t *testing.T) {
					at := make([]float64, p)
					for i := range at {
						at[i] = 900 + float64(i) + rng.Float64()/2
					}
					values := make([][]float64, max(rows, 1))
					for k := range values {
						for range p {
							values[k] = append(values[k], rng.NormFloat64())
						}
					}
					text := writeText(d, at, values, rows)
					ss, bad := collect(t, NewReader(Options{}), text, "oat.csv")
					if len(ss) != len(values) || len(bad) > 0 {
						t.Fatalf("Read gave %d spectra and %q, want %d and none, of\n%.300s", len(ss), bad, len(values), text)
					}
					for k, s := range ss {
						if !slices.Equal(s.Axis.Values(), at) || !slices.Equal(s.Values, values[k]) {
							t.Errorf("spectrum %d comes back as %v, %v; want %v, %v", k+1, s.Axis.Values(), s.Values, at, values[k])
						}
					}
				})
			}
		}
	}
}

func writeText(d dialect, at []float64, values [][]float64, rows int) string {
	num := func(v float64) string {
		return strings.Replace(strconv.FormatFloat(v, 'g', -1, 64), ".", string(rune(d.mark)), 1)
	}
	var b strings.Builder
	if rows == 0 {
		for i, x := range at {
			fmt.Fprintf(&b, "%s%c%s\n", num(x), d.delim, num(values[0][i]))
		}
		return b.String()
	}
	b.WriteString("id")
	for _, x := range at {
		fmt.Fprintf(&b, "%c%s", d.delim, num(x))
	}
	for k, v := range values {
		fmt.Fprintf(&b, "\n%d", k)
		for _, y := range v {
			fmt.Fprintf(&b, "%c%s", d.delim, num(y))
		}
	}
	return b.String()
}

// TestReadSharesAxis asserts that files on one grid share one Axis, whatever came between, and that values are never shared.
func TestReadSharesAxis(t *testing.T) {
	rd := NewReader(Options{})
	first, _ := collect(t, rd, twoColumnsText(20), "a.csv")
	for p := 3; p < 3+cachedAxes-1; p++ {
		collect(t, rd, twoColumnsText(p), "b.csv")
	}
	again, _ := collect(t, rd, twoColumnsText(20), "c.csv")
	if first[0].Axis != again[0].Axis {
		t.Error("two files on one grid have two axes, want one")
	}
	again[0].Values[0] = 7
	if first[0].Values[0] == 7 {
		t.Error("two spectra share their values")
	}
	if len(rd.axes) > cachedAxes {
		t.Errorf("%d axes are kept, want %d at most", len(rd.axes), cachedAxes)
	}
}

func TestInfo(t *testing.T) {
	for _, tt := range []struct {
		text string
		opt  Options
		want Info
	}{
		{"900;0,5\n901;0,5\n", Options{}, Info{Format: TwoColumns, Delimiter: "semicolon", Decimal: ",", Axis: "2 channels, 900–901 nm", Unit: Nanometre, UnitFrom: Guessed, Quantity: Absorbance, QuantityFrom: Guessed, TimeFrom: TimeNone}},
		{"# axis: nm\n900 1\n901 1\n", Options{Quantity: Reflectance}, Info{Format: TwoColumns, Delimiter: "space", Axis: "2 channels, 900–901 nm", Unit: Nanometre, UnitFrom: Said, Quantity: Reflectance, QuantityFrom: Set, TimeFrom: TimeNone}},
		{"no,date,time,lot,class,moisture,X900,X901,X902\n1,2026-11-25,06:34,7,usual,3,50,60,70\n", Options{Quantity: Reflectance, Percent: true},
			Info{Format: Table, Delimiter: "comma", Decimal: ".", Axis: "3 channels, 900–902 nm", Unit: Nanometre, UnitFrom: Guessed, Quantity: Reflectance, QuantityFrom: Set, Percent: true,
				TimeFrom: TimeHeader, TimeColumn: "date, time", RunColumn: "lot", LabelColumn: "class", Ignored: []string{"no", "moisture"}}},
		{"5e6 1\n6e6 1\n", Options{}, Info{Format: TwoColumns, Delimiter: "space", Axis: "2 channels, 5e+06–6e+06 ", QuantityFrom: Guessed, Quantity: Absorbance, TimeFrom: TimeNone}},
		{"wavelength (nm),counts,absorbance\n900,200,1\n901,1100,0\n", Options{}, Info{Format: TwoColumns, Delimiter: "comma", Decimal: ".", Axis: "2 channels, 900–901 nm", Unit: Nanometre, UnitFrom: Said, Quantity: Absorbance, QuantityFrom: Said,
			TimeFrom: TimeNone, Ignored: []string{"counts"}}},
		{"", Options{}, Info{}},
	} {
		rd := NewReader(tt.opt)
		collect(t, rd, tt.text, "oat.csv")
		if got := rd.Info(); fmt.Sprint(got) != fmt.Sprint(tt.want) {
			t.Errorf("Info of %q = %+v, want %+v", tt.text, got, tt.want)
		}
	}
}

func TestSniff(t *testing.T) {
	for text, want := range map[string]Format{
		twoColumnsText(3): TwoColumns, newJDX().String(): JCAMP, "$$ a comment\n\n##TITLE= x\n": JCAMP, "id,900,901,902\n": Table, "id,900,901,902\n1,2,3": Table,
		"nm,sample,dark,reference\n900,1,2,3\n": Intensities, "Range,900,1700\n900,1\n901,1\n": TwoColumns, "## a heading\n900,1\n901,2\n": TwoColumns,
		"## temperature = 4\n900,1\n901,2\n": TwoColumns, "##OWNER=\n##jcamp-dx=5\n": JCAMP,
	} {
		if got, err := Sniff([]byte(text)); err != nil || got != want {
			t.Errorf("Sniff(%.40q) = %q, %v; want %q", text, got, err, want)
		}
	}
	if got, err := Sniff(nil); err == nil {
		t.Errorf("Sniff of nothing = %q, want an error", got)
	}
}

func TestParseHeading(t *testing.T) {
	for _, tt := range []struct {
		text string
		want heading
		ok   bool
	}{
		{"1100", heading{1100, UnknownUnit}, true}, {"X1100.5", heading{1100.5, UnknownUnit}, true}, {"1100 nm", heading{1100, Nanometre}, true}, {"1100nm", heading{1100, Nanometre}, true},
		{"9090.9 cm-1", heading{9090.9, ReciprocalCentimetre}, true}, {"cm-1 9090", heading{9090, ReciprocalCentimetre}, true}, {"1.1 [µm]", heading{1.1, Micrometre}, true}, {"nm_900", heading{900, Nanometre}, true},
		{"channel 12", heading{12, Channel}, true}, {"Pixel12", heading{12, Channel}, true}, {"1e3", heading{1000, UnknownUnit}, true}, {"-5", heading{-5, UnknownUnit}, true}, {"X.5", heading{.5, UnknownUnit}, true},
		{"", heading{}, false}, {"sample 1", heading{}, false}, {"s1", heading{}, false}, {"time", heading{}, false}, {"2026-11-25", heading{}, false}, {"06:34", heading{}, false}, {"nm 900 nm", heading{}, false},
		{"1e999", heading{}, false}, {"x", heading{}, false}, {"cm-1", heading{}, false}, {"1100 ells", heading{}, false}, {strings.Repeat("x", 100) + "1", heading{}, false},
	} {
		if got, ok := parseHeading([]byte(tt.text), '.'); ok != tt.ok || ok && got != tt.want {
			t.Errorf("parseHeading(%q) = %v, %t; want %v, %t", tt.text, got, ok, tt.want, tt.ok)
		}
	}
}

func TestSplit(t *testing.T) {
	for _, tt := range []struct {
		delim byte
		line  string
		want  []string
	}{
		{',', "a,b,c", []string{"a", "b", "c"}}, {',', " a , b ,", []string{"a", "b", ""}}, {',', "", []string{""}}, {',', `"a,b",c`, []string{"a,b", "c"}}, {',', `"a ""b"", c",d`, []string{`a "b", c`, "d"}},
		{',', `"a,b`, []string{`"a`, "b"}}, {',', `"a"b,c`, []string{`"a"b`, "c"}}, {'\t', "a b\t c", []string{"a b", "c"}}, {' ', "  a \t b  ", []string{"a", "b"}}, {' ', `"a b" c`, []string{"a b", "c"}}, {' ', `"a b`, []string{`"a`, "b"}},
	} {
		got := dialect{delim: tt.delim}.split(nil, []byte(tt.line))
		if !slices.EqualFunc(got, tt.want, func(a []byte, b string) bool { return string(a) == b }) {
			t.Errorf("split(%q, %q) = %q, want %q", tt.delim, tt.line, got, tt.want)
		}
	}
}

func BenchmarkReadTable(b *testing.B) {
	const p, rows = 512, 100
	at := make([]float64, p)
	values := make([][]float64, rows)
	for i := range at {
		at[i] = 900 + 1.5625*float64(i)
		for k := range values {
			values[k] = append(values[k], float64(400000+i*k)/1e6)
		}
	}
	benchmarkRead(b, writeText(dialect{',', '.', true}, at, values, rows), rows)
}

func BenchmarkReadJCAMP(b *testing.B) {
	const p = 512
	var data strings.Builder
	for i := range p {
		if i%8 == 0 {
			fmt.Fprintf(&data, "\n%d", 10000-8*i)
		}
		fmt.Fprintf(&data, " %d", 400000+i)
	}
	j := newJDX().with("FIRSTX", "10000", "LASTX", "5912", "DELTAX", "-8", "NPOINTS", "512", "YFACTOR", "1E-06", "FIRSTY", "0.4").lines(strings.TrimPrefix(data.String(), "\n") + "\n")
	benchmarkRead(b, j.String(), 1)
}

// benchmarkRead reads a text of n spectra again and again.
func benchmarkRead(b *testing.B, text string, n int) {
	rd, r := NewReader(Options{}), bytes.NewReader(nil)
	b.ReportAllocs()
	b.SetBytes(int64(len(text)))
	for b.Loop() {
		r.Reset([]byte(text))
		got := 0
		for _, err := range rd.Read(r, Source{Name: "oat.csv"}) {
			if err != nil {
				b.Fatal(err)
			}
			got++
		}
		if got != n {
			b.Fatalf("%d spectra, want %d", got, n)
		}
	}
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/float64(n), "ns/spectrum")
}
