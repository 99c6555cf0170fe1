package mqtt

import (
	"bufio"
	"bytes"
	"errors"
	"io"
	"strings"
	"testing"
)

// MQTT Version 5.0 (OASIS Standard, 2019), §1.5.5, table 1-1: the smallest and the largest values of each length.
func TestVariableByteIntegers(t *testing.T) {
	for _, c := range []struct {
		n    int
		want []byte
	}{
		{0, []byte{0x00}}, {127, []byte{0x7f}},
		{128, []byte{0x80, 0x01}}, {16_383, []byte{0xff, 0x7f}},
		{16_384, []byte{0x80, 0x80, 0x01}}, {2_097_151, []byte{0xff, 0xff, 0x7f}},
		{2_097_152, []byte{0x80, 0x80, 0x80, 0x01}}, {268_435_455, []byte{0xff, 0xff, 0xff, 0x7f}},
	} {
		if got := appendVar(nil, c.n); !bytes.Equal(got, c.want) {
			t.Errorf("appendVar(%d) = % x, want % x", c.n, got, c.want)
		}
		if got, err := readVar(bytes.NewReader(c.want)); err != nil || got != c.n {
			t.Errorf("readVar(% x) = %d, %v, want %d", c.want, got, err, c.n)
		}
	}
	if _, err := readVar(bytes.NewReader([]byte{0x80, 0x80, 0x80, 0x80, 0x01})); !errors.Is(err, ErrMalformed) {
		t.Errorf("readVar of five bytes = %v, want %v", err, ErrMalformed)
	}
}

// §1.5.4, figure 1.2: the string A𪛔.
func TestStrings(t *testing.T) {
	if got, want := appendBytes(nil, "A\U0002A6D4"), []byte{0x00, 0x05, 0x41, 0xf0, 0xaa, 0x9b, 0x94}; !bytes.Equal(got, want) {
		t.Errorf("appendBytes = % x, want % x", got, want)
	}
	for _, s := range []string{"\xff", "a\x00b", strings.Repeat("x", 65_536)} {
		if err := checkText("topic", s); err == nil {
			t.Errorf("checkText(%.10q) = nil, want an error", s)
		}
	}
}

// §3.1: the fixed header, the name and version of the protocol (figures 3-2 and 3-3), flags (3-4), keep alive, properties, payload in
// its order: client, will, user, password. The bytes were put together by hand from those figures.
func TestConnectPacket(t *testing.T) {
	opt := Options{Client: "c", User: "u", Password: "p", KeepAlive: 10e9, Will: &Message{Topic: "w", Payload: []byte("x"), Retain: true}}
	got, err := opt.hello()
	if err != nil {
		t.Fatal(err)
	}
	want := []byte{0x10, 32, 0, 4, 'M', 'Q', 'T', 'T', 5, 0b1110_1110, 0, 10, 5, 0x27, 0, 1, 0, 0,
		0, 1, 'c', 0, 0, 1, 'w', 0, 1, 'x', 0, 1, 'u', 0, 1, 'p'}
	if !bytes.Equal(got, want) {
		t.Errorf("hello = % x, want % x", got, want)
	}
	for _, o := range []Options{{Client: "\xff"}, {User: "a\x00"}, {Password: strings.Repeat("x", 70_000)}, {Will: &Message{}},
		{Will: &Message{Topic: "a/#"}}, {Will: &Message{Topic: "a", Payload: make([]byte, 70_000)}}} {
		if _, err := o.hello(); err == nil {
			t.Errorf("hello of %+.60v = nil, want an error", o)
		}
	}
}

