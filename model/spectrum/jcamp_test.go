package spectrum

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"
	"time"
)

// jdx is a block by the standard, to be changed by each test.
type jdx struct {
	labels [][2]string
	data   string
}

// newJDX returns a block of four points, 1000, 998, 996, 994 cm⁻¹, ordinates 100, 101, 103, 99.
func newJDX() jdx {
	return jdx{[][2]string{
		{"TITLE", "oat drink, filler 3"}, {"JCAMP-DX", "4.24 $$ invented"}, {"DATA TYPE", "INFRARED SPECTRUM"}, {"ORIGIN", "oat line"}, {"OWNER", "nobody"},
		{"DATE", "26/11/25"}, {"TIME", "06:34:12"}, {"XUNITS", "1/CM"}, {"YUNITS", "ABSORBANCE"},
		{"XFACTOR", "1.0"}, {"YFACTOR", "0.01"}, {"FIRSTX", "1000"}, {"LASTX", "994"}, {"DELTAX", "-2"}, {"NPOINTS", "4"}, {"FIRSTY", "1.00"},
		{"XYDATA", "(X++(Y..Y))"},
	}, "1000A00A01\n996A03I9\n"}
}

// with returns a copy in which labels have other values; "-" leaves a label out.
func (j jdx) with(pairs ...string) jdx {
	j.labels = slices.Clone(j.labels)
	for i := 0; i < len(pairs); i += 2 {
		k := slices.IndexFunc(j.labels, func(l [2]string) bool { return l[0] == pairs[i] })
		switch {
		case pairs[i+1] == "-":
			j.labels = slices.Delete(j.labels, k, k+1)
		case k < 0:
			j.labels = slices.Insert(j.labels, 2, [2]string{pairs[i], pairs[i+1]})
		default:
			j.labels[k][1] = pairs[i+1]
		}
	}
	return j
}

func (j jdx) lines(data string) jdx {
	j.data = data
	return j
}

func (j jdx) String() string {
	var b strings.Builder
	for _, l := range j.labels {
		fmt.Fprintf(&b, "##%s= %s\n", l[0], l[1])
	}
	return b.String() + j.data + "##END=\n"
}

