package spectrum

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"iter"
	"slices"
	"time"
)

// Read reads the spectra of a file in any Format, one after the other, and does not close it. What
// cannot be read is an error that is always an *Unreadable: one for each row or block that is bad,
// after which the rest goes on, and one, the last thing given, for a file that cannot be read on.
// Spectra on one grid share their Axis; their Values are fresh (but see Reuse) and finite, one a channel. Memory is
// bounded by one line or one spectrum, whatever the length of the file.
func Read(r io.Reader, src Source, opt Options) iter.Seq2[Spectrum, error] {
	return NewReader(opt).Read(r, src)
}

// A Reader reads many files with the same options. It shares one Axis among all spectra on one grid
// and uses its buffers again. It is not safe for concurrent use.
type Reader struct {
	opt   Options
	zone  *time.Location
	axes  []*Axis // of late, the last used first
	said  *Axis   // that words describes
	words string
	buf   []byte
	ruler ruler // of files of columns

	// Of the file being read.
	src    Source
	info   Info
	grid   *Axis // of the last spectrum
	head   header
	in     *lines
	at     []float64
	fields [][]byte
	spare  [][]float64 // values handed back
	yield  func(Spectrum, error) bool
	stop   bool // the caller wants no more
}

// NewReader returns a Reader with those options.
func NewReader(opt Options) *Reader { return &Reader{opt: opt, zone: opt.zone()} }

// Reuse hands back the Values of a spectrum that nobody needs any more, for one that is read later to lie in.
func (rd *Reader) Reuse(values []float64) {
	if len(rd.spare) < maxSpare && cap(values) > 0 {
		rd.spare = append(rd.spare, values[:0])
	}
}

// maxSpare bounds what is kept of what was handed back.
const maxSpare = 512

// room returns an empty slice with room for the values of p channels.
func (rd *Reader) room(p int) []float64 {
	for n := len(rd.spare); n > 0; n = len(rd.spare) {
		values := rd.spare[n-1]
		rd.spare = rd.spare[:n-1]
		if cap(values) >= p {
			return values
		}
	}
	return make([]float64, 0, p)
}

// Info says what the file read last, or being read, turned out to be.
func (rd *Reader) Info() Info {
	info := rd.info
	info.Ignored = slices.Clone(info.Ignored)
	if rd.grid != nil {
		if rd.said != rd.grid { // many files have one axis
			rd.said, rd.words = rd.grid, rd.grid.String()
		}
		info.Axis = rd.words
	}
	return info
}

// Read reads one file as the function Read does.
func (rd *Reader) Read(r io.Reader, src Source) iter.Seq2[Spectrum, error] {
	return func(yield func(Spectrum, error) bool) {
		rd.src, rd.info, rd.grid, rd.yield, rd.stop = src, Info{}, nil, yield, false
		rd.head = header{names: rd.head.names[:0], unitSet: rd.opt.Unit != UnknownUnit, quantitySet: rd.opt.Quantity != UnknownQuantity}
		rd.in = newLines(r, rd.buf, rd.opt.maxBytes())
		if err := rd.file(); err != nil && !rd.stop {
			var u *Unreadable
			if !errors.As(err, &u) {
				u = &Unreadable{File: src.Name, Reason: err.Error(), Err: err}
			}
			yield(Spectrum{}, u)
		}
		rd.buf = rd.in.keep()
		rd.in, rd.yield = nil, nil
	}
}

// file finds the format and reads the file; its error ends the file.
func (rd *Reader) file() error {
	head := rd.in.head()
	if err := rd.in.err; err != nil && err != io.EOF {
		return fmt.Errorf("reading it: %w", err)
	}
	f, d, err := sniff(head)
	if err != nil {
		return err
	}
	if bytes.HasPrefix(head, []byte(byteOrderMark)) {
		rd.in.skip(len(byteOrderMark))
	}
	rd.info.Format = f
	switch f {
	case Table:
		return rd.table(d)
	case JCAMP:
		return rd.jcamp()
	}
	return rd.columns(d)
}

// give hands out a spectrum.
func (rd *Reader) give(s Spectrum) {
	if !rd.stop && !rd.yield(s, nil) {
		rd.stop = true
	}
}

// refuse hands out a row that cannot be read.
func (rd *Reader) refuse(line, row int, reason string) {
	if !rd.stop && !rd.yield(Spectrum{}, &Unreadable{File: rd.src.Name, Line: line, Row: row, Reason: reason}) {
		rd.stop = true
	}
}

// bad returns the error of a file that cannot be read on.
func (rd *Reader) bad(line int, format string, args ...any) error {
	return &Unreadable{File: rd.src.Name, Line: line, Reason: fmt.Sprintf(format, args...)}
}

// failed returns the error for what lines.next returned, other than io.EOF.
func (rd *Reader) failed(err error) error {
	if err == errLong {
		return rd.bad(rd.in.no, "the line is longer than %d bytes; no spectrum has such lines", maxLine)
	}
	var u *Unreadable
	if errors.As(err, &u) { // Open has said it already
		return u
	}
	return &Unreadable{File: rd.src.Name, Line: rd.in.no + 1, Reason: "reading it: " + err.Error(), Err: err}
}

// cachedAxes is how many grids are remembered: a line has one, a folder of several lines a few.
const cachedAxes = 8

// axis returns the Axis of those positions, the one given out before if there is one. said is the
// unit that the file says, or UnknownUnit.
func (rd *Reader) axis(said Unit, at []float64) (*Axis, error) {
	unit := said
	rd.info.UnitFrom = Said
	if rd.opt.Unit != UnknownUnit {
		unit, rd.info.UnitFrom = rd.opt.Unit, Set
	} else if said == UnknownUnit {
		unit, rd.info.UnitFrom = GuessUnit(at), Guessed
		if unit == UnknownUnit {
			rd.info.UnitFrom = NotKnown
		}
	}
	return rd.shared(unit, at)
}

// shared returns the Axis of those positions in that unit.
func (rd *Reader) shared(unit Unit, at []float64) (*Axis, error) {
	rd.info.Unit = unit
	k := slices.IndexFunc(rd.axes, func(a *Axis) bool { return a.unit == unit && slices.Equal(a.at, at) })
	if k < 0 {
		a, err := NewAxis(unit, at)
		if err != nil {
			return nil, err
		}
		if len(rd.axes) < cachedAxes {
			rd.axes = append(rd.axes, nil)
		}
		k = len(rd.axes) - 1 // the one used longest ago goes
		rd.axes[k] = a
	}
	rd.grid = rd.axes[k]
	copy(rd.axes[1:k+1], rd.axes[:k])
	rd.axes[0] = rd.grid
	return rd.grid, nil
}

// quantity decides what values are and divides them by 100 where they stand in percent. said is
// what the file says.
func (rd *Reader) quantity(said Quantity, percent bool, values []float64) Quantity {
	q := said
	rd.info.QuantityFrom = Said
	if rd.opt.Quantity != UnknownQuantity {
		q, rd.info.QuantityFrom = rd.opt.Quantity, Set
		percent = percent && said == q
	} else if said == UnknownQuantity {
		q, rd.info.QuantityFrom = GuessQuantity(values), Guessed
	}
	percent = (percent || rd.opt.Percent) && (q == Reflectance || q == Transmittance)
	if percent {
		for i := range values {
			values[i] /= 100
		}
	}
	rd.info.Quantity, rd.info.Percent = q, percent
	return q
}
