package config

import (
	"fmt"
	"strings"
)

// keyLines returns the line on which each key and table of the TOML text stands, by its path in lower case:
// "line[0].spectra.axis". The text is one that the TOML library has read, so only its grammar's shape is followed: what
// is a key, what is a value, where a value ends. The library keeps one position for all tables of an array, which is
// why this stands here.
func keyLines(text string) map[string]int {
	s := &lineScanner{text: text, line: 1, lines: map[string]int{}, counts: map[string]int{}}
	var prefix string
	for s.skipBlank(); s.pos < len(s.text); s.skipBlank() {
		at := s.line
		if s.peek() == '[' {
			prefix = s.header()
			s.note(prefix, at)
			continue
		}
		before := s.pos
		path := join(prefix, s.key())
		s.note(path, at)
		s.value()
		if s.pos == before { // text that is no TOML must not hold the scanner up
			s.pos++
		}
	}
	return s.lines
}

type lineScanner struct {
	text   string
	pos    int
	line   int
	lines  map[string]int
	counts map[string]int // how many tables of an array there are so far
}

func join(prefix, key string) string {
	if prefix == "" {
		return key
	}
	return prefix + "." + key
}

// note keeps the first line of a path and of the tables that a dotted key makes.
func (s *lineScanner) note(path string, line int) {
	for path = strings.ToLower(path); path != ""; path = path[:max(strings.LastIndexByte(path, '.'), 0)] {
		if _, ok := s.lines[path]; ok {
			return
		}
		s.lines[path] = line
	}
}

func (s *lineScanner) peek() byte {
	if s.pos < len(s.text) {
		return s.text[s.pos]
	}
	return 0
}

// step goes one byte on and counts lines.
func (s *lineScanner) step() {
	if s.peek() == '\n' {
		s.line++
	}
	if s.pos < len(s.text) {
		s.pos++
	}
}

// skipBlank goes to the next key or header, over spaces, line ends and comments.
func (s *lineScanner) skipBlank() {
	for s.pos < len(s.text) {
		switch s.peek() {
		case ' ', '\t', '\r', '\n', ',':
			s.step()
		case '#':
			s.toLineEnd()
		default:
			return
		}
	}
}

func (s *lineScanner) toLineEnd() {
	for s.pos < len(s.text) && s.peek() != '\n' {
		s.pos++
	}
}

// header reads [a.b] or [[a.b]] and returns its path, with the number of the table for each array on the way.
func (s *lineScanner) header() string {
	array := strings.HasPrefix(s.text[s.pos:], "[[")
	for s.peek() == '[' {
		s.step()
	}
	parts := s.keyParts("]")
	s.toLineEnd()
	path := ""
	for i, part := range parts {
		path = join(path, part)
		name := strings.ToLower(path)
		if array && i == len(parts)-1 {
			s.counts[name]++
			s.note(path, s.line) // for who took the array for a table
		}
		if n := s.counts[name]; n > 0 {
			path = fmt.Sprintf("%s[%d]", path, n-1)
		}
	}
	return path
}

// key reads a key up to its equals sign.
func (s *lineScanner) key() string { return strings.Join(s.keyParts("="), ".") }

func (s *lineScanner) keyParts(end string) []string {
	var parts []string
	var b strings.Builder
	for s.pos < len(s.text) && s.peek() != '\n' {
		switch c := s.peek(); {
		case strings.IndexByte(end, c) >= 0:
			s.step()
			return append(parts, b.String())
		case c == '.':
			parts = append(parts, b.String())
			b.Reset()
			s.step()
		case c == '"' || c == '\'':
			from := s.pos + 1
			s.quoted()
			b.WriteString(s.text[from:max(from, min(s.pos-1, len(s.text)))])
		case c == ' ' || c == '\t':
			s.step()
		default:
			b.WriteByte(c)
			s.step()
		}
	}
	return append(parts, b.String())
}

// quoted goes over a string of any of TOML's four kinds.
func (s *lineScanner) quoted() {
	mark := s.peek()
	end := strings.Repeat(string(mark), 3)
	if !strings.HasPrefix(s.text[s.pos:], end) {
		end = string(mark)
	}
	s.pos += len(end)
	for s.pos < len(s.text) && !strings.HasPrefix(s.text[s.pos:], end) {
		if mark == '"' && s.peek() == '\\' {
			s.step()
		}
		s.step()
	}
	s.pos = min(s.pos+len(end), len(s.text))
	for len(end) == 3 && s.peek() == mark { // up to two more quotes may end a long string
		s.pos++
	}
}

// value goes over a value to the end of its last line.
func (s *lineScanner) value() {
	depth := 0
	for s.pos < len(s.text) {
		switch s.peek() {
		case '"', '\'':
			s.quoted()
			continue
		case '#':
			s.toLineEnd()
			continue
		case '[', '{':
			depth++
		case ']', '}':
			depth--
		case '\n':
			if depth <= 0 {
				return
			}
		}
		s.step()
	}
}