func TestReadJCAMP(t *testing.T) {
	at, y := []float64{1000, 998, 996, 994}, []float64{1, 1.01, 1.03, .99}
	when := time.Date(2026, 11, 25, 6, 34, 12, 0, time.UTC)
	base := newJDX()
	for _, tt := range []struct {
		name string
		text string
		want Spectrum // Axis is not compared
		unit Unit
		at   []float64
	}{
		{"SQZ", base.String(), Spectrum{Values: y, Quantity: Absorbance, Time: when}, ReciprocalCentimetre, at},
		{"AFFN", base.lines("1000 100 101\n996 103 99\n").String(), Spectrum{Values: y, Quantity: Absorbance, Time: when}, ReciprocalCentimetre, at},
		{"PAC", base.lines("1000+100+101+103+99\n").String(), Spectrum{Values: y, Quantity: Absorbance, Time: when}, ReciprocalCentimetre, at},
		{"DIF and check line", base.lines("1000A00JKm\n994I9\n").String(), Spectrum{Values: y, Quantity: Absorbance, Time: when}, ReciprocalCentimetre, at},
		{"DIF over two lines", base.lines("1000A00J\n998A01Km\n").String(), Spectrum{Values: y, Quantity: Absorbance, Time: when}, ReciprocalCentimetre, at},
		{"Windows line ends and comments", strings.ReplaceAll(base.lines("1000A00A01 $$ half of it\n$$ between\n996A03I9\n").String(), "\n", "\r\n"), Spectrum{Values: y, Quantity: Absorbance, Time: when}, ReciprocalCentimetre, at},
		{"labels in other dress", strings.NewReplacer("##NPOINTS", "##N Points", "##XUNITS", "##x-Units", "##DATA TYPE", "##data_type").Replace(base.String()), Spectrum{Values: y, Quantity: Absorbance, Time: when}, ReciprocalCentimetre, at},
		{"XFACTOR is for line abscissae only", base.with("XFACTOR", "10").lines("100A00A01\n99.6A03I9\n").String(), Spectrum{Values: y, Quantity: Absorbance, Time: when}, ReciprocalCentimetre, at},
		{"rising nanometres, percent", base.with("XUNITS", "NANOMETERS", "YUNITS", "% TRANSMITTANCE", "LASTX", "1006", "DELTAX", "2", "YFACTOR", "1", "FIRSTY", "100").lines("1000 100 101\n1004 103 99\n").String(),
			Spectrum{Values: y, Quantity: Transmittance, Time: when}, Nanometre, []float64{1000, 1002, 1004, 1006}},
		{"micrometres, reflectance", base.with("XUNITS", "MICROMETERS", "YUNITS", "REFLECTANCE", "FIRSTX", "1", "LASTX", "1.3", "DELTAX", "0.1").lines("1 100 101\n1.2 103 99\n").String(),
			Spectrum{Values: y, Quantity: Reflectance, Time: when}, Micrometre, []float64{1, 1.1, 1.2, 1.3}},
		{"pairs", base.with("XYDATA", "-", "XYPOINTS", "(XY..XY)", "DELTAX", "-", "YFACTOR", "-").lines("1000,1; 998,1.01\n997 1.03 994 .99\n").String() /* irregular */, Spectrum{Values: y, Quantity: Absorbance, Time: when}, ReciprocalCentimetre, []float64{1000, 998, 997, 994}},
		{"pairs as XYDATA", base.with("XYDATA", "(XY..XY)", "DELTAX", "-").lines("1000 1E2 998 101 997 103 994 99\n").String(), Spectrum{Values: y, Quantity: Absorbance, Time: when}, ReciprocalCentimetre, []float64{1000, 998, 997, 994}},
		{"LONG DATE wins", base.with("LONG DATE", "2026/11/25 09:30:00.2500 -0500").String(), Spectrum{Values: y, Quantity: Absorbance, Time: time.Date(2026, 11, 25, 14, 30, 0, 250e6, time.UTC)}, ReciprocalCentimetre, at},
		{"no date", base.with("DATE", "-").String(), Spectrum{Values: y, Quantity: Absorbance}, ReciprocalCentimetre, at},
		{"date of the last century", base.with("DATE", "98/09/15").String(), Spectrum{Values: y, Quantity: Absorbance, Time: time.Date(1998, 9, 15, 6, 34, 12, 0, time.UTC)}, ReciprocalCentimetre, at},
	} {
		t.Run(tt.name, func(t *testing.T) {
			text := strings.Replace(tt.text, "##XYPOINTS= (XY..XY)\n", "", 1)
			if text != tt.text { // with inserts new labels at the top
				text = strings.Replace(text, "1000,1;", "##XYPOINTS= (XY..XY)\n1000,1;", 1)
			}
			ss, bad := collect(t, NewReader(Options{}), text, "oat.jdx")
			if len(ss) != 1 || len(bad) > 0 {
				t.Fatalf("Read gave %d spectra and %q, want 1 and none; the file is\n%s", len(ss), bad, text)
			}
			s := ss[0]
			if s.Quantity != tt.want.Quantity || !s.Time.Equal(tt.want.Time) || s.Axis.Unit() != tt.unit || s.Label != "oat drink, filler 3" || s.Row != 0 {
				t.Errorf("Read = %v, %v, %v, label %q, row %d; want %v, %v, %v, the title, 0", s.Quantity, s.Time, s.Axis.Unit(), s.Label, s.Row, tt.want.Quantity, tt.want.Time, tt.unit)
			}
			for i := range y {
				if !(math.Abs(s.Values[i]-y[i]) <= 1e-12) || !(math.Abs(s.Axis.At(i)-tt.at[i]) <= 1e-9) {
					t.Errorf("channel %d = %v at %v, want %v at %v", i+1, s.Values[i], s.Axis.At(i), y[i], tt.at[i])
				}
			}
		})
	}
}

