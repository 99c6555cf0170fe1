package spectrum

import (
	"errors"
	"fmt"
	"io"
	"strings"
	"testing"
	"testing/iotest"
)

// TestReadRefused reads files that hold no spectrum, and asserts that the reason names the line and the trouble.
func TestReadRefused(t *testing.T) {
	for _, tt := range []struct {
		name, text string
		opt        Options
		want       string
	}{
		{"empty", "", Options{}, "oat.csv: is empty"},
		{"blank", " \n\t\r\n", Options{}, "nothing but blanks"},
		{"byte order mark alone", "\ufeff", Options{}, "nothing but blanks"},
		{"binary", "900,0.5\n\x00\x01", Options{}, "is binary (byte 9 is 0x00), not text"},
		{"gzip", "\x1f\x8b\x08", Options{}, "compressed with gzip"},
		{"zip", "PK\x03\x04", Options{}, "zip archive or a spreadsheet; save the spectra as CSV"},
		{"UTF-16", "\xff\xfe9\x000\x00", Options{}, "UTF-16"},
		{"picture", "\x89PNG\r\n", Options{}, "picture"},
		{"words", "The oats were\nlate today\n", Options{}, `no line of numbers; its first line is "The oats were"`},
		{"a page", "<html>\n<p>oats</p>\n</html>\n", Options{}, "no line of numbers"},
		{"a hostile first line", strings.Repeat("x", 5000), Options{}, `xxx"…`},
		{"one number a line", "0.1\n0.2\n", Options{}, "one number a line"},
		{"one channel", "900,0.5\n", Options{}, "1 channel; a spectrum has at least 2"},
		{"comments only", "# axis: nm\n", Options{}, "holds comments and no line of numbers"},
		{"NaN", "900,0.5\n901,NaN\n902,0.5\n", Options{}, `line 2: the value of channel 2 (901) is "NaN", no number`},
		{"infinity", "900,0.5\n901,-Inf\n", Options{}, `line 2: the value of channel 2 (901) is "-Inf", no number`},
		{"huge", "900,0.5\n901,0.5\n902,1e999\n", Options{}, `line 3: the value of channel 3 (902) is "1e999", too large`},
		{"huge position", "900,0.5\n901,0.5\n1e999,1\n", Options{}, `line 3: the position of channel 3 is "1e999", too large`},
		{"missing value", "900,0.5\n901,\n902,0.5\n", Options{}, "line 2: the value of channel 2 (901) is missing"},
		{"back and forth", "900,0.5\n901,0.5\n902,0.5\n901,0.5\n", Options{}, "line 4: position 901 of channel 4 does not go on from 902"},
		{"a position twice", "900,0.5\n901,0.5\n901,0.5\n", Options{}, "line 3: position 901 of channel 3 does not go on from 901"},
		{"a word among numbers", "900,0.5\n901,0.5\nend of data\n", Options{}, `line 3: 1 columns, the lines before have 2: "end of data"`},
		{"a third column", "900,0.5\n901,0.5,7\n", Options{}, "line 2: 3 columns, the lines before have 2"},
		{"cut off in a line", "900,0.5\n901,0.5\n902", Options{}, `line 3: the file ends in the middle of a line, "902"; was it cut off?`},
		{"cut off in a number", "900,0.5\n901,0.5\n902,-", Options{}, `no number; the file ends in this line, was it cut off?`},
		{"cut off by its own count", "# number of channels: 4\n900,0.5\n901,0.5\n", Options{}, "2 channels, its header says 4; was it cut off?"},
		{"count no number", "# npoints: few\n900,0.5\n901,0.5\n", Options{}, `line 1: the number of channels is "few"`},
		{"two decimal marks", "900.5;0.5\n901,5;0.5\n", Options{}, `line 2: the position of channel 2 is "901,5", no number`},
		{"unknown unit", "# axis: furlong\n900,0.5\n901,0.5\n", Options{}, `line 1: axis unit "furlong" is not one of nm, um, cm-1, index`},
		{"unknown quantity", "# quantity: taste\n900,0.5\n901,0.5\n", Options{}, `line 1: quantity "taste" is not one of`},
		{"zero wavelength", "# axis: nm\n0,0.5\n900,0.5\n", Options{}, "axis position 1 is 0 nm"},
		{"time of two days", "# time: 03/04/2026 10:00\n900,0.5\n901,0.5\n", Options{}, `the time "03/04/2026 10:00" is in no form that is read`},
		{"no time in the header", "900,0.5\n901,0.5\n", Options{Time: TimeHeader}, "no time stands in its header"},
		{"no time in the name", "900,0.5\n901,0.5\n", Options{Time: TimeName}, "its name holds no time"},
		{"no time of that form", "900,0.5\n901,0.5\n", Options{Time: TimeName, NameLayout: "20060102_150405.000"}, `its name holds no time of the form "YYYYMMDD_hhmmss.fff"; mend name-pattern, or take the time from elsewhere`},
		{"no time of that form, nor elsewhere", "900,0.5\n901,0.5\n", Options{NameLayout: "20060102_150405"}, `its name holds no time of the form "YYYYMMDD_hhmmss"; mend name-pattern, or take the time from elsewhere`},
		{"no modification time", "900,0.5\n901,0.5\n", Options{Time: TimeModified}, "modification time is not known"},
		{"three columns without names", "900,1,2\n901,3,4\n", Options{}, "3 columns of numbers and no line that names them"},
		{"columns nobody knows", "wavelength,first,second\n900,1,2\n901,3,4\n", Options{}, "none is known to hold absorbance"},
		{"a spectrum a column", "nm,s1,s2,s3,s4,s5\n900,1,2,3,4,5\n901,1,2,3,4,5\n", Options{}, "a row a spectrum"},
		{"two absorbances", "wavelength,absorbance 1,absorbance 2\n900,1,2\n901,3,4\n", Options{}, "two columns hold absorbance"},
		{"no reference", "wavelength,sample,dark\n900,1,2\n901,3,4\n", Options{}, "raw intensities need the columns sample, dark and reference"},
		{"dark brighter than the sample", "nm,sample,dark,reference\n900,5,1,9\n901,1,2,9\n902,1,3,9\n", Options{}, "not above zero in 2 channels, first in channel 2 (901 nm)"},
		{"dark brighter than the reference", "nm,sample,dark,reference\n900,5,9,1\n901,5,1,9\n", Options{}, "no number in 1 channels, first in channel 1 (900 nm)"},
		{"too large", "900,0.5\n901,0.5\n", Options{MaxBytes: 10}, "larger than 10 bytes"},
		{"table: header only", "time,900,901,902,903\n", Options{}, "a table without rows"},
		{"table: axis", "id,900,901,900,903\n1,2,3,4,5\n", Options{}, "line 1: axis position 3 (900) does not go on"},
		{"table: units", "id,900 nm,901 nm,902,903\n1,2,3,4,5\n", Options{}, `line 1: column 4, "902", has another unit`},
		{"table: count", "# npoints: 3\nid,900,901,902,903\n1,2,3,4,5\n", Options{}, "4 channels, the header says 3"},
		{"table: no such column", "id,900,901,902,903\n1,2,3,4,5\n", Options{RunColumn: "lot"}, `line 1: no column is named "lot", which the options give for the run; the table has "id"`},
		{"table: no names at all", "900,901,902,903,904\n", Options{TimeColumn: "when"}, "the table has positions only"},
	} {
		ss, bad := collect(t, NewReader(tt.opt), tt.text, "oat.csv")
		if len(ss) != 0 || len(bad) != 1 || !strings.Contains(bad[0], tt.want) || !strings.HasPrefix(bad[0], "oat.csv: ") {
			t.Errorf("%s: Read gave %d spectra and %q, want none and a reason with %q", tt.name, len(ss), bad, tt.want)
		}
	}
}

