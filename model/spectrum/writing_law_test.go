package spectrum

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"
)

// A written file is spectra of one grid and how they stand in a text. Two that differ only in how must read the same.
type written struct {
	at     []float64
	values [][]float64
	meta   [][]string // of each spectrum: time, run, label
}

func newWritten(rng *rand.Rand, p, rows int) written {
	var w written
	for i := range p {
		w.at = append(w.at, 900+2*float64(i)+float64(rng.IntN(100))/100)
	}
	start := time.Date(2026, 11, 25, 6, 34, 12, 0, time.UTC)
	for k := range rows {
		var v []float64
		for range p {
			v = append(v, float64(rng.IntN(20000)-2000)/1e4)
		}
		w.values = append(w.values, v)
		w.meta = append(w.meta, []string{start.Add(time.Duration(k) * time.Minute).Format(time.RFC3339), fmt.Sprint("lot ", k/3), "usual"})
	}
	return w
}

// columns writes the first spectrum as two columns, a header line for each key.
func (w written) columns(d dialect, header ...string) string {
	var b strings.Builder
	for _, h := range header {
		b.WriteString(h + "\n")
	}
	for i, at := range w.at {
		b.WriteString(plain(at, d.mark) + string(rune(d.delim)) + plain(w.values[0][i], d.mark) + "\n")
	}
	return b.String()
}

// table writes all spectra, the columns of the meta data at the places that order says: negative before the channels.
func (w written) table(d dialect, order []int) string {
	names := []string{"time", "run", "label"}
	delim := string(rune(d.delim))
	var b strings.Builder
	row := func(meta []string, cells []string) {
		var all []string
		for i, m := range meta {
			if order[i] < 0 {
				all = append(all, m)
			}
		}
		all = append(all, cells...)
		for i, m := range meta {
			if order[i] >= 0 {
				all = append(all, m)
			}
		}
		b.WriteString(strings.Join(all, delim) + "\n")
	}
	cells := func(v []float64) (s []string) {
		for _, x := range v {
			s = append(s, plain(x, d.mark))
		}
		return s
	}
	row(names, cells(w.at))
	for k, v := range w.values {
		row(w.meta[k], cells(v))
	}
	return b.String()
}

func plain(v float64, mark byte) string {
	return strings.Replace(strconv.FormatFloat(v, 'f', -1, 64), ".", string(rune(mark)), 1)
}

// same asserts that the text holds just the spectra that w says.
func (w written) same(t *testing.T, what, text string) []Spectrum {
	t.Helper()
	ss, bad := collect(t, NewReader(Options{}), text, "oat.csv")
	if len(bad) > 0 || len(ss) == 0 || len(ss) > len(w.values) {
		t.Fatalf("%s: %d spectra and %q, want up to %d and no error, of\n%.400s", what, len(ss), bad, len(w.values), text)
	}
	for k, s := range ss {
		if !slices.Equal(s.Axis.Values(), w.at) || !slices.Equal(s.Values, w.values[k]) {
			t.Fatalf("%s: spectrum %d reads %v, %v; want %v, %v", what, k+1, s.Axis.Values(), s.Values, w.at, w.values[k])
		}
	}
	return ss
}

// linewise changes every line of a text.
func linewise(text string, f func(no int, line string) string) string {
	lines := strings.Split(strings.TrimSuffix(text, "\n"), "\n")
	for i, l := range lines {
		lines[i] = f(i, l)
	}
	return strings.Join(lines, "\n") + "\n"
}

// fieldwise changes every field of a text.
func fieldwise(text string, d dialect, f func(field string) string) string {
	return linewise(text, func(_ int, line string) string {
		fields := strings.Split(line, string(rune(d.delim)))
		for i := range fields {
			fields[i] = f(fields[i])
		}
		return strings.Join(fields, string(rune(d.delim)))
	})
}