// TestReadJCAMPTableVI reads the worked example of McDonald and Wilks, Applied Spectroscopy 42 (1988), Table VI, whole: abscissae
// 599.860 to 700.158 in 53 points, in fixed form, whose lines begin at 648.081 and 682.799, and in DIFDUP form with its Y check line, as
// corrected by Baumbach and others, 2001: the print of 1988 has typing errors there.
func TestReadJCAMPTableVI(t *testing.T) {
	base := newJDX().with("FIRSTX", "599.860", "LASTX", "700.158", "NPOINTS", "53", "DELTAX", "1.928808", "YFACTOR", "1", "FIRSTY", "0")
	line := func(from, to int) string {
		return strings.Trim(fmt.Sprint(tableVI[from:to]), "[]") + "\n"
	}
	for name, data := range map[string]string{
		"DIFDUP": "599.860@VKT%TLkj%J%KLJ%njKjL%kL%jJULJ%kLK1%lLMNPNPRLJ0QTOJ1P\n700.158A28\n",
		"FIX":    "599.860 " + line(0, 25) + "648.081 " + line(25, 43) + "682.799 " + line(43, 53),
	} {
		ss, bad := collect(t, NewReader(Options{}), base.lines(data).String(), "table-vi.jdx")
		if len(ss) != 1 || len(bad) > 0 {
			t.Fatalf("%s: Read gave %d spectra and %q, want 1 and none", name, len(ss), bad)
		}
		if s := ss[0]; !slices.Equal(s.Values, tableVI) || s.Axis.At(0) != 599.860 || s.Axis.At(52) != 700.158 || math.Abs(s.Axis.At(25)-648.080) > 1e-3 {
			t.Errorf("%s: Read = %v on %v, want the table's ordinates on 599.86 to 700.158", name, s.Values, s.Axis)
		}
	}
}

