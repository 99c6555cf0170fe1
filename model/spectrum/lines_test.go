package spectrum

import (
	"bytes"
	"fmt"
	"io"
	"math/rand/v2"
	"strings"
	"testing"
	"testing/iotest"
)

// TestLines compares with bytes.Lines of the standard library, for texts at random, buffers of all small sizes and reads of
// one byte, half the buffer and all of it.
func TestLines(t *testing.T) {
	rng := rand.New(rand.NewPCG(11, 12))
	for range 300 {
		text := make([]byte, rng.IntN(60))
		for i := range text {
			text[i] = "ab\n\r,"[rng.IntN(5)]
		}
		for size := 1; size < 9; size++ {
			for _, r := range []io.Reader{bytes.NewReader(text), iotest.OneByteReader(bytes.NewReader(text)), iotest.HalfReader(bytes.NewReader(text)), iotest.DataErrReader(bytes.NewReader(text))} {
				l := newLines(r, make([]byte, size), 1000)
				no := 0
				for want := range bytes.Lines(text) {
					no++
					got, err := l.next()
					whole := bytes.HasSuffix(want, []byte("\n"))
					want = trimReturn(bytes.TrimSuffix(want, []byte("\n")))
					if err != nil || !bytes.Equal(got, want) || l.no != no || l.whole != whole {
						t.Fatalf("line %d of %q with a buffer of %d = %q, %v, number %d, whole %t; want %q, whole %t", no, text, size, got, err, l.no, l.whole, want, whole)
					}
				}
				for range 2 {
					if got, err := l.next(); err != io.EOF {
						t.Fatalf("after the last line of %q: %q, %v; want EOF", text, got, err)
					}
				}
			}
		}
	}
}

func TestLinesHead(t *testing.T) {
	text := strings.Repeat("900,0.5\n", 50_000)
	l := newLines(strings.NewReader(text), nil, 1<<20)
	head := l.head()
	if len(head) < headSize || !strings.HasPrefix(text, string(head)) {
		t.Fatalf("head has %d bytes, want %d at least, from the start", len(head), headSize)
	}
	n := 0
	for {
		line, err := l.next()
		if err == io.EOF {
			break
		}
		if n++; err != nil || string(line) != "900,0.5" {
			t.Fatalf("line %d after head = %q, %v", n, line, err)
		}
	}
	if n != 50_000 || cap(l.keep()) == 0 {
		t.Errorf("%d lines after head and a kept buffer of %d, want 50000 and one", n, cap(l.keep()))
	}
}

func TestLinesLimit(t *testing.T) {
	for size, ok := range map[int64]bool{8: true, 7: false, 9: true} {
		l := newLines(strings.NewReader("900,0.5\n"), nil, size)
		line, err := l.next()
		if ok && string(line) != "900,0.5" || ok != (err == nil) {
			t.Errorf("a line of 8 bytes with a limit of %d = %q, %v", size, line, err)
		}
	}
	l := newLines(impossible{}, nil, 100)
	if _, err := l.next(); err == nil || err == io.EOF {
		t.Errorf("a reader that counts wrong = %v, want an error", err)
	}
}

// impossible breaks the contract of io.Reader.
type impossible struct{}

func (impossible) Read(p []byte) (int, error) { return len(p) + 1, nil }

// TestLinesLarge asserts that a buffer that a long line has made large is not kept.
func TestLinesLarge(t *testing.T) {
	l := newLines(strings.NewReader(strings.Repeat("7", 3<<20)+"\n"), nil, 1<<30)
	if line, err := l.next(); err != nil || len(line) != 3<<20 {
		t.Fatalf("a line of 3 MiB = %d bytes, %v", len(line), err)
	}
	if b := l.keep(); b != nil {
		t.Errorf("a buffer of %d bytes is kept, want none", cap(b))
	}
}

// TestColumnsPlainLines asserts that lines taken straight from the buffer give what lines taken one by one give: comments between
// them, quotation marks and blanks force the slow way.
func TestColumnsPlainLines(t *testing.T) {
	rng := rand.New(rand.NewPCG(13, 14))
	var plain, commented, quoted, spaced strings.Builder
	x := 900.0
	for range 5000 {
		x += .01 + rng.Float64()
		fields := [2]string{fmt.Sprint(x), fmt.Sprint(rng.NormFloat64())}
		plain.WriteString(fields[0] + "," + fields[1] + "\n")
		commented.WriteString(fields[0] + "," + fields[1] + "\n# oats\n")
		quoted.WriteString(`"` + fields[0] + `","` + fields[1] + "\"\r\n")
		spaced.WriteString(" " + fields[0] + " ,\t" + fields[1] + " \n")
	}
	want, _ := collect(t, NewReader(Options{}), plain.String(), "oat.csv")
	for name, text := range map[string]string{"commented": commented.String(), "quoted": quoted.String(), "spaced": spaced.String()} {
		got, bad := collect(t, NewReader(Options{}), text, "oat.csv")
		if len(got) != 1 || len(bad) > 0 || !got[0].Axis.Equal(want[0].Axis) || !sameFloats(got[0].Values, want[0].Values) {
			t.Errorf("%s: %d spectra, %q; want the same as plain", name, len(got), bad)
		}
	}
	// The line of an error counts all lines, also those taken from the buffer.
	_, bad := collect(t, NewReader(Options{}), plain.String()+"900,1\n", "oat.csv")
	if len(bad) != 1 || !strings.Contains(bad[0], "line 5001: position 900") {
		t.Errorf("Read said %q, want line 5001", bad)
	}
}
