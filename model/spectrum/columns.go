package spectrum

import (
	"fmt"
	"io"
	"slices"
	"strings"
)

// columns holds a file of columns while it is read: the positions lie in Reader.at.
type columns struct {
	d      dialect
	n      int       // columns of the file; 0 until the first numbers have come
	value  int       // the column of the values, or of the sample's intensities
	dark   int       // 0 if there is none
	ref    int       // 0 if there is none
	values []float64 // so far, one a channel
	darks  []float64
	refs   []float64
	rising bool // whether positions rise; known from the second on
}

// columns reads one spectrum, a line a channel. Any line that is neither a channel, nor a comment, nor blank ends the file
// with an error: a spectrum with a channel missing in its middle is another spectrum.
func (rd *Reader) columns(d dialect) error {
	rd.info.Delimiter = d.delimName()
	rd.at = rd.at[:0]
	// As many channels as the last file had are likely.
	c := &columns{d: d, value: 1}
	if len(rd.axes) > 0 {
		c.values = rd.room(rd.axes[0].Len())
	}
	for {
		if c.n == 2 && len(rd.at) >= 2 {
			rd.plainLines(c)
		}
		line, err := rd.in.next()
		if err == io.EOF {
			break
		}
		if err != nil {
			return rd.failed(err)
		}
		if err := rd.columnsLine(c, line); err != nil {
			return err
		}
	}
	rd.info.Decimal = c.d.markName()
	return rd.columnsDone(c)
}

// plainLines takes lines of two plain numbers with the delimiter between them, each going on from
// the one before, as long as they last and stand whole in the buffer. Any other line is left to be
// taken one by one, with its reasons.
func (rd *Reader) plainLines(c *columns) {
	in, at, values := rd.in, rd.at, c.values // which are kept where the processor has them at hand
	rd.ruler.use(c.d)
	for last := at[len(at)-1]; len(at) < maxChannels; {
		b := in.buf[in.lo:in.n]
		x, i := rd.ruler.known(b, len(at))
		if i == 0 {
			x, i = rd.ruler.read(b, len(at))
		}
		y, k := number(b[i:], c.d.mark)
		if i == 0 || k == 0 {
			break
		}
		i += k
		if i < len(b) && b[i] == '\r' {
			i++
		}
		if i >= len(b) || b[i] != '\n' || x == last || x > last != c.rising || !finite(x) || !finite(y) {
			break
		}
		in.passed(i + 1)
		at, values, last = append(at, x), append(values, y), x
	}
	rd.at, c.values = at, values
}

// mostColumns is how many columns a file of columns may have: as many as a sheet of the usual spreadsheets.
const mostColumns = 1 << 14

// columnsLine takes any line: a comment, what stands above the first two numbers, or a channel. A delimiter at the end of a
// line makes an empty field, which is dropped.
func (rd *Reader) columnsLine(c *columns, line []byte) error {
	no := rd.in.no
	if text, ok := isComment(line); ok {
		rd.head.comment(text, no)
		return nil
	}
	if isBlank(line) {
		return nil
	}
	rd.fields = c.d.splitMost(rd.fields[:0], line, mostColumns)
	c.d.settle(rd.fields)
	if c.n == 0 {
		f := dropEmpty(rd.fields, 2)
		if len(f) < 2 || !isNumber(f[0], c.d.mark) || !isNumber(f[1], c.d.mark) {
			rd.head.line(line, c.d, no)
			return nil
		}
		if err := rd.columnsStart(c, f); err != nil {
			return err
		}
	}
	f := dropEmpty(rd.fields, c.n)
	if len(f) != c.n {
		if !rd.in.whole && len(f) < c.n {
			return rd.bad(no, "the file ends in the middle of a line, %s; was it cut off?", show(line))
		}
		if len(f) > mostColumns {
			return rd.bad(no, "%d columns or more, the lines before have %d: %s", len(f), c.n, show(line))
		}
		return rd.bad(no, "%d columns, the lines before have %d: %s", len(f), c.n, show(line))
	}
	if reason := rd.channel(c, f); reason != "" {
		if !rd.in.whole {
			reason += "; the file ends in this line, was it cut off?"
		}
		return rd.bad(no, "%s", reason)
	}
	return nil
}

// columnsStart decides what the columns are when the first numbers come, whose fields are f. The line above them, if it has
// as many fields, holds their names. Of two columns the first is the position; more must be named.
func (rd *Reader) columnsStart(c *columns, f [][]byte) error {
	c.n = len(f)
	names := rd.head.names
	if len(names) != c.n {
		names = nil
	}
	if names != nil {
		if u := unitIn(names[0]); rd.head.unit == UnknownUnit && u != UnknownUnit {
			rd.head.unit = u
		}
	}
	if c.n == 2 {
		if names != nil {
			rd.head.named(names[1])
		}
		return nil
	}
	if err := c.assign(names, rd.opt.Quantity); err != nil {
		return rd.bad(rd.in.no, "%s", err)
	}
	if c.dark > 0 {
		rd.info.Format = Intensities
	} else {
		rd.info.Format = TwoColumns
		q, percent, _ := quantityIn(names[c.value])
		rd.head.quantity, rd.head.percent = q, percent || rd.head.percent && q == rd.head.quantity
	}
	for i := 1; i < c.n; i++ {
		if i != c.value && i != c.dark && i != c.ref {
			rd.info.Ignored = append(rd.info.Ignored, names[i])
		}
	}
	return nil
}