// TestReadTableRows asserts that a bad row is named and the rows after it are read.
func TestReadTableRows(t *testing.T) {
	for _, tt := range []struct {
		name, text string
		opt        Options
		rows       int
		want       string // in the only reason; "" for none
	}{
		{"all good", "id;900,5;901,5;902\na;0,1;0,2;0,3\nb;1;2;3\n", Options{}, 2, ""},
		{"no names but positions", "900,901,902,903,904\n1,2,3,4,5\n1,2,3,4,5\n", Options{}, 2, ""},
		{"blank lines and comments", "id,900,901,902\n\n# half past\na,1,2,3\n\n", Options{}, 1, ""},
		{"blanks", "id 900 901 902\na  1 2   3\nb 1 2 3 \n", Options{}, 2, ""},
		{"quoted", "\"id, or so\",\"900\",\"901\",\"902\"\n\"a, \"\"b\"\"\",\"1\",\"2\",\"3\"\n", Options{}, 1, ""},
		{"R's names", "\"\",\"X900.5\",\"X901.5\",\"X902.5\"\n\"1\",1,2,3\n", Options{}, 1, ""},
		{"units in the names", "id,900 nm,901 nm,902 nm\na,1,2,3\n", Options{}, 1, ""},
		{"no last newline", "id,900,901,902\na,1,2,3", Options{}, 1, ""},
		{"trailing delimiters", "id,900,901,902,\na,1,2,3,\n", Options{}, 1, ""},
		{"too many", "id,900,901,902\na,1,2,3\nb,1,2,3,4\nc,1,2,3\n", Options{}, 2, "line 3: 5 columns or more, the table's first line names 4"},
		{"too few", "id,900,901,902\na,1,2,3\nb,1,2\nc,1,2,3\n", Options{}, 2, "line 3: 3 columns, the table's first line names 4"},
		{"empty value", "id,900,901,902\na,1,2,3\nb,1,,3\n", Options{}, 1, "line 3: channel 2 (901 nm) is missing"},
		{"word", "id,900,901,902\na,1,2,3\nb,1,2,n/a\n", Options{}, 1, `line 3: channel 3 (902 nm) is "n/a", no number`},
		{"huge", "id,900,901,902\na,1,2,3\nb,1e999,2,3\n", Options{}, 1, `line 3: channel 1 (900 nm) is "1e999", too large`},
		{"cut off in a number", "id,900,901,902\na,1,2,3\nb,1,2,-", Options{}, 1, "line 3: the file ends in the middle of this row"},
		{"no time in a row", "time,900,901,902\n2026-11-25 06:00,1,2,3\n,1,2,3\n", Options{}, 1, "line 3: its time column, time, is empty"},
		{"bad time in a row", "time,900,901,902\n2026-11-25 06:00,1,2,3\nnoon,1,2,3\n", Options{}, 1, `line 3: the time "noon" is in no form`},
		{"time not wanted", "time,900,901,902\n2026-11-25 06:00,1,2,3\nnoon,1,2,3\n", Options{Time: TimeNone}, 2, ""},
	} {
		ss, bad := collect(t, NewReader(tt.opt), tt.text, "day.csv")
		if len(ss) != tt.rows || (tt.want == "") != (len(bad) == 0) || len(bad) == 1 && !strings.Contains(bad[0], tt.want) || len(bad) > 1 {
			t.Errorf("%s: Read gave %d spectra and %q, want %d and %q", tt.name, len(ss), bad, tt.rows, tt.want)
		}
	}
}

