package report

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"fmt"
	"math"
	"reflect"
	"strconv"
	"strings"
	"time"
	"unicode"

	"asusual/model/finding"
	"asusual/report/chart"
)

// figuresVersion is that of the JSON beside a page.
const figuresVersion = 1

// figures returns everything that a report says, as JSON, so that nobody retypes a figure: its fields by their names in small letters
// with underlines, so that a field that is renamed is another key to who reads them, times as RFC 3339, lengths of time in seconds under a name that ends in _s, findings with their sentence.
// What is not known or not finite is null. What the pictures draw stands in tables of comma-separated values by their names.
func figures(kind string, r any, l *Language) ([]byte, error) {
	all := value(reflect.ValueOf(r), l).(map[string]any)
	all["kind"], all["version"] = kind, figuresVersion
	b, err := json.MarshalIndent(all, "", " ")
	if err != nil {
		return nil, fmt.Errorf("writing the figures of a page: %w", err)
	}
	return append(b, '\n'), nil
}

// Figures returns everything that the live page says of the moment, as JSON, with the names of a handover's.
func (n Now) Figures() (json.RawMessage, error) {
	all := value(reflect.ValueOf(n.Handover), n.Language).(map[string]any)
	for _, of := range []string{"shift", "late", "early", "acts", "against", "overtaken", "last_from", "map", "means"} { // of a shift alone
		delete(all, of)
	}
	n.Handover = Handover{}
	for key, one := range value(reflect.ValueOf(n), n.Language).(map[string]any) {
		if key != "handover" {
			all[key] = one
		}
	}
	b, err := json.Marshal(all)
	if err != nil {
		return nil, fmt.Errorf("writing the figures of the live page: %w", err)
	}
	return b, nil
}

// value turns a value into what JSON can hold.
func value(v reflect.Value, l *Language) any {
	switch x := v.Interface().(type) {
	case time.Time:
		if x.IsZero() {
			return nil
		}
		return x.Format(time.RFC3339Nano)
	case time.Duration:
		return x.Seconds()
	case finding.Finding:
		said := map[string]any{"kind": string(x.Kind), "about": x.About, "values": value(reflect.ValueOf(x.Values), l), "text": l.finding(x)}
		return said
	case chart.Kind:
		return kindWord(x)
	}
	switch v.Kind() {
	case reflect.Pointer:
		if v.IsNil() {
			return nil
		}
		return value(v.Elem(), l)
	case reflect.Float64:
		if f := v.Float(); math.IsNaN(f) || math.IsInf(f, 0) {
			return nil
		}
	case reflect.Slice, reflect.Array:
		all := make([]any, v.Len())
		for i := range all {
			all[i] = value(v.Index(i), l)
		}
		return all
	case reflect.Struct:
		return fields(v, l)
	}
	return v.Interface()
}

// fields returns the fields of a struct, but for how they are shown.
func fields(v reflect.Value, l *Language) map[string]any {
	all := map[string]any{}
	for i := range v.NumField() {
		f := v.Type().Field(i)
		if f.Tag.Get("figures") == "-" { // in a table
			continue
		}
		switch f.Type {
		case reflect.TypeFor[*Language](), reflect.TypeFor[*chart.Words](), reflect.TypeFor[*time.Location](), reflect.TypeFor[chart.Size](),
			reflect.TypeFor[chart.DistancePlot](), reflect.TypeFor[chart.ScorePlot](), reflect.TypeFor[*chart.ScorePlot](),
			reflect.TypeFor[chart.SpectrumPlot](), reflect.TypeFor[*chart.GroupsPlot](), reflect.TypeFor[chart.SpreadPlot]():
			continue
		case reflect.TypeFor[time.Duration]():
			all[underlined(f.Name)+"_s"] = value(v.Field(i), l)
			continue
		}
		if f.IsExported() {
			all[underlined(f.Name)] = value(v.Field(i), l)
		}
	}
	return all
}

// underlined turns PeakAt into peak_at.
func underlined(name string) string {
	var b strings.Builder
	letters := []rune(name)
	for i, r := range letters {
		if i > 0 && unicode.IsUpper(r) && (!unicode.IsUpper(letters[i-1]) || i+1 < len(letters) && unicode.IsLower(letters[i+1])) {
			b.WriteByte('_')
		}
		b.WriteRune(unicode.ToLower(r))
	}
	return b.String()
}