func TestReadJCAMPRefused(t *testing.T) {
	base := newJDX()
	for _, tt := range []struct{ name, text, want string }{
		{"X check", base.lines("1000A00A01\n994A03I9\n").String(), "line 19: the X check does not hold: the line begins at 994, point 3 lies at 996"},
		{"an ordinate too few", base.lines("1000A00\n996A03I9\n").String(), "line 19: the X check does not hold"},
		{"X check with XFACTOR", base.with("XFACTOR", "10").String(), "line 18: the X check does not hold: the line begins at 10000"},
		// The Y check example that tests of public decoders quote.
		{"Y check", base.with("FIRSTX", "599", "LASTX", "604", "DELTAX", "1", "NPOINTS", "6").lines("599.000+1jj\n600.000+4jj\n").String(), "X check"},
		{"Y check alone", base.with("FIRSTX", "599", "LASTX", "604", "DELTAX", "1", "NPOINTS", "6", "FIRSTY", "0.01").lines("599.000+1jj\n601.000+4jj\n").String(), "line 19: the Y check does not hold: the line before ends with -1, this one begins with 4"},
		{"NPOINTS too large", base.with("NPOINTS", "10", "DELTAX", "-").lines("1000A00A01A02A03\n").String(), "4 ordinates, ##NPOINTS=10"},
		{"NPOINTS too small", base.with("NPOINTS", "3", "DELTAX", "-").lines("1000A00A01A02A03\n").String(), "line 17: 4 ordinates so far, ##NPOINTS=3"},
		{"NPOINTS no number", base.with("NPOINTS", "many").String(), `##NPOINTS="many" is no number`},
		{"NPOINTS beyond all bounds", base.with("NPOINTS", "2000000000").String(), "2 to 1048576 channels"},
		{"DELTAX contradicts", base.with("DELTAX", "-1").String(), "##DELTAX=-1 contradicts -2"},
		{"DELTAX of the wrong sign", base.with("DELTAX", "2").String(), "##DELTAX=2 contradicts -2"},
		{"FIRSTY contradicts", base.with("FIRSTY", "10").String(), "##FIRSTY=10 contradicts the first ordinate, which is 1 with ##YFACTOR=0.01"},
		{"missing ordinate", base.lines("1000 100 ?\n996 103 99\n").String(), "the ordinate of channel 2 (998) is missing"},
		{"illegal character", base.lines("1000 100 u45\n").String(), `line 18: "u" is no digit`},
		{"no abscissa", base.lines("A00A01\n").String(), "does not begin with an abscissa"},
		{"no factor", base.with("YFACTOR", "-").String(), "##YFACTOR= is missing"},
		{"factor zero", base.with("YFACTOR", "0").String(), "##YFACTOR=0 make no spectrum"},
		{"one position", base.with("LASTX", "1000", "DELTAX", "-").String(), "make no spectrum"},
		{"too large when scaled", base.with("YFACTOR", "1E+300", "FIRSTY", "-").lines("1000 1E+100 1E+100 1E+100 1E+100\n").String(), "channel 1 (1000) is too large"},
		{"no version", base.with("JCAMP-DX", "-").String(), "##JCAMP-DX= with the version is missing"},
		{"version 6", base.with("JCAMP-DX", "6.00").String(), `##JCAMP-DX="6.00" is not read`},
		{"peaks", base.with("XYDATA", "-").lines("##PEAK TABLE= (XY..XY)\n1000,1\n").String(), "line 17: ##PEAKTABLE= lists peaks"},
		{"ntuples", base.with("XYDATA", "-").lines("##NTUPLES= x\n##PAGE= N=1\n##DATA TABLE= (X++(R..R)), XYDATA\n1000 1\n").String(), "##NTUPLES= is not read"},
		{"interferogram", base.with("DATA TYPE", "INFRARED INTERFEROGRAM").String(), "it says that it is an interferogram, and its axis is in cm-1"},
		{"no type", base.with("DATA TYPE", "-").String(), "##DATA TYPE= is missing"},
		{"no data", base.with("XYDATA", "-").lines("").String(), "no ##XYDATA="},
		{"two tables", base.lines("1000A00A01\n996A03I9\n##XYDATA= (X++(Y..Y))\n1000A00A01\n").String(), "second table"},
		{"unknown form", base.with("XYDATA", "(R++(A..A))").String(), `##XYDATA="(R++(A..A))" is not read`},
		{"seconds", base.with("XUNITS", "SECONDS").String(), "##XUNITS=SECONDS"},
		{"arbitrary units", base.with("YUNITS", "ARBITRARY UNITS").String(), "##YUNITS=ARBITRARY UNITS is no quantity"},
		{"label twice", base.with("LASTX", "994\n##LASTX= 995").String(), `##LASTX= stands twice, "994" in line 13 and "995" here`},
		{"label without =", base.lines("##REMARK\n").String(), `##"REMARK" has no =`},
		{"cut off", strings.TrimSuffix(base.String(), "##END=\n"), "the file ends before the ##END="},
		{"outside", base.String() + "1000A00\n", `line 21: "1000A00" stands outside a block`},
		{"label outside", base.String() + "##OWNER=\n", `##"OWNER"= stands outside a block`},
		{"no title", base.with("TITLE", "-").String(), "a block begins with ##TITLE="},
		{"pairs: odd", base.with("XYDATA", "(XY..XY)", "DELTAX", "-").lines("1000 100 998\n").String(), "3 numbers, which make no pairs"},
		{"pairs: count", base.with("XYDATA", "(XY..XY)", "DELTAX", "-").lines("1000 100 998 101\n").String(), "2 points, ##NPOINTS=4"},
		{"pairs: missing", base.with("XYDATA", "(XY..XY)").lines("1000 100 998 ?\n").String(), "point 2 is missing"},
		{"pairs: LASTX", base.with("XYDATA", "(XY..XY)").lines("1000 100 998 101 996 103 990 99\n").String(), "##LASTX=994 contradicts the data, which have 990"},
		{"pairs: words", base.with("XYDATA", "(XY..XY)").lines("1000 abc\n").String(), `"abc" is no number`},
		{"pairs: back and forth", base.with("XYDATA", "(XY..XY)").lines("1000 100 990 101 996 103 994 99\n").String(), "an axis only rises or only falls"},
		{"time", base.with("DATE", "25.11.26").String(), "is in no form that is read"},
		{"empty block", "##TITLE=\n##END=\n", "##JCAMP-DX= with the version is missing"},
		{"title only", "##TITLE= oat\n", "##JCAMP-DX= with the version is missing"},
		{"LINK alone", "##TITLE= x\n##JCAMP-DX= 5.01\n##DATA TYPE= LINK\n##BLOCKS= 1\n##END=\n", "no block with data"},
	} {
		ss, bad := collect(t, NewReader(Options{}), tt.text, "oat.jdx")
		if len(ss) != 0 || len(bad) == 0 || !strings.Contains(strings.Join(bad, "\n"), tt.want) {
			t.Errorf("%s: Read gave %d spectra and %q, want none and a reason with %q", tt.name, len(ss), bad, tt.want)
		}
	}
}