// TestReadLongLines asserts that a line beyond all bounds ends a file of columns and only one row of a table.
func TestReadLongLines(t *testing.T) {
	if testing.Short() {
		t.Skip("needs 50 MB")
	}
	long := strings.Repeat("7", maxLine+10)
	_, bad := collect(t, NewReader(Options{}), "900,0.5\n901,"+long+"\n902,0.5\n", "oat.csv")
	if len(bad) != 1 || !strings.Contains(bad[0], "line 2: the line is longer than 16777216 bytes") {
		t.Errorf("Read of a long line said %q", bad)
	}
	ss, bad := collect(t, NewReader(Options{}), "id,900,901,902\na,1,2,3\nb,1,2,"+long+"\nc,1,2,3\n", "day.csv")
	if len(ss) != 2 || len(bad) != 1 || !strings.Contains(bad[0], "line 3: the line is longer") {
		t.Errorf("Read of a long row gave %d spectra and %q, want 2 and one reason", len(ss), bad)
	}
}

// repeat is an endless reader of one line.
type repeat struct {
	line string
	i    int
}

func (r *repeat) Read(p []byte) (int, error) {
	n := 0
	for n < len(p) {
		k := copy(p[n:], r.line[r.i:])
		n += k
		r.i = (r.i + k) % len(r.line)
	}
	return n, nil
}

