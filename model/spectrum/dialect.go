package spectrum

import (
	"bytes"
	"fmt"
)

// A dialect is how the fields and numbers of a text file are written.
type dialect struct {
	delim byte // ' ' stands for any run of blanks and tabs
	mark  byte // the decimal mark
	sure  bool // whether a mark was seen; until then mark is '.' and may still turn out to be ','
}

// dialects are tried in this order; of those that make most of a line's fields numbers, the first
// is taken.
var dialects = [...]dialect{{'\t', '.', true}, {'\t', ',', true}, {';', '.', true}, {';', ',', true}, {',', '.', true}, {' ', '.', true}, {' ', ',', true}}

func (d dialect) delimName() string {
	switch d.delim {
	case '\t':
		return "tab"
	case ';':
		return "semicolon"
	case ',':
		return "comma"
	}
	return "space"
}

func (d dialect) markName() string {
	if !d.sure {
		return ""
	}
	return string(rune(d.mark))
}

// split appends the fields of a line to dst, without blanks and quotation marks around them. The
// fields lie in line.
func (d dialect) split(dst [][]byte, line []byte) [][]byte {
	return d.splitMost(dst, line, maxChannels+1<<6)
}

// splitMost is split for a line that has no more than so many fields: what stands behind them is one more, so that a line of
// nothing but delimiters takes little memory. There is none where nothing but delimiters stands there.
func (d dialect) splitMost(dst [][]byte, line []byte, most int) [][]byte {
	for more := true; more; {
		if len(dst) == most {
			if rest := bytes.Trim(line, " \t\r"+string(rune(d.delim))); len(rest) > 0 {
				dst = append(dst, rest)
			}
			break
		}
		var f []byte
		f, line, more = d.field(line)
		dst = append(dst, f)
	}
	return dst
}

// field returns the first field of a line, and what follows its delimiter, if there is one.
func (d dialect) field(line []byte) (f, rest []byte, more bool) {
	if d.delim == ' ' {
		line = bytes.Trim(line, " \t")
		i := blankEnd(line)
		rest = bytes.TrimLeft(line[i:], " \t")
		return unquote(line[:i]), rest, len(rest) > 0
	}
	i := fieldEnd(line, d.delim)
	f = unquote(bytes.TrimSpace(line[:i]))
	if i == len(line) {
		return f, nil, false
	}
	return f, line[i+1:], true
}

// blankEnd returns where the field at the start of line ends, at a blank that does not stand in
// quotation marks.
func blankEnd(line []byte) int {
	if len(line) > 0 && line[0] == '"' {
		if k := bytes.IndexByte(line[1:], '"'); k >= 0 {
			return k + 2
		}
	}
	if i := bytes.IndexAny(line, " \t"); i >= 0 {
		return i
	}
	return len(line)
}

// fieldEnd returns where the field at the start of line ends: at the first delimiter that does not
// stand in quotation marks, or at the end of the line.
func fieldEnd(line []byte, delim byte) int {
	start := 0
	if t := bytes.TrimLeft(line, " "); len(t) > 0 && t[0] == '"' {
		start = len(line) - len(t) + 1
		for start < len(line) {
			k := bytes.IndexByte(line[start:], '"')
			if k < 0 {
				start = 0 // never closed: an ordinary character
				break
			}
			start += k + 1
			if start >= len(line) || line[start] != '"' { // a doubled mark stands for one
				break
			}
			start++
		}
	}
	if i := bytes.IndexByte(line[start:], delim); i >= 0 {
		return start + i
	}
	return len(line)
}

func unquote(b []byte) []byte {
	if len(b) >= 2 && b[0] == '"' && b[len(b)-1] == '"' {
		b = bytes.TrimSpace(b[1 : len(b)-1])
		if bytes.Contains(b, []byte(`""`)) {
			b = bytes.ReplaceAll(b, []byte(`""`), []byte(`"`))
		}
	}
	return b
}

// dropEmpty takes off empty fields at the end, which a delimiter at the end of a line makes, down
// to n fields.
func dropEmpty(fields [][]byte, n int) [][]byte {
	for len(fields) > n && len(fields[len(fields)-1]) == 0 {
		fields = fields[:len(fields)-1]
	}
	return fields
}

// settle decides the decimal mark by the first number that shows one.
func (d *dialect) settle(fields [][]byte) {
	if d.sure || d.delim == ',' {
		return
	}
	for _, f := range fields {
		for _, mark := range [...]byte{'.', ','} {
			if bytes.IndexByte(f, mark) >= 0 {
				if _, ok := parseHeading(f, mark); ok {
					d.mark, d.sure = mark, true
					return
				}
			}
		}
	}
}

// isComment reports whether a line is set off from the data, and returns its text.
func isComment(line []byte) (text []byte, ok bool) {
	t := bytes.TrimLeft(line, " \t")
	for _, p := range [...]string{"#", "%", "//", "!"} {
		if bytes.HasPrefix(t, []byte(p)) {
			return bytes.TrimLeft(t[len(p):], p+" \t"), true
		}
	}
	return nil, false
}

func isBlank(line []byte) bool { return len(bytes.TrimSpace(line)) == 0 }

// show quotes a piece of a file for a message, shortened.
func show[T string | []byte](b T) string {
	const most = 40
	if len(b) > most {
		return fmt.Sprintf("%q…", string(b[:most]))
	}
	return fmt.Sprintf("%q", string(b))
}
