package spectrum

import (
	"bytes"
	"compress/gzip"
	"errors"
	"io"
	"strings"
	"testing"
	"testing/iotest"
)

func packed(t testing.TB, parts ...string) []byte {
	t.Helper()
	var b bytes.Buffer
	for _, p := range parts {
		z := gzip.NewWriter(&b)
		if _, err := z.Write([]byte(p)); err != nil {
			t.Fatal(err)
		}
		if err := z.Close(); err != nil {
			t.Fatal(err)
		}
	}
	return b.Bytes()
}

func TestOpen(t *testing.T) {
	text := twoColumnsText(50)
	for _, tt := range []struct {
		name string
		data []byte
		want string
	}{
		{"plain", []byte(text), text}, {"packed", packed(t, text), text}, {"packed in parts", packed(t, text[:9], text[9:]), text},
		{"empty", nil, ""}, {"one byte", []byte("9"), "9"}, {"empty, packed", packed(t, ""), ""},
	} {
		r, err := Open(bytes.NewReader(tt.data), "oat.csv.gz", int64(len(tt.want))+1)
		if err != nil {
			t.Errorf("%s: Open: %v", tt.name, err)
			continue
		}
		if got, err := io.ReadAll(r); err != nil || string(got) != tt.want {
			t.Errorf("%s: Open gives %d bytes, %v; want %d", tt.name, len(got), err, len(tt.want))
		}
	}
	r, err := Open(bytes.NewReader(packed(t, text)), "oat.csv.gz", int64(len(text)))
	if err != nil {
		t.Fatal(err)
	}
	if got, err := io.ReadAll(r); err != nil || string(got) != text {
		t.Errorf("a file of just the limit = %d bytes, %v; want all", len(got), err)
	}
}

// TestOpenRefused asserts that damage, and a small file that unpacks to a huge one, become reasons of Read.
func TestOpenRefused(t *testing.T) {
	text := twoColumnsText(5000)
	good := packed(t, text)
	flipped := bytes.Clone(good)
	flipped[len(flipped)-6] ^= 1 // the checksum
	for _, tt := range []struct {
		name string
		data []byte
		max  int64
		want string
	}{
		{"limit", good, 1000, "oat.csv.gz: it unpacks to more than 1000 bytes"},
		{"bomb", packed(t, "900,0.5\n901,0.5\n"+strings.Repeat("\n", 4<<20)), 1 << 20, "oat.csv.gz: it unpacks to more than 1048576 bytes"},
		{"cut off", good[:len(good)/2], 0, "oat.csv.gz: unpacking it: unexpected EOF; is it still being written, or damaged?"},
		{"checksum", flipped, 0, "oat.csv.gz: unpacking it: gzip: invalid checksum"},
		{"two bytes", good[:2], 0, "oat.csv.gz: it begins as gzip does, but"},
	} {
		var err error
		r, err := Open(bytes.NewReader(tt.data), "oat.csv.gz", tt.max)
		if err == nil {
			for _, e := range Read(r, Source{Name: "oat.csv.gz"}, Options{}) {
				err = e
			}
		}
		var u *Unreadable
		if !errors.As(err, &u) || !strings.HasPrefix(err.Error(), tt.want) {
			t.Errorf("%s: %v, want an Unreadable that begins %q", tt.name, err, tt.want)
		}
	}
	broken := errors.New("the cable is out")
	if _, err := Open(iotest.ErrReader(broken), "oat.csv", 0); !errors.Is(err, broken) {
		t.Errorf("Open of a broken reader = %v, want its error", err)
	}
}