// assign finds the columns by their names: sample, dark and reference where all are there; else the
// only one that names the wanted quantity, absorbance if none is wanted.
func (c *columns) assign(names []string, want Quantity) error {
	find := func(words ...string) int {
		for i, n := range names {
			for _, w := range strings.FieldsFunc(strings.ToLower(n), func(r rune) bool { return strings.ContainsRune(" ()[],;_", r) }) {
				if i > 0 && slices.Contains(words, w) {
					return i
				}
			}
		}
		return 0
	}
	sample, dark, ref := find("sample", "signal"), find("dark", "background"), find("reference", "white")
	if sample > 0 && dark > 0 && ref > 0 && (want == UnknownQuantity || want == Absorbance) {
		c.value, c.dark, c.ref = sample, dark, ref
		return nil
	}
	if sample > 0 && (want == Intensity || dark > 0 || ref > 0) {
		if want != Intensity {
			return fmt.Errorf("raw intensities need the columns sample, dark and reference, found %s; add the one that is missing, or say that the quantity is intensity", strings.Join(names, ", "))
		}
		c.value = sample
		return nil
	}
	if want == UnknownQuantity {
		want = Absorbance
	}
	c.value = 0
	for i, n := range names {
		if q, _, ok := quantityIn(n); i > 0 && ok && q == want {
			if c.value > 0 {
				return fmt.Errorf("two columns hold %s, %s and %s; one is expected", want, show(names[c.value]), show(n))
			}
			c.value = i
		}
	}
	if c.value == 0 {
		return fmt.Errorf("%d columns, %s, and none is known to hold %s; write position and value alone, or a row a spectrum", len(names), show(strings.Join(names, ", ")), want)
	}
	return nil
}

// channel takes the fields of one channel, or says what is wrong with them.
func (rd *Reader) channel(c *columns, f [][]byte) (reason string) {
	n := len(rd.at)
	if n == maxChannels {
		return fmt.Sprintf("more than %d channels; no spectrum has as many", maxChannels)
	}
	x, reason := value(f[0], c.d.mark)
	if reason != "" {
		return fmt.Sprintf("the position of channel %d %s", n+1, reason)
	}
	if n == 1 {
		c.rising = x > rd.at[0]
	}
	if n > 0 && (x == rd.at[n-1] || x > rd.at[n-1] != c.rising) {
		return fmt.Sprintf("position %g of channel %d does not go on from %g; an axis only rises or only falls", x, n+1, rd.at[n-1])
	}
	rd.at = append(rd.at, x)
	for _, col := range [...]struct {
		i    int
		to   *[]float64
		what string
	}{{c.value, &c.values, "the value"}, {c.dark, &c.darks, "the dark"}, {c.ref, &c.refs, "the reference"}} {
		if col.i == 0 {
			continue
		}
		v, reason := value(f[col.i], c.d.mark)
		if reason != "" {
			return fmt.Sprintf("%s of channel %d (%g) %s", col.what, n+1, x, reason)
		}
		*col.to = append(*col.to, v)
	}
	return ""
}

// value reads a field that must be a finite number, and says what is wrong with one that is not.
func value(b []byte, mark byte) (v float64, reason string) {
	v, n := number(b, mark)
	switch {
	case len(b) == 0:
		return 0, "is missing"
	case n == 0 || n < len(b):
		return 0, fmt.Sprintf("is %s, no number", show(b))
	case !finite(v):
		return 0, fmt.Sprintf("is %s, too large for a number", show(b))
	}
	return v, ""
}

// columnsDone makes the spectrum of what was read. A number of channels that the header says is held against those that
// came, which is how a file that was cut off between two lines is found out. Values keep no more room than twice their
// own, since a watch holds many.
func (rd *Reader) columnsDone(c *columns) error {
	h := &rd.head
	if h.bad != "" {
		return rd.bad(h.badLine, "%s", h.bad)
	}
	if n := len(rd.at); h.channels > 0 && n != h.channels {
		return rd.bad(0, "%d channels, its header says %d; was it cut off?", n, h.channels)
	} else if n < 2 {
		return rd.bad(0, "%d channel; a spectrum has at least 2", n)
	}
	axis := rd.axis
	if rd.opt.Quantity == Interferogram || rd.opt.Quantity == UnknownQuantity && h.quantity == Interferogram {
		axis = rd.retardation
	}
	a, err := axis(h.unit, rd.at)
	if err != nil {
		return err
	}
	t, err := rd.when(h.said(), h.label)
	if err != nil {
		return err
	}
	if cap(c.values) > 2*len(c.values) {
		c.values = slices.Clone(c.values)
	}
	s := Spectrum{Axis: a, Values: c.values, Time: t, File: rd.src.Name, Run: h.run, Label: h.label, Exposure: h.exposure}
	if c.dark == 0 {
		s.Quantity = rd.quantity(h.quantity, h.percent, s.Values)
		s.Share = rd.info.Percent
		rd.give(s)
		return nil
	}
	s.Quantity = Intensity
	dark, ref := s, s
	dark.Values, ref.Values = c.darks, c.refs
	if s, err = FromIntensities(s, dark, ref); err != nil {
		return err
	}
	rd.info.Quantity, rd.info.QuantityFrom = Absorbance, Said
	rd.give(s)
	return nil
}
