package spectrum

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"
	"time"
)

// role says what a column of a table is.
type role uint8

const (
	ignored    role = iota // nothing is read from it: Info lists it
	position               // a channel: its name is the position, its fields are the values
	timeColumn             // of the day and its time, or of the time alone beside a dateColumn
	dateColumn
	runColumn
	labelColumn
)

// table holds a table while it is read.
type table struct {
	d     dialect
	roles []role // of each column; nil until the line of names has come
	axis  *Axis
	unit  Unit      // of the headings, if they say one
	at    []float64 // the positions, in the order of the columns
	rows  int       // behind the line of names, those that could not be read included

	// Of the row at hand; nil where the table has no such column, empty where the row says nothing. They lie in the line.
	time, date, run, label []byte
}

// table reads one spectrum a row. A row that cannot be read, or is too long, is given as an *Unreadable, and the rows after it
// go on; the error it returns is one of the whole file: no line of names, an axis that cannot be, no row at all, or a
// reader that failed.
func (rd *Reader) table(d dialect) error {
	rd.info.Delimiter, rd.info.Decimal = d.delimName(), d.markName()
	t := &table{d: d}
	for !rd.stop {
		line, err := rd.in.next()
		if err == io.EOF {
			break
		}
		if err == errLong && t.axis != nil {
			t.rows++
			rd.refuse(rd.in.no, t.rows, fmt.Sprintf("the line is longer than %d bytes", maxLine))
			continue
		}
		if err != nil {
			return rd.failed(err)
		}
		if text, ok := isComment(line); ok {
			rd.head.comment(text, rd.in.no)
			continue
		}
		if isBlank(line) {
			continue
		}
		if t.axis == nil {
			if err := rd.tableHeader(t, line); err != nil {
				return err
			}
			continue
		}
		t.rows++
		if s, err := rd.row(t, line); err != nil {
			rd.refuse(rd.in.no, t.rows, err.Error())
		} else {
			rd.give(s)
		}
	}
	if t.rows == 0 && !rd.stop {
		return rd.bad(0, "a table without rows: the names of its columns are all there is")
	}
	return nil
}

// tableHeader takes a line before the first row: the columns' names, if two or more are positions;
// else text. Positions must agree in how they are written: X900 beside 902 is another column that only
// looks like one, and 900 nm beside 902 cm-1 is a mistake. Two are enough since a spectrum has at least two channels.
func (rd *Reader) tableHeader(t *table, line []byte) error {
	names := t.d.split(nil, line)
	t.d.settle(names)
	if headings(names, t.d.mark) < 2 {
		rd.head.line(line, t.d, rd.in.no)
		return nil
	}
	t.roles = make([]role, len(names))
	rd.at = rd.at[:0]
	var prefix bool
	for i, name := range names {
		h, ok := parseHeading(name, t.d.mark)
		if !ok {
			continue
		}
		if len(rd.at) == maxChannels {
			return rd.bad(rd.in.no, "more than %d channels; no spectrum has as many", maxChannels)
		}
		plain := h.unit == UnknownUnit
		if len(rd.at) == 0 {
			t.unit, prefix = h.unit, plain
		} else if h.unit != t.unit || plain != prefix {
			return rd.bad(rd.in.no, "column %d, %s, has another unit than the positions before it", i+1, show(name))
		}
		t.roles[i] = position
		rd.at = append(rd.at, h.at)
	}
	if err := rd.roles(t, names); err != nil {
		return rd.bad(rd.in.no, "%s", err)
	}
	if t.unit == UnknownUnit {
		t.unit = rd.head.unit
	}
	t.at = slices.Clone(rd.at) // the axis may turn its own
	a, err := rd.axis(t.unit, rd.at)
	if err != nil {
		return rd.bad(rd.in.no, "%s", err)
	}
	if n := rd.head.channels; n > 0 && n != a.Len() {
		return rd.bad(rd.in.no, "%d channels, the header says %d", a.Len(), n)
	}
	t.axis = a
	return nil
}

// The usual names of columns, the first that is there wins.
var (
	timeNames  = []string{"timestamp", "datetime", "date time", "date/time", "time", "date"}
	runNames   = []string{"run", "batch", "lot"}
	labelNames = []string{"label", "condition", "class"}
)

// roles finds the columns that are no positions by their names, whatever their case, and notes in Info which were found and
// which are ignored. A name that the options give and the table does not have is an error: to take another column instead
// would give spectra of one run the name of another.
func (rd *Reader) roles(t *table, names [][]byte) error {
	find := func(words []string) int {
		for _, w := range words {
			for i, n := range names {
				if t.roles[i] == ignored && strings.EqualFold(string(n), w) {
					return i
				}
			}
		}
		return -1
	}
	for _, c := range [...]struct {
		role  role
		word  string
		wish  string
		usual []string
		name  *string
	}{
		{timeColumn, "time", rd.opt.TimeColumn, timeNames, &rd.info.TimeColumn},
		{runColumn, "run", rd.opt.RunColumn, runNames, &rd.info.RunColumn},
		{labelColumn, "label", rd.opt.LabelColumn, labelNames, &rd.info.LabelColumn},
	} {
		words := c.usual
		if c.wish != "" {
			words = []string{c.wish}
		}
		i := find(words)
		if i < 0 {
			if c.wish != "" {
				return fmt.Errorf("no column is named %s, which the options give for the %s; the table has %s", show(c.wish), c.word, t.others(names))
			}
			continue
		}
		t.roles[i], *c.name = c.role, validText(names[i])
		if c.role == timeColumn && strings.EqualFold(*c.name, "time") && c.wish == "" {
			if k := find([]string{"date"}); k >= 0 { // the time of day stands beside the day
				t.roles[k] = dateColumn
				*c.name = validText(names[k]) + ", " + *c.name
			}
		}
	}
	for i, r := range t.roles {
		if r == ignored && len(names[i]) > 0 {
			rd.info.Ignored = append(rd.info.Ignored, validText(names[i]))
		}
	}
	return nil
}

