package oatline_test

import (
	"bytes"
	"testing"
	"time"

	"asusual/model/oatline"
	"asusual/model/spectrum"
)

// What is written must be read as it was: the axis exactly, the values to the decimals of the text.
func TestReaderReadsWhatIsWritten(t *testing.T) {
	line, err := oatline.New(oatline.Settings{Channels: 97})
	if err != nil {
		t.Fatal(err)
	}
	from := time.Date(2026, 11, 25, 6, 0, 0, 500e6, time.UTC)
	run, err := line.Series(oatline.Stretch{Run: "2026-11-25-a", From: from, N: 4})
	if err != nil {
		t.Fatal(err)
	}
	check := func(what string, text []byte, want []spectrum.Spectrum, tol float64) {
		t.Helper()
		i := 0
		for got, err := range spectrum.Read(bytes.NewReader(text), spectrum.Source{Name: what}, spectrum.Options{}) {
			if err != nil {
				t.Fatalf("%s: %v", what, err)
			}
			if i == len(want) {
				t.Fatalf("%s: more than %d spectra", what, len(want))
			}
			w := want[i]
			i++
			if !got.Axis.Equal(w.Axis) {
				t.Errorf("%s: axis = %v, want %v", what, got.Axis, w.Axis)
				continue
			}
			if got.Quantity != w.Quantity || !got.Time.Equal(w.Time) || got.Run != w.Run || got.Label != w.Label {
				t.Errorf("%s: %v at %v, run %q, label %q; want %v at %v, run %q, label %q",
					what, got.Quantity, got.Time, got.Run, got.Label, w.Quantity, w.Time, w.Run, w.Label)
			}
			for k, v := range w.Values {
				if d := got.Values[k] - v; d > tol || d < -tol {
					t.Fatalf("%s: channel %d = %v, want %v", what, k, got.Values[k], v)
				}
			}
		}
		if i != len(want) {
			t.Errorf("%s: %d spectra, want %d", what, i, len(want))
		}
	}

	var all []spectrum.Spectrum
	for s := range run.All() {
		all = append(all, s)
	}
	text, err := oatline.AppendTwoColumns(nil, all[2])
	if err != nil {
		t.Fatal(err)
	}
	check("two columns", text, all[2:3], 0.6e-6)

	var b bytes.Buffer
	if err := oatline.WriteTable(&b, run.All()); err != nil {
		t.Fatal(err)
	}
	check("table", b.Bytes(), all, 0.6e-6)

	sample, dark, reference, err := line.Intensities(all[1])
	if err != nil {
		t.Fatal(err)
	}
	for _, s := range []spectrum.Spectrum{sample, dark, reference} {
		text, err := oatline.AppendTwoColumns(text[:0], s)
		if err != nil {
			t.Fatal(err)
		}
		check("intensity "+s.Label, text, []spectrum.Spectrum{s}, 0.006)
	}
}
