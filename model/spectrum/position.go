package spectrum

import (
	"bytes"
	"strings"
)

// A heading is a column's name that says a position on the axis.
type heading struct {
	at   float64
	unit Unit // UnknownUnit if it only says a number
}

// headingPrefixes may stand before the number of a heading: X, as R's data frames write it, or a
// unit or a word for it. Other words do not make a position of a name such as "sample 1".
var headingPrefixes = map[string]Unit{
	"": UnknownUnit, "x": UnknownUnit, "nm": Nanometre, "wl": UnknownUnit, "wavelength": UnknownUnit,
	"um": Micrometre, "cm-1": ReciprocalCentimetre, "wavenumber": ReciprocalCentimetre,
	"channel": Channel, "ch": Channel, "pixel": Channel, "px": Channel,
}

// parseHeading reads a heading such as 1100, X1100, "1100 nm", 9090.9cm-1 or channel_12.
func parseHeading(b []byte, mark byte) (h heading, ok bool) {
	if v, n := number(b, mark); n > 0 && n == len(b) {
		return heading{v, UnknownUnit}, finite(v)
	}
	b = bytes.TrimSpace(b)
	if len(b) > 64 { // no heading is that long
		return h, false
	}
	i := bytes.IndexAny(b, "0123456789")
	// The prefix cm-1 holds a digit of its own.
	if bytes.HasPrefix(bytes.ToLower(b), []byte("cm-1")) && len(b) > 4 {
		if k := bytes.IndexAny(b[4:], "0123456789"); k >= 0 {
			i = 4 + k
		}
	}
	if i < 0 {
		return h, false
	}
	if i > 0 && (b[i-1] == '+' || b[i-1] == mark) {
		i--
	}
	prefix, known := headingPrefixes[strings.ToLower(strings.TrimRight(string(b[:i]), " _.:"))]
	if !known {
		return h, false
	}
	v, n := number(b[i:], mark)
	if n == 0 || !finite(v) {
		return h, false
	}
	h = heading{v, prefix}
	rest := strings.Trim(string(b[i+n:]), " _()[]")
	if rest == "" {
		return h, true
	}
	u, err := ParseUnit(rest)
	if err != nil || h.unit != UnknownUnit {
		return h, false
	}
	h.unit = u
	return h, true
}