// TestReadEndless asserts that files without an end are refused within bounds.
func TestReadEndless(t *testing.T) {
	if testing.Short() {
		t.Skip("reads much")
	}
	for name, r := range map[string]io.Reader{
		"zeros":        &repeat{line: "\x00"},
		"digits":       &repeat{line: "7"},
		"blank lines":  &repeat{line: "\n"},
		"comments":     &repeat{line: "# axis: nm\n"},
		"same channel": io.MultiReader(strings.NewReader("900,1\n"), &repeat{line: "901,1\n"}),
		"JCAMP labels": io.MultiReader(strings.NewReader("##TITLE= x\n"), &repeat{line: "##REMARK= oats\n"}),
	} {
		n := 0
		for _, err := range Read(r, Source{Name: name}, Options{MaxBytes: 20 << 20}) {
			if n++; err == nil {
				t.Errorf("%s: Read gave a spectrum, want a reason", name)
			}
		}
		if n != 1 {
			t.Errorf("%s: Read said %d things, want one", name, n)
		}
	}
}

// TestReadSmallReads asserts that it does not matter in which pieces a file arrives, and that a reader's error is kept.
func TestReadSmallReads(t *testing.T) {
	text := twoColumnsText(100)
	want, _ := collect(t, NewReader(Options{}), text, "oat.csv")
	for s, err := range Read(iotest.OneByteReader(strings.NewReader(text)), Source{Name: "oat.csv"}, Options{}) {
		if err != nil || !s.Axis.Equal(want[0].Axis) || !sameFloats(s.Values, want[0].Values) {
			t.Errorf("Read byte by byte = %v, %v; want the same as at once", s.Axis, err)
		}
	}
	broken := errors.New("the cable is out")
	big := io.MultiReader(strings.NewReader(twoColumnsText(8000)), iotest.ErrReader(broken))
	for _, tt := range []struct {
		name string
		r    io.Reader
		want error
	}{{"in the head", iotest.ErrReader(broken), broken}, {"later", big, broken}, {"no progress", idle{}, io.ErrNoProgress}} {
		n := 0
		for _, err := range Read(tt.r, Source{Name: "oat.csv"}, Options{}) {
			if n++; !errors.Is(err, tt.want) {
				t.Errorf("%s: Read gave %v, want %v", tt.name, err, tt.want)
			}
		}
		if n != 1 {
			t.Errorf("%s: Read said %d things, want one", tt.name, n)
		}
	}
}

// idle never has anything, and never ends.
type idle struct{}

func (idle) Read([]byte) (int, error) { return 0, nil }

// TestReadStops asserts that a caller who has enough is not given more.
func TestReadStops(t *testing.T) {
	table := "id,900,901,902\na,1,2,3\nb,x,2,3\nc,1,2,3\n"
	for name, text := range map[string]string{"table": table, "columns": twoColumnsText(3), "JCAMP": newJDX().String() + newJDX().String(), "bad": ""} {
		rd, n := NewReader(Options{}), 0
		for range rd.Read(strings.NewReader(text), Source{}) {
			n++
			break
		}
		if n != 1 {
			t.Errorf("%s: %d steps, want 1", name, n)
		}
		if ss, _ := collect(t, rd, table, "day.csv"); len(ss) != 2 { // the Reader is still good
			t.Errorf("%s: after it, the table has %d spectra, want 2", name, len(ss))
		}
	}
}

