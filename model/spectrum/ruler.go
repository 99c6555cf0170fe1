package spectrum

import "encoding/binary"

// A ruler remembers how the positions of the last file of columns were written, each with the delimiter behind it: the next
// file of the same line mostly writes the same, and to see that is quicker than to read a number.
type ruler struct {
	d     dialect // in which they were read
	marks []mark  // a channel each
}

// A mark is a position as it is written, in up to 16 bytes, compared eight at a time.
type mark struct {
	text, mask [2]uint64
	n          int // bytes of text; 0 where the channel has no mark
	at         float64
}

// use makes the ruler one of files of that dialect.
func (r *ruler) use(d dialect) {
	if r.d != d {
		r.d, r.marks = d, r.marks[:0]
	}
}

// known returns the position of channel i and how many bytes it takes, where b begins with it as it was written before;
// else 0 bytes.
func (r *ruler) known(b []byte, i int) (x float64, n int) {
	if i >= len(r.marks) || len(b) < 16 {
		return 0, 0
	}
	m := &r.marks[i]
	if (binary.LittleEndian.Uint64(b)^m.text[0])&m.mask[0]|(binary.LittleEndian.Uint64(b[8:])^m.text[1])&m.mask[1] != 0 {
		return 0, 0
	}
	return m.at, m.n
}

// read reads the position of channel i with the delimiter behind it, which b begins with, and remembers it. It returns how
// many bytes they take; 0 where b does not begin so.
func (r *ruler) read(b []byte, i int) (x float64, n int) {
	x, n = number(b, r.d.mark)
	if n == 0 || n >= len(b) || b[n] != r.d.delim {
		return 0, 0
	}
	n++
	if i > maxMarks {
		return x, n
	}
	for len(r.marks) <= i {
		r.marks = append(r.marks, mark{})
	}
	m := &r.marks[i]
	*m = mark{}
	if n > 16 {
		return x, n
	}
	var text, mask [16]byte
	for k := range n {
		text[k], mask[k] = b[k], 0xff
	}
	m.n, m.at = n, x
	for k := range m.text {
		m.text[k], m.mask[k] = binary.LittleEndian.Uint64(text[8*k:]), binary.LittleEndian.Uint64(mask[8*k:])
	}
	return x, n
}

// maxMarks bounds what is remembered.
const maxMarks = 1 << 14