// others lists the first ten columns that are no positions, for an error.
func (t *table) others(names [][]byte) string {
	var s []string
	for i, n := range names {
		if t.roles[i] != position && len(s) < 10 {
			s = append(s, show(n))
		}
	}
	if len(s) == 0 {
		return "positions only"
	}
	return strings.Join(s, ", ")
}

// row makes the spectrum of a row. What the header said is taken where the row has no column for it. The decimal mark may
// come to light only here: whole numbers before this row show none.
func (rd *Reader) row(t *table, line []byte) (Spectrum, error) {
	if !t.d.sure {
		t.d.settle(t.d.split(nil, line))
		rd.info.Decimal = t.d.markName()
	}
	values, err := t.parse(rd.room(t.axis.Len()), line, rd.in.whole)
	if err != nil {
		return Spectrum{}, err
	}
	if values[0] == t.at[0] && slices.Equal(values, t.at) { // a writer that was started again
		return Spectrum{}, errors.New("the names of the columns once more")
	}
	h := &rd.head
	if h.bad != "" {
		return Spectrum{}, fmt.Errorf("line %d says: %s", h.badLine, h.bad)
	}
	s := Spectrum{Axis: t.axis, Values: values, File: rd.src.Name, Row: t.rows, Run: h.run, Label: h.label, Exposure: h.exposure}
	if t.run != nil {
		s.Run = validText(t.run)
	}
	if t.label != nil {
		s.Label = validText(t.label)
	}
	if s.Time, err = rd.rowTime(t, s.Label); err != nil {
		return Spectrum{}, err
	}
	s.Quantity = rd.quantity(h.quantity, h.percent, values)
	s.Share = rd.info.Percent
	return s, nil
}

// rowTime returns the time of the row at hand, which has that label. A row whose time field is empty has no time rather than that of the file:
// a wrong time would put it into another run.
func (rd *Reader) rowTime(t *table, label string) (time.Time, error) {
	if t.time == nil {
		return rd.when(rd.head.said(), label)
	}
	h := header{time: validText(t.time), date: validText(t.date)}
	said := h.said()
	if said == "" && (rd.opt.Time == TimeAuto || rd.opt.Time == TimeHeader) {
		return time.Time{}, fmt.Errorf("its time column, %s, is empty", rd.info.TimeColumn)
	}
	return rd.when(said, label)
}

// parse reads the fields of a row: the values into the empty slice that is given, the others into t. whole says that the line ended with a
// break; where it did not, what is wrong with the row is put down to a file that was cut off. A plain number followed by
// the delimiter, which is nearly every field, is read without looking for the field's end first.
func (t *table) parse(values []float64, line []byte, whole bool) ([]float64, error) {
	t.time, t.date, t.run, t.label = nil, nil, nil, nil
	rest, more := line, true
	for i, r := range t.roles {
		if !more {
			return nil, t.short(i, whole, line)
		}
		if r == position {
			if v, n := number(rest, t.d.mark); n > 0 && n < len(rest) && rest[n] == t.d.delim && t.d.delim != ' ' && finite(v) {
				values = append(values, v)
				rest = rest[n+1:]
				continue
			}
		}
		var f []byte
		f, rest, more = t.d.field(rest)
		switch r {
		case position:
			v, reason := value(f, t.d.mark)
			if reason != "" {
				if !whole && !more {
					return nil, t.cut(line)
				}
				n := len(values)
				return nil, fmt.Errorf("channel %d (%.6g %s) %s", n+1, t.axis.At(n), t.axis.Unit().Symbol(), reason)
			}
			values = append(values, v)
		case timeColumn:
			t.time = orEmpty(f)
		case dateColumn:
			t.date = f
		case runColumn:
			t.run = orEmpty(f)
		case labelColumn:
			t.label = orEmpty(f)
		}
	}
	if more && !isBlank(bytes.Trim(rest, string(t.d.delim))) {
		return nil, fmt.Errorf("%d columns or more, the table's first line names %d", len(t.roles)+1, len(t.roles))
	}
	return values, nil
}

// orEmpty tells an empty field from one that is not there.
func orEmpty(b []byte) []byte {
	if b == nil {
		return []byte{}
	}
	return b
}

// short is the error for a row of n columns, too few.
func (t *table) short(n int, whole bool, line []byte) error {
	if !whole {
		return t.cut(line)
	}
	return fmt.Errorf("%d columns, the table's first line names %d", n, len(t.roles))
}

// cut is the error for a row at the end of a file that breaks off, with its last characters to find the place by.
func (t *table) cut(line []byte) error {
	end := "…" + validText(line[max(0, len(line)-15):])
	return fmt.Errorf("the file ends in the middle of this row, %q; was it cut off, or is it still being written?", end)
}
