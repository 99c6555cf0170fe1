package mqtt

import (
	"bufio"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"unicode/utf8"
)

// Kinds of packets that a publisher sends or receives, §2.1.2.
const (
	connect    = 1
	connack    = 2
	publish    = 3
	puback     = 4
	pingreq    = 12
	pingresp   = 13
	disconnect = 14
)

// maxPacket is the largest packet taken from a broker: those that a publisher gets are short. The broker is told.
const maxPacket = 64 << 10

// Errors of the form of what is sent or received.
var (
	ErrMalformed = errors.New("malformed packet") // what the broker sent is not MQTT 5
	ErrTooLong   = errors.New("too long")         // for the field or the packet that it is to stand in
)

// maxVar is the largest value of a variable byte integer, §1.5.5.
const maxVar = 268_435_455

// appendVar appends a variable byte integer: seven bits a byte, the lowest first.
func appendVar(b []byte, n int) []byte {
	for n > 127 {
		b = append(b, byte(n)|0x80)
		n >>= 7
	}
	return append(b, byte(n))
}

// readVar reads a variable byte integer of at most four bytes.
func readVar(r io.ByteReader) (int, error) {
	n := 0
	for shift := 0; shift < 28; shift += 7 {
		c, err := r.ReadByte()
		if err != nil {
			return 0, err
		}
		n |= int(c&0x7f) << shift
		if c < 0x80 {
			return n, nil
		}
	}
	return 0, fmt.Errorf("%w: a length of more than four bytes", ErrMalformed)
}

// appendBytes appends binary data or a string with its length, §1.5.4 and §1.5.6.
func appendBytes(b []byte, s string) []byte {
	return append(binary.BigEndian.AppendUint16(b, uint16(len(s))), s...)
}

// checkText reports whether s may stand as a UTF-8 encoded string.
func checkText(what, s string) error {
	if len(s) > 65_535 {
		return fmt.Errorf("%s of %d bytes: %w, at most 65,535", what, len(s), ErrTooLong)
	}
	if !utf8.ValidString(s) {
		return fmt.Errorf("%s is not UTF-8", what)
	}
	for _, r := range s {
		if r == 0 {
			return fmt.Errorf("%s holds a zero character", what)
		}
	}
	return nil
}

// frame puts the fixed header in front of what follows it.
func frame(kind, flags byte, body []byte) ([]byte, error) {
	if len(body) > maxVar {
		return nil, fmt.Errorf("packet of %d bytes: %w", len(body), ErrTooLong)
	}
	return append(appendVar([]byte{kind<<4 | flags}, len(body)), body...), nil
}

// A packet is one that was received.
type packet struct {
	kind  byte
	flags byte
	body  []byte
}

// read reads one packet.
func read(r *bufio.Reader) (packet, error) {
	first, err := r.ReadByte()
	if err != nil {
		return packet{}, err
	}
	n, err := readVar(r)
	if err != nil {
		return packet{}, unexpected(err)
	}
	if n > maxPacket {
		return packet{}, fmt.Errorf("%w: %d bytes, the broker was told of at most %d", ErrMalformed, n, maxPacket)
	}
	p := packet{first >> 4, first & 0x0f, make([]byte, n)}
	_, err = io.ReadFull(r, p.body)
	return p, unexpected(err)
}

func unexpected(err error) error {
	if errors.Is(err, io.EOF) {
		return io.ErrUnexpectedEOF
	}
	return err
}

// properties are what of the properties of a packet says something to a publisher, §2.2.2.2.
type properties struct {
	receiveMaximum uint16 // 0 where it is not said
	maximumQoS     byte
	retain         bool
	maximumPacket  uint32 // 0 for no limit
	keepAlive      int    // s, −1 where it is not said
	reason         string
}

// fields takes parts off the front of a packet's body. The first trouble stays.
type fields struct {
	b   []byte
	err error
}

func (f *fields) take(n int) []byte {
	if f.err != nil || n > len(f.b) {
		if f.err == nil {
			f.err = fmt.Errorf("%w: %d bytes where %d are needed", ErrMalformed, len(f.b), n)
		}
		return make([]byte, min(n, 4))
	}
	part := f.b[:n]
	f.b = f.b[n:]
	return part
}

func (f *fields) byte() byte     { return f.take(1)[0] }
func (f *fields) two() uint16    { return binary.BigEndian.Uint16(f.take(2)) }
func (f *fields) four() uint32   { return binary.BigEndian.Uint32(f.take(4)) }
func (f *fields) string() string { return string(f.bytes()) }

func (f *fields) bytes() []byte {
	n := int(f.two())
	if f.err != nil {
		return nil
	}
	b := f.take(n)
	if f.err != nil {
		return nil
	}
	return b
}

// ReadByte is for readVar.
func (f *fields) ReadByte() (byte, error) {
	b := f.byte()
	return b, f.err
}

// properties reads the properties of a packet. One that is not known cannot be skipped, for its length is not known either.
func (f *fields) properties() properties {
	p := properties{maximumQoS: 2, retain: true, keepAlive: -1}
	n, err := readVar(f)
	if err != nil && f.err == nil {
		f.err = err
	}
	in := fields{b: f.take(n)}
	if f.err != nil {
		return p
	}
	for len(in.b) > 0 && in.err == nil {
		switch id := in.byte(); id {
		case 0x21:
			p.receiveMaximum = in.two()
		case 0x24:
			p.maximumQoS = in.byte()
		case 0x25:
			p.retain = in.byte() != 0
		case 0x27:
			p.maximumPacket = in.four()
		case 0x13:
			p.keepAlive = int(in.two())
		case 0x1f:
			p.reason = in.string()
		case 0x26: // user property, a pair
			in.bytes()
			in.bytes()
		case 0x12, 0x16, 0x1a, 0x1c, 0x15: // assigned name, authentication data, response information, server reference, method
			in.bytes()
		case 0x11: // session expiry
			in.take(4)
		case 0x22: // topic alias maximum
			in.take(2)
		case 0x28, 0x29, 0x2a: // wildcard, subscription identifier, shared subscription
			in.take(1)
		default:
			in.err = fmt.Errorf("%w: property 0x%02x", ErrMalformed, id)
		}
	}
	f.err = in.err
	return p
}

// An answer is a reason code with what the broker says to it, of CONNACK, PUBACK or DISCONNECT.
type answer struct {
	id     uint16 // of the packet that a PUBACK is about
	reason Reason
	properties
}

// answer reads the body of an answer. Where it ends early the rest has its defaults, §3.4.2.1 and §3.14.2.1.
func (p packet) answer() (a answer, err error) {
	f := fields{b: p.body}
	a.properties = properties{maximumQoS: 2, retain: true, keepAlive: -1}
	switch p.kind {
	case connack:
		f.byte() // whether there is a session: none is kept
		a.reason = Reason(f.byte())
		a.properties = f.properties()
	case puback:
		a.id = f.two()
		fallthrough
	case disconnect:
		if len(f.b) > 0 {
			a.reason = Reason(f.byte())
		}
		if len(f.b) > 0 {
			a.properties = f.properties()
		}
	default:
		return a, fmt.Errorf("%w: kind %d, which a publisher does not get", ErrMalformed, p.kind)
	}
	if f.err == nil && len(f.b) > 0 {
		f.err = fmt.Errorf("%w: %d bytes too many", ErrMalformed, len(f.b))
	}
	return a, f.err
}
