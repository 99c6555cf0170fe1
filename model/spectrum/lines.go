package spectrum

import (
	"bytes"
	"errors"
	"fmt"
	"io"
)

// headSize is how much of a file is looked at to find its format; firstBuffer holds it.
const (
	headSize    = 64 << 10
	firstBuffer = 64 << 10
)

// errLong is returned for a line of more than maxLine bytes; the lines after it can still be read.
var errLong = errors.New("line too long")

// lines gives the lines of a file one by one from one buffer, which it is lent and which grows to
// maxLine at most.
type lines struct {
	r     io.Reader
	buf   []byte
	lo, n int   // buf[lo:n] is read and not given out
	left  int64 // bytes that may still be read
	max   int64
	err   error // why no more can be read; io.EOF at the end

	no    int  // number of the line last given out, from 1
	whole bool // whether it ended with a line break
}

func newLines(r io.Reader, buf []byte, limit int64) *lines {
	if cap(buf) == 0 {
		buf = make([]byte, firstBuffer)
	}
	return &lines{r: r, buf: buf[:cap(buf)], left: limit, max: limit}
}

// head returns the first headSize bytes, or as many as the file has.
func (l *lines) head() []byte {
	for l.err == nil && l.n-l.lo < headSize {
		l.fill()
	}
	return l.buf[l.lo:l.n]
}

// skip passes over the first k bytes of what head returned.
func (l *lines) skip(k int) { l.lo += k }

// fill reads once more, after making room.
func (l *lines) fill() {
	if l.lo > 0 && l.n == len(l.buf) {
		l.n = copy(l.buf, l.buf[l.lo:l.n])
		l.lo = 0
	}
	if l.n == len(l.buf) {
		l.buf = append(l.buf, make([]byte, len(l.buf))...)
	}
	for range 100 { // as many empty reads as bufio bears
		k, err := l.r.Read(l.buf[l.n:])
		if k < 0 || k > len(l.buf)-l.n {
			l.err = errors.New("reader returned an impossible count")
			return
		}
		if l.left -= int64(k); l.left < 0 {
			l.err = fmt.Errorf("larger than %d bytes, the limit for a file; raise the limit if this is a spectrum", l.max)
			return
		}
		l.n += k
		if err != nil {
			l.err = err
			return
		}
		if k > 0 {
			return
		}
	}
	l.err = io.ErrNoProgress
}

// next returns the next line without its break, valid until the next call; io.EOF after the last;
// errLong once for a line that is too long.
func (l *lines) next() ([]byte, error) {
	seen := 0
	for {
		if i := bytes.IndexByte(l.buf[l.lo+seen:l.n], '\n'); i >= 0 {
			line := l.buf[l.lo : l.lo+seen+i]
			l.lo += seen + i + 1
			l.no++
			l.whole = true
			return trimReturn(line), nil
		}
		seen = l.n - l.lo
		if l.err != nil {
			return l.last()
		}
		if seen >= maxLine {
			return nil, l.drop()
		}
		l.fill()
	}
}

// passed says that the caller has taken the next line, of k bytes with its break, from the buffer
// itself.
func (l *lines) passed(k int) {
	l.lo += k
	l.no++
	l.whole = true
}

// last gives out what stands after the last line break.
func (l *lines) last() ([]byte, error) {
	line := l.buf[l.lo:l.n]
	if l.err != io.EOF || len(line) == 0 {
		return nil, l.err
	}
	l.lo = l.n
	l.no++
	l.whole = false
	return trimReturn(line), nil
}

// drop passes over the rest of a line that is too long.
func (l *lines) drop() error {
	l.no++
	for {
		i := bytes.IndexByte(l.buf[l.lo:l.n], '\n')
		if i >= 0 {
			l.lo += i + 1
			return errLong
		}
		l.lo, l.n = 0, 0
		if l.err != nil {
			return errLong
		}
		l.fill()
	}
}

func trimReturn(b []byte) []byte {
	if len(b) > 0 && b[len(b)-1] == '\r' {
		return b[:len(b)-1]
	}
	return b
}

// keep returns the buffer for the next file, unless this one made it large.
func (l *lines) keep() []byte {
	if cap(l.buf) > 1<<20 {
		return nil
	}
	return l.buf
}
