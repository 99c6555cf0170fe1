package chart

import (
	"cmp"
	"errors"
	"math"
	"slices"
	"strconv"
	"strings"

	"gonum.org/v1/plot/vg"
)

// ErrNothing is the error of a picture that has nothing to show.
var ErrNothing = errors.New("nothing to draw")

// outermost is how many times further than usual and its limit the axes reach at most for the sake of the period:
// beyond it the cloud of usual would be too small to be read.
const outermost = 8

// setView sets the scales of a score plot.
func (c ScorePlot) setView(p *panel) {
	var x, y extent
	for _, q := range c.Usual {
		x.values, y.values = append(x.values, q.X), append(y.values, q.Y)
	}
	x.trim(0.001)
	y.trim(0.001)
	if c.Limit != nil {
		x.ellipse(c.Limit.X, first(c.Limit.reach()))
		y.ellipse(c.Limit.Y, second(c.Limit.reach()))
	}
	var px, py extent
	for _, m := range c.Period {
		if m.Kind != Elsewhere || c.Whole {
			px.values, py.values = append(px.values, m.X), append(py.values, m.Y)
		}
	}
	for _, q := range c.Second {
		px.values, py.values = append(px.values, q.X), append(py.values, q.Y)
	}
	px.trim(0.002)
	py.trim(0.002)
	x.join(px, c.Whole)
	y.join(py, c.Whole)
	for _, cl := range c.Clusters {
		if c.Whole {
			x.ellipse(cl.X, first(cl.reach()))
			y.ellipse(cl.Y, second(cl.reach()))
		}
	}
	p.x.lo, p.x.hi = x.padded()
	p.y.lo, p.y.hi = y.padded()
}

func first(a, _ float64) float64  { return a }
func second(_, b float64) float64 { return b }

// An extent is a growing range.
type extent struct {
	values []float64
	lo, hi float64
	some   bool
}

// trim takes the range of the values, without the given share at an end where they lie far out.
func (e *extent) trim(share float64) {
	if len(e.values) == 0 {
		return
	}
	slices.Sort(e.values)
	n := len(e.values)
	cut := int(share * float64(n))
	lo, hi := e.values[cut], e.values[n-1-cut]
	room := 0.25 * (hi - lo)
	if lo-e.values[0] < room {
		lo = e.values[0]
	}
	if e.values[n-1]-hi < room {
		hi = e.values[n-1]
	}
	e.add(lo, hi)
}

func (e *extent) add(lo, hi float64) {
	if !e.some {
		e.lo, e.hi, e.some = lo, hi, true
		return
	}
	e.lo, e.hi = math.Min(e.lo, lo), math.Max(e.hi, hi)
}

func (e *extent) ellipse(centre, reach float64) { e.add(centre-reach, centre+reach) }

// join widens e to o, but not beyond the outermost unless all is wanted.
func (e *extent) join(o extent, all bool) {
	if !o.some {
		return
	}
	if !e.some || all || e.hi == e.lo {
		e.add(o.lo, o.hi)
		return
	}
	reach := outermost * (e.hi - e.lo) / 2
	mid := (e.lo + e.hi) / 2
	e.add(clamp(o.lo, mid-reach, mid+reach), clamp(o.hi, mid-reach, mid+reach))
}

func (e *extent) padded() (lo, hi float64) {
	if !e.some {
		return -1, 1
	}
	pad := 0.06 * (e.hi - e.lo)
	if pad == 0 {
		pad = math.Max(1e-9, math.Abs(e.lo)*0.1)
	}
	return e.lo - pad, e.hi + pad
}

// rim returns the spots outside an ellipse, right above first.
func rim(p *panel, e Ellipse) (all []spot) {
	for _, deg := range []float64{50, 130, 310, 230, 20, 160, 340, 200, 90, 270} {
		q := e.point(deg*math.Pi/180 - e.Angle)
		at := p.at(q.X, q.Y)
		c := p.at(e.X, e.Y)
		dx, dy := float64(at.X-c.X), float64(at.Y-c.Y)
		n := math.Max(math.Hypot(dx, dy), 1e-9)
		al := align{1, 0}
		if dx < 0 {
			al.h = -1
		}
		if math.Abs(dx) < 0.3*n {
			al = align{0, 1}
			if dy < 0 {
				al.v = -1
			}
		}
		all = append(all, spot{pt(at.X+vg.Length(4*dx/n), at.Y+vg.Length(4*dy/n)), al})
	}
	return all
}

// usualSpots are places in the cloud of usual, from its lower edge upwards.
func (c ScorePlot) usualSpots(p *panel) (all []spot) {
	pts := p.places(c.Usual)
	slices.SortFunc(pts, func(a, b vg.Point) int { return cmp.Compare(a.Y, b.Y) })
	n := len(pts)
	for i := range 60 { // every spectrum's place is a place for the name; sixty of them leave enough choice
		at := pts[(n-1)*(i+2)/64]
		all = append(all, spot{at, align{0, 0}})
	}
	return all
}

