package chart

import (
	"image/color"
	"slices"

	"gonum.org/v1/plot/vg"
)

// A panel is a plotting area of a sheet with its two scales.
type panel struct {
	s    *sheet
	r    vg.Rectangle
	x, y scale
}

// newPanel lays a panel between the given edges of the sheet.
func newPanel(s *sheet, left, bottom, right, top vg.Length) *panel {
	p := &panel{s: s, r: vg.Rectangle{Min: pt(left, bottom), Max: pt(right, top)}}
	p.x.from, p.x.to = left, right
	p.y.from, p.y.to = bottom, top
	return p
}

func (p *panel) at(x, y float64) vg.Point { return pt(p.x.at(x), p.y.at(y)) }

// holds reports whether a place lies within the panel.
func (p *panel) holds(q vg.Point) bool { return within(vg.Rectangle{Min: q, Max: q}, p.r) }

const tickLength = vg.Length(2.5)

// edge is the paper that stays free at the sides of the sheet.
const edge = vg.Length(2)

// xAxis draws the lower axis: its line, ticks and figures, and below them the label.
func (p *panel) xAxis(ticks []tick, label string) {
	y := p.r.Min.Y
	p.s.line(pen{width: hair, ink: inkSoft}, p.r.Min, pt(p.r.Max.X, y))
	free := vg.Length(-1e9)
	for _, t := range ticks {
		x := p.x.at(t.at)
		p.s.line(pen{width: hair, ink: inkSoft}, pt(x, y), pt(x, y-tickLength))
		w := tickText.width(t.label)
		from := max(edge, min(x-w/2, p.s.w-edge-w)) // nor over the edge of the sheet
		if from < free {                            // figures never run into each other
			continue
		}
		free = from + w + 3
		p.s.text(tickText, pt(from, y-tickLength-2), align{1, -1}, t.label)
	}
	p.s.text(labelText, pt(p.r.Max.X, y-tickLength-11.5), align{-1, -1}, label)
}

// yAxis draws the left axis. Its label stands above the axis, level, where it can be read without turning the head: the name of what is
// shown and its ends, such as the unit and the power of ten, which stay whole where the name is too long for the sheet.
func (p *panel) yAxis(ticks []tick, name string, ends ...string) {
	x := p.r.Min.X
	p.s.line(pen{width: hair, ink: inkSoft}, p.r.Min, pt(x, p.r.Max.Y))
	for _, t := range ticks {
		y := p.y.at(t.at)
		p.s.line(pen{width: hair, ink: inkSoft}, pt(x, y), pt(x-tickLength, y))
		p.s.text(tickText, pt(x-tickLength-2, y), align{-1, 0}, t.label)
	}
	p.s.text(labelText, pt(4, p.r.Max.Y+6), align{1, 1}, labelText.fitted(name, ends, p.s.w-4-edge))
}

// rules draws a light rule at each tick, behind the data.
func (p *panel) rules(ticks []tick) {
	for _, t := range ticks {
		y := p.y.at(t.at)
		p.s.line(pen{width: hair, ink: rule}, pt(p.r.Min.X, y), pt(p.r.Max.X, y))
	}
}

// curve draws a line through (x, y), broken where a value is not finite and where more than gap lies between two
// neighbours, and cut at the panel's edges.
func (p *panel) curve(pn pen, x, y []float64, gap float64) {
	for _, r := range stretches(x, y, gap) {
		var run []vg.Point
		for i := r[0]; i < r[1]; i++ {
			run = append(run, p.at(x[i], y[i]))
		}
		for _, cut := range clipY(run, p.r.Min.Y, p.r.Max.Y) {
			p.s.line(pn, cut...)
		}
	}
}

// between fills what lies between two curves.
func (p *panel) between(clr color.RGBA, x, lo, hi []float64, gap float64) {
	for _, r := range stretches(x, lo, gap) {
		var edge []vg.Point
		for i := r[0]; i < r[1]; i++ {
			edge = append(edge, p.kept(x[i], hi[i]))
		}
		for i := r[1] - 1; i >= r[0]; i-- {
			edge = append(edge, p.kept(x[i], lo[i]))
		}
		p.s.area(clr, edge...)
	}
}

// kept returns the place of (x, y), moved to the nearest edge where it lies outside the panel.
func (p *panel) kept(x, y float64) vg.Point {
	q := p.at(x, y)
	return pt(max(p.r.Min.X, min(q.X, p.r.Max.X)), max(p.r.Min.Y, min(q.Y, p.r.Max.Y)))
}

// stretches returns the half-open ranges of indices over which the curve runs on.
func stretches(x, y []float64, gap float64) (all [][2]int) {
	from := -1
	for i := range x {
		ok := finite(x[i]) && finite(y[i])
		if from >= 0 && (!ok || gap > 0 && abs(x[i]-x[i-1]) > gap) {
			all = append(all, [2]int{from, i})
			from = -1
		}
		if ok && from < 0 {
			from = i
		}
	}
	if from >= 0 {
		all = append(all, [2]int{from, len(x)})
	}
	return all
}

func abs(v float64) float64 {
	if v < 0 {
		return -v
	}
	return v
}

// gapOf returns the distance between channels from which on an axis has a hole: three times the usual one.
func gapOf(x []float64) float64 {
	if len(x) < 3 {
		return 0
	}
	d := make([]float64, len(x)-1)
	for i := range d {
		d[i] = abs(x[i+1] - x[i])
	}
	slices.Sort(d)
	return 3 * d[len(d)/2]
}

// clipY cuts a line at two heights.
func clipY(line []vg.Point, lo, hi vg.Length) (all [][]vg.Point) {
	var run []vg.Point
	end := func() {
		if len(run) > 1 {
			all = append(all, run)
		}
		run = nil
	}
	for i, q := range line {
		if i > 0 {
			for _, edge := range crossings(line[i-1], q, lo, hi) {
				run = append(run, edge)
				if len(run) > 1 && (q.Y < lo || q.Y > hi) {
					end()
				}
			}
		}
		if q.Y >= lo && q.Y <= hi {
			run = append(run, q)
		} else {
			end()
		}
	}
	end()
	return all
}

// crossings returns where the segment from a to b passes lo and hi, in the order of the way.
func crossings(a, b vg.Point, lo, hi vg.Length) (all []vg.Point) {
	for _, y := range []vg.Length{lo, hi} {
		if (a.Y < y) != (b.Y < y) && a.Y != y && b.Y != y {
			f := (y - a.Y) / (b.Y - a.Y)
			all = append(all, pt(a.X+f*(b.X-a.X), y))
		}
	}
	if len(all) == 2 && a.Y > b.Y {
		all[0], all[1] = all[1], all[0]
	}
	return all
}
