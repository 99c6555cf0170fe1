package tag

import (
	"bytes"
	"encoding/base64"
	"fmt"
	"slices"
	"strings"
)

type attribute struct {
	name, value string
	bare        bool // it has no value
}

// Attr is an attribute. One that holds an address, a style or a script is not made from a text.
func Attr(name constant, value string) Part {
	if small := strings.ToLower(string(name)); !named(name) || strings.HasPrefix(small, "on") || slices.Contains(active, small) {
		panic("tag: Attr(" + string(name) + "), which is more than a text")
	}
	return attribute{name: string(name), value: value}
}

// active are the attributes that lead somewhere, load something or hold a style (HTML Living Standard, index of attributes). Those
// that run something begin with "on".
var active = []string{"action", "background", "cite", "content", "data", "formaction", "href", "http-equiv", "imagesrcset", "ping", "poster", "src", "srcdoc", "srcset",
	"style", "target"}

// Class says by which rules of the style an element is shown.
func Class(name string) Part { return Attr("class", name) }

// Label says what an element is to those who do not see it.
func Label(text string) Part { return Attr("aria-label", text) }

// Flag is an attribute without a value.
func Flag(name constant) Part {
	a := Attr(name, "").(attribute)
	a.bare = true
	return a
}

// Href leads to an address.
func Href(to URL) Part { return attribute{name: "href", value: to.address} }

// Src loads from an address.
func Src(from URL) Part { return attribute{name: "src", value: from.address} }

// SrcSet loads from an address that neither begins nor ends with a comma and has no blank, on screens that its element is for.
func SrcSet(from URL) Part { return attribute{name: "srcset", value: from.address} }

// Refresh has the browser go on to an address at once: the attributes of a meta element.
func Refresh(to URL) Part {
	return Parts{attribute{name: "http-equiv", value: "refresh"}, attribute{name: "content", value: "0; url=" + to.address}}
}

func (attribute) content(*bytes.Buffer) {}
func (a attribute) attributes(b *bytes.Buffer) {
	b.WriteByte(' ')
	b.WriteString(a.name)
	if a.bare {
		return
	}
	b.WriteString(`="`)
	escaper().WriteString(b, a.value)
	b.WriteByte('"')
}

// A URL is an address that runs nothing. The zero value is the page itself.
type URL struct{ address string }

// Nowhere stands for an address that is not taken.
var Nowhere = URL{"#refused"}

// To checks an address: it is relative, or of http or https; of any other scheme, such as javascript, it is Nowhere. What cannot stand
// in an address is written with percent signs, what is so already stays (RFC 3986, 2.1).
func To(address string) URL {
	if scheme, _, ok := strings.Cut(address, ":"); ok && !strings.Contains(scheme, "/") &&
		!strings.EqualFold(scheme, "http") && !strings.EqualFold(scheme, "https") {
		return Nowhere
	}
	return URL{percent(address, reserved)}
}

// Within leads to the element of that id, on the same page.
func Within(id string) URL { return URL{"#" + percent(id, "")} }

// PNG is a picture that lies in its address.
func PNG(picture []byte) URL {
	return URL{"data:image/png;base64," + base64.StdEncoding.EncodeToString(picture)}
}

const (
	unreserved = "-._~"             // beside letters and digits (RFC 3986, 2.3)
	reserved   = "!#$&*+,/:;=?@[]%" // have a meaning in an address; without ' ( ), which style sheets take for their own
)

// percent writes what is neither unreserved nor in keep with percent signs. A percent sign that is kept begins two digits.
func percent(s, keep string) string {
	var b strings.Builder
	for i := range len(s) {
		c := s[i]
		switch {
		case c >= 'a' && c <= 'z', c >= 'A' && c <= 'Z', c >= '0' && c <= '9', strings.IndexByte(unreserved, c) >= 0,
			strings.IndexByte(keep, c) >= 0 && (c != '%' || i+2 < len(s) && isHex(s[i+1]) && isHex(s[i+2])):
			b.WriteByte(c)
		default:
			fmt.Fprintf(&b, "%%%02x", c)
		}
	}
	return b.String()
}

func isHex(c byte) bool { return strings.IndexByte("0123456789abcdefABCDEF", c) >= 0 }
