package tag

import (
	"bytes"
	"slices"
	"strings"
	"sync"
)

// A Part is what an element is made of: attributes, texts and elements. Only this package makes one; nil is none.
type Part interface {
	attributes(b *bytes.Buffer) // writes what stands in the tag of the element that holds the part
	content(b *bytes.Buffer)    // writes what stands between its tags
}

// A constant is a string that stands in the source.
type constant string

// HTML writes parts.
func HTML(parts ...Part) []byte {
	var b bytes.Buffer
	Parts(parts).content(&b)
	return b.Bytes()
}

// Text is what a person reads. It is escaped.
type Text string

func (Text) attributes(*bytes.Buffer)  {}
func (t Text) content(b *bytes.Buffer) { escaper().WriteString(b, string(t)) }

// escaper writes a text so that it stays a text between tags and between quotation marks (HTML Living Standard, 13.1.2.4 and 13.2.5).
// The plus sign is written so that nobody takes the text for UTF-7.
var escaper = sync.OnceValue(func() *strings.Replacer {
	return strings.NewReplacer("\x00", "\uFFFD", `"`, "&#34;", "&", "&amp;", "'", "&#39;", "+", "&#43;", "<", "&lt;", ">", "&gt;")
})

// Parts are several, one after the other.
type Parts []Part

func (ps Parts) attributes(b *bytes.Buffer) {
	for _, p := range ps {
		if p != nil {
			p.attributes(b)
		}
	}
}

func (ps Parts) content(b *bytes.Buffer) {
	for _, p := range ps {
		if p != nil {
			p.content(b)
		}
	}
}

// If returns the parts where the condition holds, and nil where it does not.
func If(holds bool, parts ...Part) Part {
	if !holds {
		return nil
	}
	return Parts(parts)
}

// Each makes a part of everything in a list.
func Each[T any](list []T, part func(T) Part) Parts {
	ps := make(Parts, len(list))
	for i, one := range list {
		ps[i] = part(one)
	}
	return ps
}

// A literal is HTML that stands in the source.
type literal string

// Literal is HTML as it stands.
func Literal(html constant) Part { return literal(html) }

func (literal) attributes(*bytes.Buffer)  {}
func (l literal) content(b *bytes.Buffer) { b.WriteString(string(l)) }

// Lines are parts that stand on a line each. Nil makes none, Lines in Lines are not set apart, and Parts that write nothing are
// an empty line.
type Lines []Part

func (Lines) attributes(*bytes.Buffer) {}
func (ls Lines) content(b *bytes.Buffer) {
	for _, p := range ls {
		if p == nil {
			continue
		}
		p.content(b)
		if _, set := p.(Lines); !set {
			b.WriteByte('\n')
		}
	}
}

type element struct {
	name  string
	parts Parts
}

// El is an element with its attributes and all that it holds, in one line.
func El(name constant, parts ...Part) Part {
	if !named(name) || slices.Contains(running, strings.ToLower(string(name))) {
		panic("tag: El(" + string(name) + "), which may hold more than text")
	}
	return element{string(name), parts}
}

// running are the elements in which a text would run or load something, escaped or not. Script and Style make what is needed of them.
var running = []string{"base", "embed", "iframe", "noembed", "noframes", "object", "plaintext", "script", "style", "template", "textarea", "xmp"}

// named reports whether a name is of letters, digits and hyphens alone.
func named(name constant) bool {
	for i := range len(name) {
		if c := name[i]; !(c >= 'a' && c <= 'z' || c >= 'A' && c <= 'Z' || c >= '0' && c <= '9' || c == '-') {
			return false
		}
	}
	return name != ""
}

// Block is an element that holds lines. Its attributes may be nil.
func Block(name constant, attributes Part, lines ...Part) Part {
	return El(name, attributes, Literal("\n"), Lines(lines))
}

func (element) attributes(*bytes.Buffer) {}
func (e element) content(b *bytes.Buffer) {
	b.WriteByte('<')
	b.WriteString(e.name)
	e.parts.attributes(b)
	if e.name == "path" { // of SVG, which closes what holds nothing
		b.WriteString("/>")
		return
	}
	b.WriteByte('>')
	if slices.Contains(void, e.name) {
		return
	}
	e.parts.content(b)
	b.WriteString("</")
	b.WriteString(e.name)
	b.WriteByte('>')
}

// void are the elements without an end (HTML Living Standard, 13.1.2), of those that pages here have.
var void = []string{"br", "img", "input", "link", "meta", "source"}

// Style is the style of a page, which is not escaped. One that would end its element is left out.
func Style(css string) Part {
	if strings.Contains(strings.ToLower(css), "</style") {
		css = ""
	}
	return Parts{Literal("<style>"), literal(css), Literal("</style>")}
}

// Script is a script at an address of the site, for when the page has been read.
func Script(at URL) Part {
	return element{"script", Parts{Src(at), Flag("defer")}}
}