// nameCluster writes a cluster's name at its edge; a cluster out of sight gets a wedge at the edge of the picture.
func (c ScorePlot) nameCluster(p *panel, cl Cluster) {
	if p.x.inside(cl.X) && p.y.inside(cl.Y) {
		rx, ry := cl.reach()
		at := p.at(cl.X, cl.Y)
		up, side := p.y.at(cl.Y+ry)-at.Y+3, p.x.at(cl.X+rx)-at.X+4
		spots := []spot{
			{pt(at.X, at.Y+up), align{0, 1}}, {pt(at.X, at.Y-up), align{0, -1}},
			{pt(at.X+side, at.Y), align{1, 0}}, {pt(at.X-side, at.Y), align{-1, 0}},
		}
		if w := nameText.width(cl.Name); w < 2*side-10 && up > 9 {
			spots = append([]spot{{at, align{0, 0}}}, spots...)
		}
		p.s.name(nameText, p.r, cl.Name, spots)
		return
	}
	if spots := p.visibleRim(cl.Ellipse); len(spots) > 0 {
		p.s.name(nameText, p.r, cl.Name, spots)
		return
	}
	p.pointTo(nameText, cl.Name, Point{cl.X, cl.Y})
}

// visibleRim returns spots at the part of an ellipse that lies within the panel, whose centre does not.
func (p *panel) visibleRim(e Ellipse) (all []spot) {
	for deg := 0; deg < 360; deg += 5 {
		q := e.point(float64(deg) * math.Pi / 180)
		if p.x.inside(q.X) && p.y.inside(q.Y) {
			at := p.at(q.X, q.Y)
			all = append(all, spot{pt(at.X, at.Y+4), align{0, 1}}, spot{pt(at.X, at.Y-4), align{0, -1}})
		}
	}
	return all
}

// pointTo draws a wedge at the edge of the panel towards a place outside it, and names the place.
func (p *panel) pointTo(t textStyle, name string, to Point) {
	mid := pt((p.r.Min.X+p.r.Max.X)/2, (p.r.Min.Y+p.r.Max.Y)/2)
	q := p.at(to.X, to.Y)
	dx, dy := float64(q.X-mid.X), float64(q.Y-mid.Y)
	f := math.Min(
		float64(p.r.Max.X-mid.X-1)/math.Max(math.Abs(dx), 1e-9),
		float64(p.r.Max.Y-mid.Y-1)/math.Max(math.Abs(dy), 1e-9))
	at := pt(mid.X+vg.Length(f*dx), mid.Y+vg.Length(f*dy))
	p.s.arrow(t.ink, at, dx, dy)
	n := math.Hypot(dx, dy)
	in := pt(at.X-vg.Length(8*dx/n), at.Y-vg.Length(8*dy/n))
	p.s.keep(vg.Rectangle{Min: pt(at.X-3, at.Y-3), Max: pt(at.X+3, at.Y+3)})
	al := align{-1, 0}
	if dx < 0 {
		al.h = 1
	}
	if math.Abs(dy)*float64(p.r.Max.X-p.r.Min.X) > math.Abs(dx)*float64(p.r.Max.Y-p.r.Min.Y) {
		al = align{0, -1}
		if dy < 0 {
			al.v = 1
		}
	}
	p.s.name(t, p.r, name, []spot{{in, al}, {pt(in.X, in.Y+11), al}, {pt(in.X, in.Y-11), al}})
}

// nameBeyond says how many spectra lie beyond each edge, and of which period where two are shown. Those in a named condition that is
// out of sight are told by its name already.
func (c ScorePlot) nameBeyond(p *panel, w *Words) {
	if len(c.Second) == 0 || c.PeriodName == "" {
		p.nameBeyond(hueText, w.Beyond, c.Period)
	} else {
		p.nameBeyond(hueText, c.PeriodName+": "+w.Beyond, c.Period)
	}
	p.nameBeyond(nameText, c.SecondName+": "+w.Beyond, c.second())
}

// nameBeyond points to the marks beyond each edge and says how many they are.
func (p *panel) nameBeyond(t textStyle, said string, marks []Mark) {
	type side struct {
		n    int
		x, y float64
	}
	var sides [4]side
	for _, m := range marks {
		if !m.Kind.Expected() || p.x.inside(m.X) && p.y.inside(m.Y) {
			continue
		}
		k := 0
		switch {
		case m.X > p.x.hi:
			k = 0
		case m.X < p.x.lo:
			k = 1
		case m.Y > p.y.hi:
			k = 2
		default:
			k = 3
		}
		sides[k].n++
		sides[k].x += m.X
		sides[k].y += m.Y
	}
	for _, sd := range sides {
		if sd.n > 0 {
			text := strings.Replace(said, "{n}", strconv.Itoa(sd.n), 1)
			p.pointTo(t, text, Point{sd.x / float64(sd.n), sd.y / float64(sd.n)})
		}
	}
}