func TestAnswers(t *testing.T) {
	for _, c := range []struct {
		name string
		in   []byte
		want Reason
		said string
	}{
		{"connection accepted, with every property of §3.2.2.3", []byte{0x20, 65, 0, 0, 62, 0x11, 0, 0, 0, 9, 0x21, 0, 20, 0x24, 1, 0x25, 1, 0x27, 0, 1, 0, 0,
			0x12, 0, 2, 'i', 'd', 0x22, 0, 3, 0x1f, 0, 2, 'h', 'i', 0x26, 0, 1, 'k', 0, 1, 'v', 0x28, 1, 0x29, 1, 0x2a, 1, 0x13, 0, 7,
			0x1a, 0, 1, 'r', 0x1c, 0, 1, 's', 0x15, 0, 1, 'm', 0x16, 0, 1, 'd'}, 0, "hi"},
		{"connection refused", []byte{0x20, 3, 0, 0x87, 0}, 0x87, ""},
		{"taken, the short form of §3.4.2.1", []byte{0x40, 2, 0, 7}, 0, ""},
		{"taken without subscribers", []byte{0x40, 3, 0, 7, 0x10}, 0x10, ""},
		{"refused with a text", []byte{0x40, 9, 0, 7, 0x97, 5, 0x1f, 0, 2, 'n', 'o'}, 0x97, "no"},
		{"goodbye, the short form of §3.14.2.1", []byte{0xe0, 0}, 0, ""},
		{"goodbye with a reason", []byte{0xe0, 2, 0x8b, 0}, 0x8b, ""},
	} {
		p, err := read(bufio.NewReader(bytes.NewReader(c.in)))
		if err != nil {
			t.Errorf("%s: read = %v, want nil", c.name, err)
			continue
		}
		a, err := p.answer()
		if err != nil || a.reason != c.want || a.properties.reason != c.said {
			t.Errorf("%s: answer = %v %q, %v, want %v %q", c.name, a.reason, a.properties.reason, err, c.want, c.said)
		}
		if p.kind == connack && c.want == 0 && (a.receiveMaximum != 20 || a.maximumQoS != 1 || a.maximumPacket != 65_536 || a.keepAlive != 7) {
			t.Errorf("%s: answer = %+v, want 20, 1, 65536, 7", c.name, a)
		}
	}
}

func TestDamagedPackets(t *testing.T) {
	for name, in := range map[string][]byte{
		"too large": {0x20, 0xff, 0xff, 0x7f}, "no such property": {0x20, 4, 0, 0, 1, 0x7e}, "a property cut off": {0x20, 5, 0, 0, 2, 0x21, 0},
		"properties longer than the packet": {0x20, 3, 0, 0, 9}, "bytes behind": {0x20, 4, 0, 0, 0, 0}, "empty": {0x20, 0}, "half an id": {0x40, 1, 0},
		"a subscription": {0x90, 0},
	} {
		p, err := read(bufio.NewReader(bytes.NewReader(in)))
		if err == nil {
			_, err = p.answer()
		}
		if !errors.Is(err, ErrMalformed) {
			t.Errorf("%s: % x = %v, want %v", name, in, err, ErrMalformed)
		}
	}
	for _, in := range [][]byte{{0x20}, {0x20, 3, 0}, {0x20, 0x80}} {
		if _, err := read(bufio.NewReader(bytes.NewReader(in))); !errors.Is(err, io.ErrUnexpectedEOF) {
			t.Errorf("read(% x) = %v, want %v", in, err, io.ErrUnexpectedEOF)
		}
	}
}

func FuzzPacket(f *testing.F) {
	for _, in := range [][]byte{{0x20, 3, 0, 0, 0}, {0x40, 9, 0, 7, 0x97, 5, 0x1f, 0, 2, 'n', 'o'}, {0xe0, 0}, {0xd0, 0}, {0x20, 4, 0, 0, 1, 0x7e}} {
		f.Add(in)
	}
	f.Fuzz(func(t *testing.T, in []byte) {
		p, err := read(bufio.NewReader(bytes.NewReader(in)))
		if err != nil {
			return
		}
		if _, err := p.answer(); err != nil && !errors.Is(err, ErrMalformed) {
			t.Errorf("answer(% x) = %v, want %v", in, err, ErrMalformed)
		}
		whole, err := frame(p.kind, p.flags, p.body)
		if err != nil {
			t.Fatal(err)
		}
		back, err := read(bufio.NewReader(bytes.NewReader(whole)))
		if err != nil || back.kind != p.kind || back.flags != p.flags || !bytes.Equal(back.body, p.body) {
			t.Errorf("read(frame(% x)) = %+v, %v, want the same", in, back, err)
		}
	})
}
