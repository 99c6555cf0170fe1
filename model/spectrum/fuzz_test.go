package spectrum

import (
	"bytes"
	"errors"
	"strconv"
	"strings"
	"testing"
)

// fuzzRead asserts what must hold for any bytes: no panic, an end, and either a reason or a sound spectrum.
func fuzzRead(t *testing.T, data []byte, opt Options) {
	n := 0
	rd := NewReader(opt)
	for s, err := range rd.Read(bytes.NewReader(data), Source{Name: "20261125-063412.csv"}) {
		if n++; n > len(data)+1 {
			t.Fatalf("more than %d spectra and reasons from %d bytes", n, len(data))
		}
		if err == nil {
			check(t, s)
			if a, err := s.Absorbance(); err == nil {
				check(t, a)
			}
			continue
		}
		var u *Unreadable
		if !errors.As(err, &u) || u.Reason == "" || u.File == "" {
			t.Fatalf("error %#v, want an Unreadable with file and reason", err)
		}
		if len(u.Reason) > 1000 {
			t.Fatalf("a reason of %d bytes: %.200s", len(u.Reason), u.Reason)
		}
	}
	if n == 0 {
		t.Fatal("neither a spectrum nor a reason")
	}
}

// fuzzOptions makes options of a byte, so that they are varied too.
func fuzzOptions(b byte) Options {
	return Options{Unit: Unit(b & 3), Quantity: Quantity(b >> 2 & 3), Percent: b&16 != 0, Time: TimeFrom(b >> 5 % 5), MaxBytes: 1 << 20}
}

func FuzzTwoColumns(f *testing.F) {
	for _, s := range []string{
		twoColumnsText(5), "", "\ufeff", "900;0,5\r\n901;0,25\r\n", "900 1\n901 2", "# axis: cm-1\n9000\t1\n8999\t2\n", "nm,sample,dark,reference\n900,3,1,9\n901,3,1,9\n",
		"Date: 25.11.2026\nTime: 06:34\n900,1\n901,NaN\n", "900,1e999\n901,1\n", "\"900\";\"1\n901;2", "# npoints: 7\n900,1\n901,2\n", "Wavelength [\xb5m];%T\n.9;50\n.91;51\n", "900,1,\n901,2,\n",
	} {
		f.Add([]byte(s), byte(0))
		f.Add([]byte(s), byte(0b10101))
	}
	f.Fuzz(func(t *testing.T, data []byte, o byte) { fuzzRead(t, data, fuzzOptions(o)) })
}

func FuzzTable(f *testing.F) {
	for _, s := range []string{
		"id,900,901,902\na,1,2,3\nb,1,2\nc,x,2,3\nd,1,2,3", "time;run;label;900,5;901,5\n2026-11-25 06:34;7;usual;0,1;0,2\n", "\"\",\"X900\",\"X901\",\"X902\"\n\"1\",1,2,3\n", "900,901,902,903,904\n1,2,3,4,5\n",
		"date time 900 901 902\n2026-11-25 06:34:12 1 2 3\n", "id\t900 nm\t901 nm\t902 nm\n1\t2\t3\t4\n", "# axis: um\n# quantity: %T\nid,.9,.91,.92\n1,50,51,52\n", "id,900,901,902\n\"a\"\"b,1,2,3\n",
	} {
		f.Add([]byte(s), byte(0))
		f.Add([]byte(s), byte(0b101010))
	}
	f.Fuzz(func(t *testing.T, data []byte, o byte) { fuzzRead(t, data, fuzzOptions(o)) })
}

func FuzzJCAMP(f *testing.F) {
	base := newJDX()
	for _, s := range []string{
		base.String(), base.lines("1000A00JKm\n994I9\n").String(), base.lines("1000 100 ? 3 1E2\n").String(), base.with("XYDATA", "(XY..XY)").lines("1000,1; 998,1.01\n997 1.03 994 .99\n").String(),
		"##TITLE= x\n##DATA TYPE= LINK\n##JCAMP-DX= 5.01\n##BLOCKS= 2\n" + base.String() + base.lines("1000@VKT%TLkj\n").String() + "##END=\n",
		base.with("LONG DATE", "2026/11/25 09:30:00 -0500").String(), strings.ReplaceAll(base.String(), "\n", "\r\n"), "##TITLE=\n##END=\n", "$$ a\n##=\n",
		"##TITLE=\n##JCAMPDX=5\n##DATATYPE=SPECTRUM\n##XFACTOR=1\n##YFACTOR=1\n##FIRSTX=1\n##LASTX=2\n##NPOINTS=2\n##XYDATA=(X++(Y..Y))\n1A\n2B\n##END=",
		base.with("NPOINTS", "1E9").String(),
	} {
		f.Add([]byte(s), byte(0))
		f.Add([]byte(s), byte(0b1111))
	}
	f.Fuzz(func(t *testing.T, data []byte, o byte) { fuzzRead(t, data, fuzzOptions(o)) })
}

// FuzzOrdinates asserts that decoding is free of panics and bounded, and that fixed form read back gives the same.
func FuzzOrdinates(f *testing.F) {
	for _, s := range []string{"1BCCBA@abc", "1JT%jX", "@VKT%TLkj%J%KLJ%njKjL%kL%jJULJ%kLK1%lLMNPNPRLJ0QTOJ1P\nA28", "1E2 B23C34D45E56", "1 ? 3", "A.5J.25", "1S99"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		var o ordinates
		for line := range strings.Lines(s) {
			if o.line([]byte(strings.TrimSuffix(line, "\n"))) != nil {
				return
			}
		}
		if len(o.y) > maxChannels {
			t.Fatalf("%d ordinates, more than any spectrum has", len(o.y))
		}
		if len(o.y) == 0 || len(o.y) > 1000 {
			return
		}
		var fixed []byte
		for _, y := range o.y {
			if y == y {
				fixed = append(strconv.AppendFloat(fixed, y, 'e', -1, 64), ' ')
			} else {
				fixed = append(fixed, "? "...)
			}
		}
		var again ordinates
		if err := again.line(fixed); err != nil || !sameFloats(again.y, o.y) {
			t.Errorf("%q decodes to %v; in fixed form that is %s and decodes to %v, %v", s, o.y, fixed, again.y, err)
		}
	})
}
