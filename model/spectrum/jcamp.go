package spectrum

import (
	"bytes"
	"fmt"
	"io"
	"strings"
)

// A jcamp reads the blocks of a JCAMP-DX file, versions 4 and 5 (McDonald and Wilks, Applied
// Spectroscopy 42, 1988, 151–162; Lampen and others, JCAMP-DX for NMR and 5.01, Pure and Applied
// Chemistry 71, 1999, 1549–1556). A file is one block, from ##TITLE= to ##END=, or a LINK block
// that holds others. A block that contradicts itself is refused: no value is mended.
//
// Note: readers that mend are the usual thing, and on a wrong check they go on with wrong values. A
// spectrum that is watched must not change its shape without a word.
type jcamp struct {
	rd    *Reader
	stack []*block
	rows  int  // data blocks so far
	many  bool // the file has a LINK block, or more than one block

	// The first block outside a LINK is held back until it is known whether it is one of many.
	held     bool
	first    Spectrum
	firstBad *Unreadable
}

// A block is what stands between ##TITLE= and ##END=.
type block struct {
	line   int            // of its title
	labels map[string]ldr // those that are used
	link   bool
	blocks int // inside a LINK block

	data    dataForm
	closed  bool // another label ended the data
	y       ordinates
	pairs   []float64 // X, Y, X, Y …
	place   float64   // one unit in the last place of the coarsest X
	grid    grid
	bad     string // the first trouble
	badLine int
}

// An ldr is a labelled data record.
type ldr struct {
	value string
	line  int
}

// dataForm says how the data lines of a block are written.
type dataForm uint8

const (
	noData   dataForm = iota
	stepped           // (X++(Y..Y))
	paired            // (XY..XY)
	skipping          // a table that is not read
)

// usedLabels are the labels whose values are kept, as labelName writes them.
var usedLabels = map[string]bool{
	"TITLE": true, "JCAMPDX": true, "DATATYPE": true, "DATACLASS": true, "BLOCKS": true, "XUNITS": true, "YUNITS": true,
	"XFACTOR": true, "YFACTOR": true, "FIRSTX": true, "LASTX": true, "FIRSTY": true, "NPOINTS": true, "DELTAX": true,
	"LONGDATE": true, "DATE": true, "TIME": true, "$RUN": true, "$EXPOSURE": true, "$INTEGRATIONTIME": true,
}

// labelName returns a label without what the standard says does not count: case, blanks and - / _ .
func labelName(b []byte) string {
	return strings.Map(func(r rune) rune {
		if strings.ContainsRune(" \t-/_", r) {
			return -1
		}
		return r
	}, strings.ToUpper(validText(b)))
}

func (rd *Reader) jcamp() error {
	j := &jcamp{rd: rd}
	for !rd.stop {
		line, err := rd.in.next()
		if err == io.EOF {
			return j.end()
		}
		if err != nil {
			return rd.failed(err)
		}
		if line = trimComment(line); len(line) == 0 {
			continue
		}
		if bytes.HasPrefix(line, []byte("##")) {
			err = j.label(line[2:])
		} else {
			err = j.text(line)
		}
		if err != nil {
			return err
		}
	}
	return nil
}

// top returns the innermost open block, or nil.
func (j *jcamp) top() *block {
	if len(j.stack) == 0 {
		return nil
	}
	return j.stack[len(j.stack)-1]
}

// label takes a line that begins with ##, without it.
func (j *jcamp) label(b []byte) error {
	i := bytes.IndexByte(b, '=')
	if i < 0 {
		if top := j.top(); top != nil {
			top.refuse(j.rd.in.no, "##%s has no = after its label", show(b))
			return nil
		}
		return j.rd.bad(j.rd.in.no, "##%s has no = after its label", show(b))
	}
	name, value := labelName(b[:i]), strings.TrimSpace(validText(b[i+1:]))
	top := j.top()
	switch {
	case name == "TITLE":
		return j.open(value)
	case top == nil:
		return j.rd.bad(j.rd.in.no, "##%s= stands outside a block; a block begins with ##TITLE=", show(b[:i]))
	case name == "END":
		j.close(top)
	default:
		top.label(j.rd, name, value, j.rd.in.no)
	}
	return nil
}

// text takes a line that does not begin with ##: data, or more of a text.
func (j *jcamp) text(line []byte) error {
	top := j.top()
	if top == nil {
		return j.rd.bad(j.rd.in.no, "%s stands outside a block", show(line))
	}
	if top.bad == "" && !top.closed {
		top.dataLine(line, j.rd.in.no)
	}
	return nil
}