// TestLineOfDelimiters asserts that a line of nothing but delimiters takes little memory, and that what stands behind them is not lost.
func TestLineOfDelimiters(t *testing.T) {
	var good strings.Builder
	for i := range 9000 {
		fmt.Fprintf(&good, "%d,0.4\n", 900+i)
	}
	commas := strings.Repeat(",", maxLine-32)
	for _, tt := range []struct{ name, line, want string }{
		{"nothing behind them", "9900,0.4" + commas, ""},
		{"something behind them", "9900,0.4" + commas + " 7", "line 9001: 16385 columns or more, the lines before have 2"},
		{"numbers between them", strings.Repeat("1,", maxLine/2-32), "line 9001: 16385 columns or more, the lines before have 2"},
	} {
		rd := NewReader(Options{})
		ss, bad := collect(t, rd, good.String()+tt.line+"\n", "oat.csv")
		if tt.want == "" && (len(ss) != 1 || len(ss[0].Values) != 9001 || len(bad) > 0) || tt.want != "" && (len(bad) != 1 || !strings.Contains(bad[0], tt.want)) {
			t.Errorf("%s: %d spectra, %v; want %q", tt.name, len(ss), bad, tt.want)
		}
		if cap(rd.fields) > 2*mostColumns {
			t.Errorf("%s: room for %d fields is kept, want %d at most", tt.name, cap(rd.fields), 2*mostColumns)
		}
	}
	names := "id,900,901,902" + commas + "x"
	if _, bad := collect(t, NewReader(Options{}), names+"\na,1,2,3\n", "day.csv"); len(bad) != 1 {
		t.Errorf("a table with a million names: %v, want a reason", bad)
	}
}

func ExampleRead_unreadable() {
	table := "time,900,901,902\n2026-11-25 06:00,0.1,0.2,0.3\n2026-11-25 06:01,0.1,NaN,0.3\n"
	for s, err := range Read(strings.NewReader(table), Source{Name: "day.csv"}, Options{}) {
		if err != nil {
			fmt.Println("left out:", err)
			continue
		}
		fmt.Println(s.Name(), s.Values)
	}
	// Output:
	// day.csv: row 1 [0.1 0.2 0.3]
	// left out: day.csv: line 3: channel 2 (901 nm) is "NaN", no number
}

// counter counts what is read through it.
type counter struct {
	r io.Reader
	n int
}

func (c *counter) Read(p []byte) (int, error) {
	n, err := c.r.Read(p)
	c.n += n
	return n, err
}

// TestReadStreams asserts that a table's rows are given while the table is still being read, so that its length does not matter,
// and that the buffer stays small.
func TestReadStreams(t *testing.T) {
	rd, rows := NewReader(Options{}), 0
	c := &counter{r: io.MultiReader(strings.NewReader("id,900,901,902\n"), &repeat{line: "a,0.1,0.2,0.3\n"})}
	for s, err := range rd.Read(c, Source{Name: "day.csv"}) {
		if err != nil {
			t.Fatal(err)
		}
		if rows++; s.Row != rows {
			t.Fatalf("row %d is given as %d", rows, s.Row)
		}
		if ahead := c.n - rows*len("a,0.1,0.2,0.3\n"); ahead > 2*firstBuffer {
			t.Fatalf("after row %d, %d bytes are read ahead, want %d at most", rows, ahead, 2*firstBuffer)
		}
		if rows == 100_000 {
			break
		}
	}
	if cap(rd.buf) > 2*firstBuffer {
		t.Errorf("the buffer has grown to %d bytes, want %d at most", cap(rd.buf), 2*firstBuffer)
	}
}
