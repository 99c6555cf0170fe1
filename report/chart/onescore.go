package chart

import (
	"slices"

	"gonum.org/v1/plot/vg"
)

// With one score there is no plane: what would be a cloud is a strip of greys over the height of the panel, and its limit two lines.

// middle returns between which values the given share of the points lies in the middle along x. There must be some.
func middle(pts []Point, share float64) (lo, hi float64) {
	x := make([]float64, len(pts))
	for i, q := range pts {
		x[i] = q.X
	}
	slices.Sort(x)
	cut := int((1 - share) / 2 * float64(len(x)))
	return x[cut], x[len(x)-1-cut]
}

// strip draws points along x in the greys of a cloud: the middle parts that hold 99, 90, 70 and 40 % of them.
func (p *panel) strip(pts []Point) {
	if len(pts) < fewest {
		p.cloud(p.places(pts))
		return
	}
	for _, step := range densities {
		lo, hi := middle(pts, step.share)
		if x0, x1 := p.kept(lo, 0).X, p.kept(hi, 0).X; x1 > x0 {
			p.s.box(step.grey, x0, p.r.Min.Y, x1, p.r.Max.Y)
		}
	}
}

// stripEnds draws a line at either end of the middle part that holds the given share of the points.
func (p *panel) stripEnds(pn pen, pts []Point, share float64) {
	if len(pts) < fewest {
		p.outline(pn, p.places(pts), share)
		return
	}
	lo, hi := middle(pts, share)
	p.upright(pn, lo, hi)
}

// upright draws a line over the height of the panel at each of the values that lies on it.
func (p *panel) upright(pn pen, values ...float64) {
	for _, v := range values {
		if p.x.inside(v) {
			x := p.x.at(v)
			p.s.line(pen{width: 2 * pn.width, ink: paper}, pt(x, p.r.Min.Y), pt(x, p.r.Max.Y))
			p.s.line(pn, pt(x, p.r.Min.Y), pt(x, p.r.Max.Y))
		}
	}
}

// limitSpots are where the name of the limit may stand.
func (c ScorePlot) limitSpots(p *panel) (all []spot) {
	if !c.OneScore {
		return rim(p, *c.Limit)
	}
	for _, y := range []vg.Length{p.r.Max.Y - 4, p.r.Min.Y + 14} {
		for _, side := range []int{1, -1} {
			x := p.x.at(c.Limit.X + float64(side)*c.Limit.A)
			all = append(all, spot{pt(x+vg.Length(3*side), y), align{side, -1}}, spot{pt(x-vg.Length(3*side), y), align{-side, -1}})
		}
	}
	return all
}
