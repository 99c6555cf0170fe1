package spectrum

import (
	"bufio"
	"compress/gzip"
	"fmt"
	"io"
)

// Open returns a reader of what a file holds, unpacked if it begins as gzip does, whatever its
// name. max limits the unpacked size; 0 is 1 GiB. Beyond it, and where the packed data are damaged,
// the reader gives an *Unreadable that names the file.
func Open(r io.Reader, name string, max int64) (io.Reader, error) {
	b := bufio.NewReaderSize(r, 16) // the smallest there is: it only serves to look at the beginning
	magic, err := b.Peek(2)
	if err != nil && err != io.EOF {
		return nil, &Unreadable{File: name, Reason: "reading it: " + err.Error(), Err: err}
	}
	if string(magic) != "\x1f\x8b" {
		return b, nil
	}
	z, err := gzip.NewReader(bufio.NewReader(b))
	if err != nil {
		return nil, &Unreadable{File: name, Reason: "it begins as gzip does, but " + err.Error(), Err: err}
	}
	if max <= 0 {
		max = maxBytes
	}
	return &unpacked{z, name, max, max}, nil
}

// unpacked reads packed data up to a limit.
type unpacked struct {
	r         io.Reader
	name      string
	left, max int64
}

func (u *unpacked) Read(p []byte) (int, error) {
	if u.left < 0 {
		return 0, u.tooLarge()
	}
	// One byte more than allowed tells a file of just that size from a larger one.
	if int64(len(p)) > u.left+1 {
		p = p[:u.left+1]
	}
	n, err := u.r.Read(p)
	if u.left -= int64(n); u.left < 0 {
		return n - 1, u.tooLarge()
	}
	if err != nil && err != io.EOF {
		err = &Unreadable{File: u.name, Reason: "unpacking it: " + err.Error() + "; is it still being written, or damaged?", Err: err}
	}
	return n, err
}

func (u *unpacked) tooLarge() error {
	return &Unreadable{File: u.name, Reason: fmt.Sprintf("it unpacks to more than %d bytes, the limit for a file", u.max)}
}