// TestReadWhateverTheWriting: line breaks, blank lines, comments, quotation marks, blanks and delimiters at the end of a line
// change nothing, in any dialect, for columns and for tables.
func TestReadWhateverTheWriting(t *testing.T) {
	rng := rand.New(rand.NewPCG(21, 1))
	for _, d := range dialects {
		w := newWritten(rng, 12, 7)
		for kind, text := range map[string]string{"columns": w.columns(d), "table": w.table(dialect{d.delim, d.mark, true}, []int{-1, -1, 1})} {
			if kind == "table" && d.delim == ' ' {
				text = strings.ReplaceAll(text, "lot ", "lot")
			}
			what := func(s string) string {
				return fmt.Sprintf("%s, %s with decimal %c, %s", kind, d.delimName(), d.mark, s)
			}
			w.same(t, what("plain"), text)
			w.same(t, what("DOS line breaks"), strings.ReplaceAll(text, "\n", "\r\n"))
			w.same(t, what("no break at the end"), strings.TrimSuffix(text, "\n"))
			w.same(t, what("a byte order mark"), byteOrderMark+text)
			w.same(t, what("blank lines"), "\n\n"+linewise(text, func(_ int, l string) string { return l + "\n" })+" \n\t\n")
			w.same(t, what("comments between"), linewise(text, func(i int, l string) string {
				return fmt.Sprintf("%s line %d\n%s", []string{"#", "%", "//", "!"}[i%4], i, l)
			}))
			w.same(t, what("numbers with a plus"), fieldwise(text, d, func(f string) string {
				if f != "" && f[0]-'0' <= 9 && !strings.ContainsAny(f, "T:") {
					return "+" + f
				}
				return f
			}))
			w.same(t, what("quotation marks"), fieldwise(text, d, func(f string) string { return `"` + f + `"` }))
			if d.delim != ' ' {
				w.same(t, what("blanks around fields"), fieldwise(text, d, func(f string) string { return "  " + f + " " }))
				w.same(t, what("a delimiter at the end"), linewise(text, func(_ int, l string) string { return l + string(rune(d.delim)) }))
			} else {
				w.same(t, what("aligned columns"), linewise(text, func(_ int, l string) string { return "   " + strings.ReplaceAll(l, " ", "   \t ") + "  " }))
			}
		}
	}
}

// TestReadHeaderInAnyOrder: header lines say the same in any order, in any case, as comments or not, with a colon or an equals sign.
func TestReadHeaderInAnyOrder(t *testing.T) {
	rng := rand.New(rand.NewPCG(22, 1))
	w := newWritten(rng, 9, 1)
	header := [][2]string{{"time", "2026-11-25T06:34:12+01:00"}, {"axis", "nm"}, {"quantity", "reflectance"}, {"run", "lot 7"}, {"label", "rinse"}, {"number of channels", "9"}, {"integration time", "12"}}
	when := time.Date(2026, 11, 25, 5, 34, 12, 0, time.UTC)
	for n := range 40 {
		rng.Shuffle(len(header), func(i, j int) { header[i], header[j] = header[j], header[i] })
		var lines []string
		for _, h := range header {
			key, sign, mark := h[0], []string{": ", "=", " : ", " = ", ":"}[rng.IntN(5)], []string{"# ", "% ", "//", "! ", "#"}[rng.IntN(5)]
			switch rng.IntN(3) {
			case 0:
				key = strings.ToUpper(key)
			case 1:
				key = strings.ToUpper(key[:1]) + key[1:]
			}
			if n%2 == 0 {
				mark = ""
			}
			lines = append(lines, mark+key+sign+h[1])
		}
		text := w.columns(dialects[n%len(dialects)], lines...)
		s := w.same(t, "a header in any order", text)[0]
		if !s.Time.Equal(when) || s.Axis.Unit() != Nanometre || s.Quantity != Reflectance || s.Run != "lot 7" || s.Label != "rinse" || s.Exposure != 12*time.Millisecond {
			t.Errorf("Read gave %v, %v, %v, run %q, label %q, exposure %v of\n%s", s.Time, s.Axis, s.Quantity, s.Run, s.Label, s.Exposure, text)
		}
	}
}

