package spectrum

import (
	"bytes"
	"fmt"
	"math"
	"strings"
)

// A grid is what the labels say of the abscissae of (X++(Y..Y)) data: x_i = first + i·step.
type grid struct {
	first, step      float64
	n                int
	xFactor, yFactor float64
}

func (g grid) at(i int) float64 { return g.first + float64(i)*g.step }

// A labelled is the number of a label.
type labelled struct {
	v     float64
	place float64 // one unit in its last decimal place
}

// number returns the number of a label; nil if the label is not there.
func (b *block) number(name string) (*labelled, error) {
	l, ok := b.labels[name]
	if !ok {
		return nil, nil
	}
	v, n, err := affn([]byte(l.value), true)
	if err != nil || n != len(l.value) {
		return nil, fmt.Errorf("##%s=%s is no number", name, show(l.value))
	}
	return &labelled{v, lastPlace(l.value)}, nil
}

// lastPlace returns the worth of one unit in the last place of a number's text: 0.01 for 1.25, 10
// for 2.5E+02.
func lastPlace(s string) float64 {
	exp := 0
	if i := strings.IndexAny(s, "eE"); i >= 0 {
		exp, _ = exponent([]byte(s[i+1:]))
		s = s[:i]
	}
	if i := strings.IndexByte(s, '.'); i >= 0 {
		exp -= len(s) - i - 1
	}
	return math.Pow10(exp)
}

// needed returns the numbers of labels that the standard requires.
func (b *block) needed(names ...string) ([]labelled, error) {
	out := make([]labelled, 0, len(names))
	for _, name := range names {
		n, err := b.number(name)
		if err != nil {
			return nil, err
		}
		if n == nil {
			return nil, fmt.Errorf("##%s= is missing, which the standard requires before the data", name)
		}
		out = append(out, *n)
	}
	return out, nil
}

// begin takes the label before the data lines.
func (b *block) begin(name, value string, line int) {
	b.closed = false
	if b.data != noData {
		b.data = skipping
		b.refuse(line, "##%s= is the second table of data in one block; the first is not taken for the whole", name)
		return
	}
	switch strings.ToUpper(strings.Join(strings.Fields(value), "")) {
	case "(X++(Y..Y))":
		b.data = stepped
		if err := b.beginStepped(); err != nil {
			b.refuse(line, "%s", err)
		}
	case "(XY..XY)":
		b.data = paired
	default:
		b.data = skipping
		b.refuse(line, "##%s=%s is not read; (X++(Y..Y)) and (XY..XY) are", name, show(value))
	}
}

// beginStepped finds the grid of (X++(Y..Y)) data.
func (b *block) beginStepped() error {
	n, err := b.needed("NPOINTS", "FIRSTX", "LASTX", "XFACTOR", "YFACTOR")
	if err != nil {
		return err
	}
	points, first, last := n[0].v, n[1], n[2]
	if points != math.Trunc(points) || points < 2 || points > maxChannels {
		return fmt.Errorf("##NPOINTS=%v; a spectrum has 2 to %d channels", points, maxChannels)
	}
	b.grid = grid{first.v, (last.v - first.v) / (points - 1), int(points), n[3].v, n[4].v}
	g := b.grid
	if g.step == 0 || g.xFactor == 0 || g.yFactor == 0 {
		return fmt.Errorf("##FIRSTX=%v, ##LASTX=%v, ##XFACTOR=%v, ##YFACTOR=%v make no spectrum", first.v, last.v, g.xFactor, g.yFactor)
	}
	delta, err := b.number("DELTAX")
	if err != nil {
		return err
	}
	// All three may be rounded, by half a unit of their last place.
	if delta != nil && math.Abs(delta.v-g.step) > (delta.place+(first.place+last.place)/(points-1))/2+1e-3*math.Abs(g.step) {
		return fmt.Errorf("##DELTAX=%v contradicts %v from ##FIRSTX=%v to ##LASTX=%v in %v points", delta.v, g.step, first.v, last.v, points)
	}
	return nil
}

// dataLine takes a line of data.
func (b *block) dataLine(line []byte, no int) {
	var err error
	switch b.data {
	case stepped:
		err = b.steppedLine(line)
	case paired:
		err = b.pairedLine(line)
	}
	if err != nil {
		b.refuse(no, "%s", err)
	}
}

// steppedLine takes a line of (X++(Y..Y)) data. Its abscissa is a check, not a position: it must
// lie less than half a step, or less than one unit of its own last place, from where the line
// begins. The tolerance is our own: half a step is the most that still tells a line with one
// ordinate too many or too few, and an abscissa may be written rounded or cut.
func (b *block) steppedLine(line []byte) error {
	x, n, err := affn(line, false)
	if err != nil {
		return fmt.Errorf("the line does not begin with an abscissa: %s", show(line))
	}
	g, i := b.grid, len(b.y.y)
	if b.y.endedInDiff() && i > 0 {
		i-- // the line repeats the last ordinate, and its abscissa
	}
	want, most := g.at(i), max(math.Abs(g.step)/2, lastPlace(string(line[:n]))*math.Abs(g.xFactor))
	if off := math.Abs(x*g.xFactor - want); off >= most*(1-1e-9) {
		return fmt.Errorf("the X check does not hold: the line begins at %v, point %d lies at %.8g; an ordinate may be missing or too many before it", x*g.xFactor, i+1, want)
	}
	if err := b.y.line(line[n:]); err != nil {
		return err
	}
	if len(b.y.y) > g.n {
		return fmt.Errorf("%d ordinates so far, ##NPOINTS=%d", len(b.y.y), g.n)
	}
	return nil
}