func TestReadJCAMPOptions(t *testing.T) {
	text := newJDX().with("XUNITS", "ARBITRARY UNITS", "YUNITS", "KUBELKA-MUNK").String()
	rd := NewReader(Options{Unit: Nanometre, Quantity: Intensity, Time: TimeNone})
	ss, bad := collect(t, rd, text, "oat.jdx")
	if len(ss) != 1 || len(bad) > 0 || ss[0].Axis.Unit() != Nanometre || ss[0].Quantity != Intensity || !ss[0].Time.IsZero() {
		t.Errorf("Read = %+v, %q; want nm, intensity, no time, as the options say", ss, bad)
	}
	if info := rd.Info(); info.Format != JCAMP || info.UnitFrom != Set || info.QuantityFrom != Set {
		t.Errorf("Info = %+v, want JCAMP-DX, unit and quantity set", info)
	}
}

func TestReadJCAMPBlocks(t *testing.T) {
	good, bad := newJDX(), newJDX().lines("1000A00A01\n996A03\n")
	link := func(blocks string, inner ...jdx) string {
		s := "##TITLE= a day\n##JCAMP-DX= 5.01\n##DATA TYPE= LINK\n##BLOCKS= " + blocks + "\n"
		for _, j := range inner {
			s += j.String()
		}
		return s + "##END=\n"
	}
	unclosed := strings.TrimSuffix(good.String(), "##END=\n")
	for _, tt := range []struct {
		name, text string
		rows       []int
		bad        []string
	}{
		{"two", link("2", good, good), []int{1, 2}, nil},
		{"two, the LINK block counted", link("3", good, good), []int{1, 2}, nil},
		{"one", link("1", good), []int{1}, nil},
		{"a bad one between", link("3", good, bad, good), []int{1, 3}, []string{"3 ordinates, ##NPOINTS=4"}},
		{"fewer than said", link("5", good, good), []int{1, 2}, []string{"##BLOCKS=5, found 2"}},
		{"no LINK block", good.String() + good.String(), []int{1, 2}, nil},
		{"no LINK block, the first bad", bad.String() + good.String(), []int{2}, []string{"3 ordinates"}},
		{"END forgotten", unclosed + good.String(), []int{2}, []string{"a new block begins before the ##END="}},
		{"LINK cut off", strings.TrimSuffix(link("2", good, good), "##END=\n"), []int{1, 2}, []string{"before the ##END= of the LINK block"}},
		{"in LINK, cut off", "##TITLE= a day\n##JCAMP-DX= 5.01\n##DATA TYPE= LINK\n" + unclosed, nil, []string{"before the ##END= of the block", "of the LINK block"}},
		{"too deep", strings.Repeat("##TITLE= x\n##DATA TYPE= LINK\n", 20), nil, []string{"deep"}},
	} {
		ss, got := collect(t, NewReader(Options{}), tt.text, "day.jdx")
		var rows []int
		for _, s := range ss {
			rows = append(rows, s.Row)
			if s.Axis != ss[0].Axis {
				t.Errorf("%s: blocks on one grid have two axes", tt.name)
			}
		}
		if !slices.Equal(rows, tt.rows) || len(got) != len(tt.bad) {
			t.Errorf("%s: Read gave rows %v and %q, want %v and %q", tt.name, rows, got, tt.rows, tt.bad)
			continue
		}
		for i := range got {
			if !strings.Contains(got[i], tt.bad[i]) {
				t.Errorf("%s: reason %q, want %q", tt.name, got[i], tt.bad[i])
			}
		}
	}
}
