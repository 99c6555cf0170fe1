package monitor

import (
	"bytes"
	"crypto/sha256"
	"errors"
	"fmt"
	"hash"
	"io"
	"slices"
	"time"

	"asusual/model/spectrum"
	"asusual/monitor/history"
)

// A content is the text of a file, as far as it is complete.
type content struct {
	at     *source
	size   int64 // of the file
	whole  int64 // bytes up to the end of the last whole row
	table  bool
	digest history.Digest // of the first whole bytes
	before history.Digest // of the first prev.Bytes bytes, where there are as many
}

// A source is where a file is read from. It remembers an error of the disk or the share, which no format is to blame for.
type source struct {
	io.ReaderAt
	err error
}

func (s *source) ReadAt(p []byte, off int64) (int, error) {
	n, err := s.ReaderAt.ReadAt(p, off)
	if err != nil && !errors.Is(err, io.EOF) {
		s.err = err
	}
	return n, err
}

// smallFile is the size up to which a file is read at once, into a buffer that is used again.
const smallFile = 4 << 20

// headSize is how much of a file is looked at to tell a table from other formats.
const headSize = 64 << 10

// load reads a small file at once.
func (w *worker) load(at io.ReaderAt, size int64) (io.ReaderAt, error) {
	w.buf = slices.Grow(w.buf[:0], int(size))[:size]
	if n, err := at.ReadAt(w.buf, 0); n < int(size) {
		return nil, fmt.Errorf("%d of %d bytes could be read: %w", n, size, err)
	}
	return bytes.NewReader(w.buf), nil
}

// content finds how much of the file is complete, and its digests.
func (w *worker) content(at io.ReaderAt, size int64) (content, error) {
	c := content{at: &source{ReaderAt: at}, size: size, whole: size}
	head := w.buf[:min(len(w.buf), headSize)]
	if size > smallFile {
		head = make([]byte, headSize)
		if _, err := at.ReadAt(head, 0); err != nil {
			return content{}, err
		}
	}
	format, err := spectrum.Sniff(head)
	c.table = err == nil && format == spectrum.Table
	if w.job.file.Growing && !c.table {
		return c, nil // it is not read yet
	}
	if c.table && !w.restCounts() {
		if c.whole, err = lastLineEnd(at, size); err != nil {
			return content{}, err
		}
	}
	return c, w.digests(&c)
}

// restCounts reports whether a last row without a line end is taken as whole.
func (w *worker) restCounts() bool {
	return w.all || w.job.file.Quiet || !w.job.file.Growing && time.Since(w.job.file.Modified) > w.line.Quiet
}

// digests fills in the digests, in one go over the file.
func (w *worker) digests(c *content) error {
	h := sha256.New()
	known := int64(0)
	if w.prev.ID != 0 && w.prev.Bytes <= c.whole {
		known = w.prev.Bytes
		if err := w.hash(h, c, 0, known); err != nil {
			return err
		}
		c.before = sum(h)
	}
	if err := w.hash(h, c, known, c.whole); err != nil {
		return err
	}
	c.digest = sum(h)
	return nil
}

// hash adds the bytes from one place to another.
func (w *worker) hash(h hash.Hash, c *content, from, to int64) error {
	if c.size <= smallFile {
		h.Write(w.buf[from:to])
		return nil
	}
	_, err := io.Copy(h, io.NewSectionReader(c.at, from, to-from))
	return err
}

func sum(h hash.Hash) (d history.Digest) {
	var b [sha256.Size]byte
	copy(d[:], h.Sum(b[:0]))
	return d
}

// lastLineEnd returns how many bytes there are up to and with the last line end.
func lastLineEnd(at io.ReaderAt, size int64) (int64, error) {
	buf := make([]byte, min(size, 64<<10))
	for end := size; end > 0; {
		n := min(end, int64(len(buf)))
		if _, err := at.ReadAt(buf[:n], end-n); err != nil && !errors.Is(err, io.EOF) {
			return 0, err
		}
		if i := bytes.LastIndexByte(buf[:n], '\n'); i >= 0 {
			return end - n + int64(i) + 1, nil
		}
		end -= n
	}
	return 0, nil
}