// TestReadTableColumnsInAnyOrder: a table's columns of names may stand before the channels or behind them, and channels that
// are written from the last to the first make a falling axis with the same values at the same positions.
func TestReadTableColumnsInAnyOrder(t *testing.T) {
	w := newWritten(rand.New(rand.NewPCG(23, 1)), 8, 5)
	d := dialect{',', '.', true}
	for n := range 8 {
		order := []int{n&1 - 1, n>>1&1 - 1, n>>2&1 - 1}
		for k, s := range w.same(t, fmt.Sprint("order ", order), w.table(d, order)) {
			if s.Time.Format(time.RFC3339) != w.meta[k][0] || s.Run != w.meta[k][1] || s.Label != w.meta[k][2] || s.Row != k+1 {
				t.Errorf("order %v: row %d has %v, run %q, label %q; want %q", order, s.Row, s.Time, s.Run, s.Label, w.meta[k])
			}
		}
	}
	back := written{at: slices.Clone(w.at), meta: w.meta}
	slices.Reverse(back.at)
	for _, v := range w.values {
		v = slices.Clone(v)
		slices.Reverse(v)
		back.values = append(back.values, v)
	}
	for _, s := range back.same(t, "from the last channel on", back.table(d, []int{-1, 1, 1})) {
		if s.Axis.Rising() {
			t.Errorf("row %d: a rising axis, want a falling one", s.Row)
		}
	}
}

// TestReadSameInAllFormats: one spectrum says the same as columns, as the row of a table and in each form of JCAMP-DX.
func TestReadSameInAllFormats(t *testing.T) {
	rng := rand.New(rand.NewPCG(24, 1))
	const p = 40
	y := walk(rng, p)
	w := written{values: [][]float64{make([]float64, p)}, meta: [][]string{{"2026-11-25T06:34:12Z", "lot 7", "usual"}}}
	for i, v := range y {
		w.at = append(w.at, 4000+8*float64(i))
		w.values[0][i] = float64(v)
	}
	w.same(t, "columns", w.columns(dialects[0], "# quantity: intensity"))
	w.same(t, "a table", "# quantity: intensity\n"+w.table(dialects[2], []int{-1, -1, -1}))
	for _, f := range forms {
		j := newJDX().with("YUNITS", "COUNTS", "YFACTOR", "1", "FIRSTX", "4000", "LASTX", fmt.Sprint(w.at[p-1]), "DELTAX", "8", "NPOINTS", fmt.Sprint(p), "FIRSTY", fmt.Sprint(y[0]))
		w.same(t, f.name, j.lines(f.encode(y, 4000, 8, 10)).String())
	}
}

// TestReadCutAnywhere: of a file cut off at any byte nothing wrong is read, but for the last number, which nothing tells from
// a shorter one: what comes has the positions and values that were written, and rows that stand whole are all there.
func TestReadCutAnywhere(t *testing.T) {
	w := newWritten(rand.New(rand.NewPCG(25, 1)), 6, 4)
	d := dialect{',', '.', true}
	columns, table := w.columns(d, "# axis: nm"), w.table(d, []int{-1, -1, -1})
	for n := range len(columns) {
		ss, _ := collect(t, NewReader(Options{}), columns[:n], "oat.csv")
		for _, s := range ss {
			last := s.Axis.Len() - 1
			if at := s.Axis.Values(); !slices.Equal(at[:last], w.at[:last]) || !slices.Equal(s.Values[:last], w.values[0][:last]) {
				t.Errorf("columns cut at %d read %v, %v", n, at, s.Values)
			}
		}
		if counted, _ := collect(t, NewReader(Options{}), "# number of channels: 6\n"+columns[:n], "oat.csv"); len(counted) > 0 && counted[0].Axis.Len() != 6 {
			t.Errorf("columns cut at %d read %d channels, though the header says 6", n, counted[0].Axis.Len())
		}
	}
	for n := range len(table) {
		ss, bad := collect(t, NewReader(Options{}), table[:n], "oat.csv")
		whole := max(strings.Count(table[:n], "\n")-1, 0) // rows behind the line of names
		if whole > 0 && len(ss) < whole {
			t.Errorf("table cut at %d: %d rows and %q, want the %d that stand whole", n, len(ss), bad, whole)
		}
		for k, s := range ss {
			if k < whole && !slices.Equal(s.Values, w.values[k]) || k >= whole && !slices.Equal(s.Values[:5], w.values[k][:5]) {
				t.Errorf("table cut at %d: row %d reads %v, want %v", n, k+1, s.Values, w.values[k])
			}
		}
	}
}
