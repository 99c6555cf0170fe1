package spectrum

import (
	"bytes"
	"errors"
	"fmt"
	"unicode/utf8"
)

// A Format is a way in which spectra are written to files.
type Format string

// The formats that Read knows.
const (
	TwoColumns  Format = "two columns"       // one spectrum: a line a channel, position and value
	Intensities Format = "intensity columns" // one spectrum: a line a channel; position, sample, dark, reference
	Table       Format = "table"             // many spectra: a row a spectrum, the positions are the columns' names
	JCAMP       Format = "JCAMP-DX"          // one or many spectra with labels, by an open standard
)

// Sniff tells the format of a file by its first bytes; 64 KiB are plenty. What is no text, or holds
// no numbers, is an error that says what it is and what to try.
func Sniff(head []byte) (Format, error) {
	f, _, err := sniff(head)
	return f, err
}

// magics are the first bytes of files that are no spectra but may lie among them.
var magics = []struct{ start, what string }{
	{"\x1f\x8b", "is compressed with gzip; unpack it first"},
	{"PK\x03\x04", "is a zip archive or a spreadsheet; save the spectra as CSV"},
	{"\xff\xfe", "is text in UTF-16; save it as UTF-8 or ASCII"},
	{"\xfe\xff", "is text in UTF-16; save it as UTF-8 or ASCII"},
	{"\x89PNG", "is a picture"},
	{"%PDF", "is a PDF document; save the spectra as CSV"},
	{"<?xml", "is XML, which is not read; save the spectra as CSV or JCAMP-DX"},
	{"SQLite format 3", "is a database"},
}

const byteOrderMark = "\ufeff"

// binaryLook is how many bytes are looked at for what is no text; further on, a line that is no
// numbers says so itself.
const binaryLook = 1024

func sniff(head []byte) (Format, dialect, error) {
	var none dialect
	if len(head) == 0 {
		return "", none, errors.New("is empty")
	}
	for _, m := range magics {
		if bytes.HasPrefix(head, []byte(m.start)) {
			return "", none, errors.New(m.what)
		}
	}
	head = bytes.TrimPrefix(head, []byte(byteOrderMark))
	for i, c := range head[:min(len(head), binaryLook)] {
		if c < ' ' && c != '\t' && c != '\n' && c != '\r' && c != '\f' {
			return "", none, fmt.Errorf("is binary (byte %d is %#02x), not text; save the spectra as CSV or JCAMP-DX", i+1, c)
		}
	}
	if isBlank(head) {
		return "", none, errors.New("holds nothing but blanks")
	}
	if isJCAMP(head) {
		return JCAMP, none, nil
	}
	return sniffText(head)
}

// isJCAMP reports whether the first line that is no $$ comment is a label, ##…=, and the label is
// the title, or ##JCAMP-DX= stands further on. Other files have lines such as "## temperature = 4"
// as comments.
func isJCAMP(head []byte) bool {
	for line := range bytes.Lines(head) {
		if line = trimComment(line); len(line) == 0 {
			continue
		}
		label, _, ok := bytes.Cut(line, []byte("="))
		if !ok || !bytes.HasPrefix(label, []byte("##")) {
			return false
		}
		return labelName(label[2:]) == "TITLE" || bytes.Contains(bytes.ToUpper(head), []byte("##JCAMP"))
	}
	return false
}

// sniffText finds the first line with at least two numbers and tells by it, and by the lines beside
// it, a file of columns from a table. Lines before it are headers.
func sniffText(head []byte) (Format, dialect, error) {
	var before, text []byte // the line before, the first line of text
	single := false
	rest := head
	for len(rest) > 0 {
		var line []byte
		line, rest = cutLine(rest)
		if _, comment := isComment(line); comment || isBlank(line) {
			continue
		}
		if text == nil {
			text = line
		}
		d, fields, k := bestDialect(line)
		switch {
		case k == 1 && len(fields) == 1:
			single = true
		case k >= 2 && k == len(fields):
			f, err := columnsOrTable(d, fields, before)
			return f, decide(d, line, rest), err
		case k >= 2 && sameWidth(d, fields, rest):
			return Table, decide(d, line, rest), nil
		}
		before = line
	}
	if text == nil {
		return "", dialect{}, errors.New("holds comments and no line of numbers")
	}
	if single {
		return "", dialect{}, errors.New("has one number a line; two are expected, position and value")
	}
	return "", dialect{}, fmt.Errorf("holds no line of numbers; its first line is %s", show(text))
}

func cutLine(b []byte) (line, rest []byte) {
	i := bytes.IndexByte(b, '\n')
	if i < 0 {
		return trimReturn(b), nil
	}
	return trimReturn(b[:i]), b[i+1:]
}

// bestDialect returns the dialect that makes the largest share of the line's fields positions or
// numbers, the fields, and how many are.
func bestDialect(line []byte) (best dialect, fields [][]byte, k int) {
	for _, d := range dialects {
		if d.delim != ' ' && bytes.IndexByte(line, d.delim) < 0 {
			continue
		}
		f := dropEmpty(d.split(nil, line), 2)
		if h := headings(f, d.mark); fields == nil || h*len(fields) > k*len(f) {
			best, fields, k = d, f, h
		}
		if k > 0 && k == len(fields) {
			break
		}
	}
	return best, fields, k
}

func headings(fields [][]byte, mark byte) (k int) {
	for _, f := range fields {
		if _, ok := parseHeading(f, mark); ok {
			k++
		}
	}
	return k
}

func numbers(fields [][]byte, mark byte) (k int) {
	for _, f := range fields {
		if isNumber(f, mark) {
			k++
		}
	}
	return k
}

// columnsOrTable tells the two apart where all fields of the first line of numbers are numbers.
func columnsOrTable(d dialect, fields [][]byte, before []byte) (Format, error) {
	n := len(fields)
	if n == 2 && numbers(fields, d.mark) == 2 {
		return TwoColumns, nil
	}
	names := dropEmpty(d.split(nil, before), n)
	if len(names) == n && numbers(names, d.mark) == 0 && headings(names, d.mark) < 2 {
		return Intensities, nil
	}
	if n <= 4 && numbers(fields, d.mark) == n {
		return "", fmt.Errorf("has %d columns of numbers and no line that names them; name them position, sample, dark, reference, or write two columns", n)
	}
	return Table, nil
}

// sameWidth reports whether the next line has as many fields, or is not there to tell.
func sameWidth(d dialect, fields [][]byte, rest []byte) bool {
	for len(rest) > 0 {
		var line []byte
		whole := bytes.IndexByte(rest, '\n') >= 0
		line, rest = cutLine(rest)
		if _, comment := isComment(line); comment || isBlank(line) {
			continue
		}
		return !whole || len(dropEmpty(d.split(nil, line), len(fields))) == len(fields)
	}
	return true
}

// decide settles the decimal mark by the lines at hand.
func decide(d dialect, line, rest []byte) dialect {
	d.mark, d.sure = '.', d.delim == ','
	for {
		if _, comment := isComment(line); !comment {
			d.settle(d.split(nil, line))
		}
		if d.sure || len(rest) == 0 {
			return d
		}
		line, rest = cutLine(rest)
	}
}

// validText returns a text of a file as UTF-8; what is not valid UTF-8 is taken for Latin-1.
func validText(b []byte) string {
	if utf8.Valid(b) {
		return string(b)
	}
	r := make([]rune, len(b))
	for i, c := range b {
		r[i] = rune(c)
	}
	return string(r)
}
