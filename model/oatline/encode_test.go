package oatline

import (
	"bytes"
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"gonum.org/v1/gonum/floats/scalar"

	"asusual/model/spectrum"
)

// three is a small spectrum that a table can show.
func three(t *testing.T) spectrum.Spectrum {
	t.Helper()
	a, err := spectrum.NewAxis(spectrum.Nanometre, []float64{900, 903.137, 906.275})
	if err != nil {
		t.Fatal(err)
	}
	return spectrum.Spectrum{
		Axis: a, Values: []float64{0.25, -0.0000014, 1.5}, Quantity: spectrum.Absorbance,
		Time: time.Date(2026, 11, 25, 6, 0, 20, 0, time.UTC), Run: "2026-11-25-a", Label: "usual",
	}
}

func TestAppendTwoColumns(t *testing.T) {
	b, err := AppendTwoColumns(nil, three(t))
	if err != nil {
		t.Fatal(err)
	}
	want := `# time: 2026-11-25T06:00:20Z
# axis: nm
# quantity: absorbance
# run: 2026-11-25-a
# label: usual
900,0.250000
903.137,-0.000001
906.275,1.500000
`
	if string(b) != want {
		t.Errorf("AppendTwoColumns:\n%s\nwant:\n%s", b, want)
	}
}

func TestWriteTable(t *testing.T) {
	var b bytes.Buffer
	s := three(t)
	if err := WriteTable(&b, slices.Values([]spectrum.Spectrum{s, s})); err != nil {
		t.Fatal(err)
	}
	row := "2026-11-25T06:00:20Z,2026-11-25-a,usual,0.250000,-0.000001,1.500000\n"
	want := "# axis: nm\n# quantity: absorbance\ntime,run,label,900,903.137,906.275\n" + row + row
	if b.String() != want {
		t.Errorf("WriteTable:\n%s\nwant:\n%s", b.String(), want)
	}
}

func TestWriteRefuses(t *testing.T) {
	s := three(t)
	broken, wide, comma := s, s, s
	broken.Run = "a\n# time: 1999-01-01T00:00:00Z"
	wide.Values = s.Values[:2]
	comma.Run = "a,b"
	_, ofBroken := AppendTwoColumns(nil, broken)
	_, ofWide := AppendTwoColumns(nil, wide)
	for _, c := range []struct {
		name string
		err  error
		want string
	}{
		{"a run with a line break", ofBroken, "line break"},
		{"two values on three channels", ofWide, "2 values"},
		{"a run with a comma in a table", WriteTable(&bytes.Buffer{}, slices.Values([]spectrum.Spectrum{s, comma})), "row 2"},
		{"two lengths in a table", WriteTable(&bytes.Buffer{}, slices.Values([]spectrum.Spectrum{s, wide})), "row 2"},
	} {
		if c.err == nil || !strings.Contains(c.err.Error(), c.want) {
			t.Errorf("%s: error %v, want one that says %q", c.name, c.err, c.want)
		}
	}
}

// Beer's law gives back the absorbance from what the detector counted: A = −log₁₀((S−D)/(R−D)).
func TestIntensities(t *testing.T) {
	r := series(t, Settings{}, Stretch{Run: "a", N: 2})
	x := r.At(1)
	s, d, ref, err := r.line.Intensities(x)
	if err != nil {
		t.Fatal(err)
	}
	for k, a := range x.Values {
		got := -math.Log10((s.Values[k] - d.Values[k]) / (ref.Values[k] - d.Values[k]))
		if !scalar.EqualWithinAbs(got, a, 1e-10) {
			t.Errorf("channel %d: absorbance from intensities = %g, want %g", k, got, a)
		}
		if ref.Values[k] >= 1<<16 {
			t.Errorf("channel %d: the reference counts %.0f, more than 16 bits hold", k, ref.Values[k])
		}
	}
	if s.Quantity != spectrum.Intensity || !s.Time.Equal(x.Time) {
		t.Errorf("the sample is %v of %v, want an intensity of %v", s.Quantity, s.Time, x.Time)
	}
	if _, _, _, err := r.line.Intensities(s); err == nil {
		t.Error("Intensities of an intensity = no error, want one")
	}
}

func BenchmarkAppendTwoColumns(b *testing.B) {
	x := series(b, Settings{}, Stretch{Run: "a", N: 1}).At(0)
	var buf []byte
	b.ReportAllocs()
	for b.Loop() {
		var err error
		if buf, err = AppendTwoColumns(buf[:0], x); err != nil {
			b.Fatal(err)
		}
	}
}