func kindWord(k chart.Kind) string {
	switch k {
	case chart.Inside:
		return "inside"
	case chart.Outside:
		return "outside"
	case chart.Unplaced:
		return "unfit"
	}
	return "elsewhere"
}

// A sheetOf writes rows of comma-separated values. Numbers have a point, whatever the language, and six significant digits.
type sheetOf struct {
	b bytes.Buffer
	w *csv.Writer
}

func newSheetOf(heads ...string) *sheetOf {
	s := &sheetOf{}
	s.w = csv.NewWriter(&s.b)
	s.w.Write(heads) // into memory: it cannot fail
	return s
}

func (s *sheetOf) row(cells ...any) {
	said := make([]string, len(cells))
	for i, c := range cells {
		switch c := c.(type) {
		case string:
			said[i] = Cell(c)
		case time.Time:
			said[i] = c.Format(time.RFC3339Nano)
		case float64:
			if !math.IsNaN(c) && !math.IsInf(c, 0) {
				said[i] = strconv.FormatFloat(c, 'g', 6, 64)
			}
		}
	}
	s.w.Write(said)
}

// Cell returns a text as a cell of a table that a spreadsheet does not run: what a person or a file's name gave could begin as a formula
// does. The apostrophe before it is how spreadsheets mark text; common practice, no source.
func Cell(text string) string {
	if text != "" && strings.ContainsRune("=+-@\t\r", rune(text[0])) {
		return "'" + text
	}
	return text
}

func (s *sheetOf) bytes() []byte {
	s.w.Flush()
	return s.b.Bytes()
}

// distanceCSV is the picture of the distances as a table.
func distanceCSV(p chart.DistancePlot) []byte {
	s := newSheetOf("time", "distance", "kind")
	for _, r := range p.Readings {
		distance := r.Distance
		if r.Kind == chart.Unplaced {
			distance = math.NaN()
		}
		s.row(r.Time, distance, kindWord(r.Kind))
	}
	return s.bytes()
}

// scoresCSV is a score plot as a table: the usual spectra, then those of the period, then those of a second one.
func scoresCSV(p chart.ScorePlot) []byte {
	s := newSheetOf("of", "x", "y", "kind")
	for _, q := range p.Usual {
		s.row("usual", q.X, q.Y, "")
	}
	for _, m := range p.Period {
		s.row("period", m.X, m.Y, kindWord(m.Kind))
	}
	for _, q := range p.Second {
		s.row("second", q.X, q.Y, "")
	}
	return s.bytes()
}

// groupsCSV is the picture of the mean spectra of groups as a table.
func groupsCSV(p chart.GroupsPlot) []byte {
	s := newSheetOf("group", "at", "unit", "difference", "band")
	for _, g := range p.Groups {
		for i, x := range p.Axis.At {
			band := math.NaN()
			if i < len(p.Band) {
				band = p.Band[i]
			}
			s.row(g.Name, x, p.Axis.Unit, g.Difference[i], band)
		}
	}
	return s.bytes()
}

// spreadCSV is the picture of two distributions of distances as a table.
func spreadCSV(p chart.SpreadPlot) []byte {
	s := newSheetOf("of", "distance")
	for _, d := range p.This {
		s.row("this", d)
	}
	for _, d := range p.That {
		s.row("that", d)
	}
	return s.bytes()
}

// spectrumCSV is a picture of spectra as a table: each row is a place on the axis of one of its two panels, and what is not drawn
// there is empty.
func spectrumCSV(p chart.SpectrumPlot) []byte {
	s := newSheetOf("panel", "at", "unit", "usual", "sigma", "period", "difference", "band")
	none := math.NaN()
	at := func(v []float64, i int) float64 {
		if i < len(v) {
			return v[i]
		}
		return none
	}
	for i, x := range p.Axis.At {
		s.row("spectrum", x, p.Axis.Unit, at(p.Usual, i), at(p.Sigma, i), at(p.Period, i), none, none)
	}
	other := p.DiffAxis
	if len(other.At) == 0 {
		other = p.Axis
	}
	for i, x := range other.At {
		if i < len(p.Difference) {
			s.row("difference", x, other.Unit, none, none, none, p.Difference[i], at(p.Band, i))
		}
	}
	return s.bytes()
}
