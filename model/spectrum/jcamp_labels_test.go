package spectrum

import (
	"encoding/json"
	"strings"
	"testing"
)

// TestReadJCAMPLabels reads blocks whose labels, rather than data, are wrong.
func TestReadJCAMPLabels(t *testing.T) {
	base := newJDX()
	pairs := base.with("XYDATA", "(XY..XY)", "DELTAX", "-").lines("1000 100 998 101 996 103 994 99\n")
	link := "##TITLE= a day\n##JCAMP-DX= 5.01\n##DATA TYPE= LINK\n"
	for _, tt := range []struct{ name, text, want string }{
		{"DELTAX no number", base.with("DELTAX", "two").String(), `##DELTAX="two" is no number`},
		{"FIRSTX no number", base.with("FIRSTX", "1000 cm").String(), `##FIRSTX="1000 cm" is no number`},
		{"FIRSTY no number", base.with("FIRSTY", "?").String(), `##FIRSTY="?" is no number`},
		{"pairs: factor", pairs.with("XFACTOR", "one").String(), `##XFACTOR="one" is no number`},
		{"pairs: points", pairs.with("NPOINTS", "4 or so").String(), `##NPOINTS="4 or so" is no number`},
		{"pairs: one point", pairs.with("NPOINTS", "1").lines("1000 100\n").String(), "1 points; a spectrum has at least 2"},
		{"pairs: FIRSTX no number", pairs.with("FIRSTX", "x").String(), `##FIRSTX="x" is no number`},
		{"pairs: FIRSTX elsewhere", pairs.with("FIRSTX", "1003").String(), "##FIRSTX=1003 contradicts the data, which have 1000"},
		{"pairs: FIRSTY", pairs.with("FIRSTY", "7").String(), "##FIRSTY=7 contradicts the first ordinate"},
		{"pairs: too large", pairs.with("XFACTOR", "1E+300").lines("1E+200 1 2E+200 1\n").with("NPOINTS", "2").String(), "point 1 is too large"},
		{"LINK: BLOCKS no number", link + "##BLOCKS= two\n" + base.String() + "##END=\n", `line 4: ##BLOCKS="two" is no number`},
		{"LINK: label without =", link + "##REMARK\n" + base.String() + "##END=\n", `line 4: ##"REMARK" has no =`},
		{"label without = outside", base.String() + "##REMARK\n", `line 21: ##"REMARK" has no =`},
	} {
		_, bad := collect(t, NewReader(Options{}), tt.text, "oat.jdx")
		if len(bad) != 1 || !strings.Contains(bad[0], tt.want) {
			t.Errorf("%s: Read said %q, want %q", tt.name, bad, tt.want)
		}
	}
}

// TestReadJCAMPRoundedLabels asserts that rounding in the labels and in the lines' abscissae, as real files have it, is no
// contradiction. The labels are those of a spectrum of methane that public decoders' tests quote: FIRSTX 449.47, LASTX 3801.32,
// DELTAX .935748, FIRSTY .953; the number of points follows from them.
func TestReadJCAMPRoundedLabels(t *testing.T) {
	const p = 3583
	step := (3801.32 - 449.47) / (p - 1)
	var data strings.Builder
	for i := 0; i < p; i += 8 {
		data.WriteString(strings.TrimSuffix(jsonNumber(t, float64(int(449.47+step*float64(i)))), ".0"))
		for k := i; k < min(i+8, p); k++ {
			data.WriteString(" .953")
		}
		data.WriteByte('\n')
	}
	text := newJDX().with("FIRSTX", "449.47", "LASTX", "3801.32", "DELTAX", ".935748", "NPOINTS", "3583", "YFACTOR", "1", "FIRSTY", ".953", "YUNITS", "TRANSMITTANCE").
		lines(data.String()).String()
	ss, bad := collect(t, NewReader(Options{}), text, "methane.jdx")
	if len(ss) != 1 || len(bad) > 0 {
		t.Fatalf("Read gave %d spectra and %q, want 1 and none", len(ss), bad)
	}
	if s := ss[0]; s.Axis.Len() != p || s.Quantity != Transmittance || s.Values[p-1] != .953 || s.Axis.At(p-1) != 3801.32 {
		t.Errorf("Read = %v, %v, last value %v; want 3583 transmittances up to 3801.32", s.Axis, s.Quantity, s.Values[p-1])
	}
}

func jsonNumber(t *testing.T, v float64) string {
	t.Helper()
	b, err := json.Marshal(v)
	if err != nil {
		t.Fatal(err)
	}
	return string(b)
}

// TestInfoJSON asserts the words by which an Info is written for a machine.
func TestInfoJSON(t *testing.T) {
	rd := NewReader(Options{Quantity: Reflectance})
	collect(t, rd, "# axis: nm\n900;0,5\n901;0,25\n", "oat.csv")
	got, err := json.Marshal(rd.Info())
	want := `{"format":"two columns","delimiter":"semicolon","decimal":",","axis":"2 channels, 900–901 nm","unit":"nm","unit_from":"said","quantity":"reflectance","quantity_from":"set","time_from":"none"}`
	if err != nil || string(got) != want {
		t.Errorf("Info as JSON = %s, %v; want %s", got, err, want)
	}
	for k, want := range map[Known]string{NotKnown: "not known", Said: "said", Set: "set", Guessed: "guessed"} {
		if k.String() != want {
			t.Errorf("Known %d = %q, want %q", k, k, want)
		}
	}
}
