package oatline

import (
	"fmt"
	"io"
	"iter"
	"math"
	"strconv"
	"strings"
	"time"

	"asusual/model/spectrum"
)

// AppendTwoColumns appends a spectrum as text: header lines that begin with #, then one channel a line, position and
// value with a comma between them. Absorbances have six decimals, intensities two.
func AppendTwoColumns(b []byte, s spectrum.Spectrum) ([]byte, error) {
	if s.Axis == nil || len(s.Values) != s.Axis.Len() {
		return b, fmt.Errorf("spectrum %q: %d values do not fit its axis", s.Name(), len(s.Values))
	}
	if !s.Time.IsZero() {
		b = fmt.Appendf(b, "# time: %s\n", s.Time.Format(time.RFC3339Nano))
	}
	b = fmt.Appendf(b, "# axis: %s\n# quantity: %s\n", s.Axis.Unit(), s.Quantity)
	for _, h := range []struct{ key, value string }{{"run", s.Run}, {"label", s.Label}} {
		if strings.ContainsAny(h.value, "\r\n") {
			return b, fmt.Errorf("%s %q: a line break does not fit in a header line", h.key, h.value)
		}
		if h.value != "" {
			b = fmt.Appendf(b, "# %s: %s\n", h.key, h.value)
		}
	}
	for i, v := range s.Values {
		b = strconv.AppendFloat(b, s.Axis.At(i), 'f', -1, 64)
		b = append(b, ',')
		b = strconv.AppendFloat(b, v, 'f', decimals(s.Quantity), 64)
		b = append(b, '\n')
	}
	return b, nil
}

func decimals(q spectrum.Quantity) int {
	if q == spectrum.Intensity {
		return 2
	}
	return 6
}

// WriteTable writes spectra of one axis and quantity as a table, one a row: header lines that begin with #, then the
// columns time, run, label and one a channel, whose header is its position.
func WriteTable(w io.Writer, ss iter.Seq[spectrum.Spectrum]) error {
	var first spectrum.Spectrum
	var b []byte
	row := 0
	for s := range ss {
		row++
		if row == 1 {
			first = s
			b = fmt.Appendf(b, "# axis: %s\n# quantity: %s\ntime,run,label", s.Axis.Unit(), s.Quantity)
			for i := range s.Axis.Len() {
				b = strconv.AppendFloat(append(b, ','), s.Axis.At(i), 'f', -1, 64)
			}
			b = append(b, '\n')
		}
		if !s.Axis.Equal(first.Axis) || s.Quantity != first.Quantity || len(s.Values) != s.Axis.Len() {
			return fmt.Errorf("row %d: %s of %v, %d values; the table has %s of %v", row, s.Quantity, s.Axis, len(s.Values), first.Quantity, first.Axis)
		}
		if strings.ContainsAny(s.Run+s.Label, "\",\r\n") {
			return fmt.Errorf("row %d: run %q, label %q: a comma, a quotation mark or a line break does not fit in this table", row, s.Run, s.Label)
		}
		b = fmt.Appendf(b, "%s,%s,%s", s.Time.Format(time.RFC3339Nano), s.Run, s.Label)
		for _, v := range s.Values {
			b = strconv.AppendFloat(append(b, ','), v, 'f', decimals(s.Quantity), 64)
		}
		if _, err := w.Write(append(b, '\n')); err != nil {
			return err
		}
		b = b[:0]
	}
	return nil
}

// Counts of the invented detector.
const (
	fullCounts = 52000.0 // of an empty beam at its best channel, dark not counted
	darkCounts = 800.0
)

// Intensities returns what the detector counted for a spectrum of the line: the sample, the dark signal and the
// reference, an empty beam measured when lamp and window were good. So
//
//	−log₁₀((S−D)/(R−D)) = A
//
// gives the spectrum again, but for rounding. Tests of the rooms that read raw data take theirs from here. Time and Run are those of the spectrum; Label is "" for the sample,
// "dark" and "reference" for the others. s must be an absorbance of this line.
func (l *Line) Intensities(s spectrum.Spectrum) (sample, dark, reference spectrum.Spectrum, err error) {
	if !s.Axis.Equal(l.axis) || len(s.Values) != l.axis.Len() || s.Quantity != spectrum.Absorbance {
		return sample, dark, reference, fmt.Errorf("spectrum %q: not an absorbance on the axis of this line", s.Name())
	}
	out := [3]spectrum.Spectrum{s, s, s}
	for i := range out {
		out[i].Quantity = spectrum.Intensity
		out[i].Label = [...]string{"", "dark", "reference"}[i]
		out[i].Values = make([]float64, l.axis.Len())
	}
	for k, a := range s.Values {
		d := darkCounts + 30*math.Sin(float64(k)*2.3) // each channel has a dark signal of its own
		r := fullCounts * l.response[k]
		out[0].Values[k] = d + r*math.Pow(10, -a)
		out[1].Values[k] = d
		out[2].Values[k] = d + r
	}
	return out[0], out[1], out[2], nil
}
