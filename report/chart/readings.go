package chart

import (
	"image/color"
	"slices"

	"gonum.org/v1/plot/vg"
)

// columnDots is the width of a column of readings in pixels, half a point.
const columnDots = 2

// medianColumns is how many columns share one median, so that its line is calm enough to follow.
const medianColumns = 6

// A column holds the readings that fall on it.
type column struct {
	lo, hi vg.Length
	some   bool
}

// drawReadings draws few readings as marks, and many as their least to greatest by column with the median over it.
func (c DistancePlot) drawReadings(p *panel) {
	columns := (px(p.r.Max.X) - px(p.r.Min.X)) / columnDots
	if len(c.Readings) < columns {
		opacity := 0.9
		if len(c.Readings) > columns/3 {
			opacity = 0.6
		}
		for _, r := range c.Readings {
			if t := seconds(r.Time); p.x.inside(t) && p.y.inside(r.Distance) {
				p.s.mark(r.Kind, p.at(t, r.Distance), inkOf(r.Kind), opacity)
			}
		}
	} else {
		c.drawColumns(p, columns, Elsewhere)
		c.drawColumns(p, columns, Inside)
	}
	c.pointAbove(p)
}

// pointAbove sets a wedge at the upper edge over each stretch in a named condition that lies above the scale: how far an
// empty beam is from usual says nothing, and shown in full it would flatten what does.
func (c DistancePlot) pointAbove(p *panel) {
	from, to := -1, -1
	end := func() {
		if from >= 0 {
			x := (p.x.at(seconds(c.Readings[from].Time)) + p.x.at(seconds(c.Readings[to].Time))) / 2
			p.s.arrow(greyMid, pt(x, p.r.Max.Y), 0, 1)
		}
		from = -1
	}
	for i, r := range c.Readings {
		if r.Kind != Elsewhere || r.Distance <= p.y.hi || !p.x.inside(seconds(r.Time)) {
			if from >= 0 && p.x.at(seconds(r.Time))-p.x.at(seconds(c.Readings[to].Time)) > 6 {
				end()
			}
			continue
		}
		if from < 0 {
			from = i
		}
		to = i
	}
	end()
}

func inkOf(k Kind) color.RGBA {
	if k == Elsewhere {
		return greyMid
	}
	return hue
}

// drawColumns draws the readings in named conditions, or all the others.
func (c DistancePlot) drawColumns(p *panel, n int, kind Kind) {
	cols := make([]column, n)
	groups := make([][]float64, n/medianColumns+1)
	for _, r := range c.Readings {
		t := seconds(r.Time)
		if (r.Kind == Elsewhere) != (kind == Elsewhere) || !p.x.inside(t) || !p.y.inside(r.Distance) {
			continue
		}
		i := min(int(float64(n)*(t-p.x.lo)/(p.x.hi-p.x.lo)), n-1)
		y := p.y.at(r.Distance)
		col := &cols[i]
		if !col.some {
			*col = column{y, y, true}
		}
		col.lo, col.hi = min(col.lo, y), max(col.hi, y)
		groups[i/medianColumns] = append(groups[i/medianColumns], float64(y))
	}
	soft, full := hueSoft, hue
	if kind == Elsewhere {
		soft, full = band, greyMid
	}
	left := px(p.r.Min.X)
	for i, col := range cols {
		if col.some {
			x := length(left + i*columnDots)
			p.s.box(soft, x, col.lo-0.25, x+length(columnDots), col.hi+0.25)
		}
	}
	var run []vg.Point
	for i, g := range groups {
		if len(g) == 0 {
			p.s.line(pen{width: 1.1, ink: full}, run...)
			run = nil
			continue
		}
		slices.Sort(g)
		x := length(left + (i*medianColumns+medianColumns/2)*columnDots)
		run = append(run, pt(x, vg.Length(g[len(g)/2])))
	}
	p.s.line(pen{width: 1.1, ink: full}, run...)
}