// pairedLine takes a line of (XY..XY) data: pairs set off by blanks or semicolons, their members by
// a comma or a blank.
func (b *block) pairedLine(line []byte) error {
	count := 0
	for i := 0; ; {
		for i < len(line) && (isSeparator(line[i]) || line[i] == ';') {
			i++
		}
		if i == len(line) {
			break
		}
		if line[i] == '?' {
			return fmt.Errorf("point %d is missing (?)", len(b.pairs)/2+1)
		}
		end := i
		for end < len(line) && !isSeparator(line[end]) && line[end] != ';' {
			end++
		}
		v, n, err := affn(line[i:end], true)
		if err != nil || n != end-i {
			return fmt.Errorf("%s is no number", show(line[i:end]))
		}
		if len(b.pairs)%2 == 0 {
			b.place = max(b.place, lastPlace(string(line[i:end])))
		}
		b.pairs = append(b.pairs, v)
		i = end
		count++
	}
	if count%2 != 0 {
		return fmt.Errorf("%d numbers, which make no pairs of X and Y", count)
	}
	if len(b.pairs) > 2*maxChannels {
		return fmt.Errorf("more than %d points; no spectrum has as many", maxChannels)
	}
	return nil
}

// steppedValues puts the positions into Reader.at and returns the values, both scaled.
func (rd *Reader) steppedValues(b *block) ([]float64, error) {
	g, y := b.grid, b.y.y
	if len(y) != g.n {
		return nil, fmt.Errorf("%d ordinates, ##NPOINTS=%d", len(y), g.n)
	}
	rd.at = rd.at[:0]
	for i, v := range y {
		if math.IsNaN(v) {
			return nil, fmt.Errorf("the ordinate of channel %d (%.6g) is missing (?)", i+1, g.at(i))
		}
		if y[i] = v * g.yFactor; !finite(y[i]) {
			return nil, fmt.Errorf("the ordinate of channel %d (%.6g) is too large for a number", i+1, g.at(i))
		}
		rd.at = append(rd.at, g.at(i))
	}
	// The last position is the one that is said, not one that sums have rounded.
	if last, err := b.number("LASTX"); err == nil && last != nil {
		rd.at[len(y)-1] = last.v
	}
	return y, b.checkFirstY(y[0], g.yFactor)
}

// pairedValues does the same for (XY..XY) data; factors that are not there are 1.
func (rd *Reader) pairedValues(b *block) ([]float64, error) {
	n := len(b.pairs) / 2
	xFactor, yFactor := 1.0, 1.0
	for _, f := range [...]struct {
		name string
		to   *float64
	}{{"XFACTOR", &xFactor}, {"YFACTOR", &yFactor}} {
		v, err := b.number(f.name)
		if err != nil {
			return nil, err
		}
		if v != nil {
			*f.to = v.v
		}
	}
	if points, err := b.number("NPOINTS"); err != nil {
		return nil, err
	} else if points != nil && points.v != float64(n) {
		return nil, fmt.Errorf("%d points, ##NPOINTS=%v", n, points.v)
	}
	if n < 2 {
		return nil, fmt.Errorf("%d points; a spectrum has at least 2", n)
	}
	rd.at = rd.at[:0]
	values := make([]float64, n)
	for i := range n {
		x, y := b.pairs[2*i]*xFactor, b.pairs[2*i+1]*yFactor
		if !finite(x) || !finite(y) {
			return nil, fmt.Errorf("point %d is too large for a number", i+1)
		}
		rd.at = append(rd.at, x)
		values[i] = y
	}
	for _, end := range [...]struct {
		name string
		x    float64
	}{{"FIRSTX", rd.at[0]}, {"LASTX", rd.at[n-1]}} {
		said, err := b.number(end.name)
		if err != nil {
			return nil, err
		}
		if said != nil && math.Abs(said.v-end.x) > said.place+b.place*math.Abs(xFactor) {
			return nil, fmt.Errorf("##%s=%v contradicts the data, which have %v", end.name, said.v, end.x)
		}
	}
	return values, b.checkFirstY(values[0], yFactor)
}

// checkFirstY compares FIRSTY, which is not scaled, with the first value: a wrong YFACTOR shows
// here. FIRSTY may be rounded, and so may an ordinate that is an integer before it is scaled; 0.1 %
// more is our own allowance.
func (b *block) checkFirstY(y, factor float64) error {
	first, err := b.number("FIRSTY")
	if err != nil {
		return err
	}
	if first == nil {
		return nil
	}
	rounding := first.place + 1e-3*math.Abs(y)
	if raw := y / factor; math.Abs(raw-math.Round(raw)) < 1e-9*max(1, math.Abs(raw)) {
		rounding += math.Abs(factor)
	}
	if math.Abs(first.v-y) > rounding {
		return fmt.Errorf("##FIRSTY=%v contradicts the first ordinate, which is %v with ##YFACTOR=%v", first.v, y, factor)
	}
	return nil
}

// trimComment is what stands before a $$ comment.
func trimComment(line []byte) []byte {
	if i := bytes.Index(line, []byte("$$")); i >= 0 {
		line = line[:i]
	}
	return bytes.TrimSpace(line)
}