// open begins a block.
func (j *jcamp) open(title string) error {
	if top := j.top(); top != nil && !top.link {
		top.refuse(j.rd.in.no, "a new block begins before the ##END= of the one that began in line %d", top.line)
		j.close(top)
	}
	if top := j.top(); top != nil {
		top.blocks++
		j.many = true
	} else if j.held {
		j.many = true
		j.release()
	}
	if len(j.stack) == 8 {
		return j.rd.bad(j.rd.in.no, "blocks in blocks, %d deep", len(j.stack)+1)
	}
	b := &block{line: j.rd.in.no, labels: map[string]ldr{"TITLE": {title, j.rd.in.no}}}
	j.stack = append(j.stack, b)
	return nil
}

// close ends a block and hands out its spectrum, or why there is none.
func (j *jcamp) close(b *block) {
	j.stack = j.stack[:len(j.stack)-1]
	if b.link {
		j.closeLink(b)
		return
	}
	j.rows++
	s, err := j.rd.blockSpectrum(b)
	var bad *Unreadable
	if err != nil {
		line := b.badLine
		if line == 0 {
			line = b.line
		}
		bad = &Unreadable{File: j.rd.src.Name, Line: line, Reason: err.Error()}
	}
	j.first, j.firstBad, j.held = s, bad, true
	if j.many {
		j.release()
	}
}

// closeLink compares the number of blocks with what is said. The standard can be read so that the
// LINK block counts itself.
func (j *jcamp) closeLink(b *block) {
	if b.bad != "" {
		j.rd.refuse(b.badLine, 0, b.bad)
	}
	n, err := b.number("BLOCKS")
	if err == nil && n != nil && n.v != float64(b.blocks) && n.v != float64(b.blocks+1) {
		j.rd.refuse(b.labels["BLOCKS"].line, 0, fmt.Sprintf("##BLOCKS=%v, found %d; are blocks missing?", n.v, b.blocks))
	} else if err != nil {
		j.rd.refuse(b.labels["BLOCKS"].line, 0, err.Error())
	}
}

// release hands out the block that was held back.
func (j *jcamp) release() {
	if !j.held {
		return
	}
	j.held = false
	row := 0
	if j.many {
		row = max(1, j.rows)
	}
	if j.firstBad != nil {
		j.rd.refuse(j.firstBad.Line, row, j.firstBad.Reason)
		return
	}
	j.first.Row = row
	j.rd.give(j.first)
}

// end is the end of the file.
func (j *jcamp) end() error {
	for top := j.top(); top != nil; top = j.top() {
		if top.link {
			return j.rd.bad(top.line, "the file ends before the ##END= of the LINK block that began here; was it cut off?")
		}
		top.refuse(j.rd.in.no, "the file ends before the ##END= of the block that began in line %d; was it cut off?", top.line)
		j.close(top)
	}
	j.release()
	if j.rows == 0 && !j.rd.stop {
		return j.rd.bad(0, "no block with data")
	}
	return nil
}

// refuse keeps the first trouble of a block.
func (b *block) refuse(line int, format string, args ...any) {
	if b.bad == "" {
		b.bad, b.badLine = fmt.Sprintf(format, args...), line
	}
}

// label takes a label inside a block.
func (b *block) label(rd *Reader, name, value string, line int) {
	b.closed = b.data != noData
	switch name {
	case "": // ##= is a comment
		return
	case "XYDATA", "XYPOINTS":
		b.begin(name, value, line)
		return
	case "PEAKTABLE", "PEAKASSIGNMENTS":
		b.data, b.closed = skipping, false
		b.refuse(line, "##%s= lists peaks, which are no spectrum; export the spectrum itself as XYDATA", name)
		return
	case "NTUPLES", "PAGE", "DATATABLE", "RADATA":
		b.data, b.closed = skipping, false
		b.refuse(line, "##%s= is not read; export the spectrum as XYDATA", name)
		return
	}
	if !usedLabels[name] {
		return
	}
	if old, twice := b.labels[name]; twice && old.value != value {
		b.refuse(line, "##%s= stands twice, %s in line %d and %s here", name, show(old.value), old.line, show(value))
		return
	}
	b.labels[name] = ldr{value, line}
	if name == "DATATYPE" && strings.EqualFold(value, "LINK") {
		b.link = true
	}
}
