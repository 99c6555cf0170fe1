package chart

import (
	"math"
	"slices"

	"gonum.org/v1/plot/vg"
)

// A Point is a place in a picture, in the units of its axes.
type Point struct{ X, Y float64 }

// fewest is the number of points from which a cloud is drawn as a density; fewer are drawn each by itself.
const fewest = 40

// A density is how thick points lie over a panel, on a grid of cells of one point (1/72 inch).
type density struct {
	w, h  int
	at    vg.Point // the lower left corner of the grid
	cells []float64
}

// dense spreads points over a panel by a Gaussian kernel. Its width follows Scott's rule for two dimensions, spread times
// n to the power −1/6 (Scott 1992, Multivariate Density Estimation, section 6.3), the spread taken robustly from the quartiles.
func dense(p *panel, pts []vg.Point) density {
	d := density{w: int(p.r.Max.X-p.r.Min.X) + 1, h: int(p.r.Max.Y-p.r.Min.Y) + 1, at: p.r.Min}
	d.cells = make([]float64, d.w*d.h)
	xs, ys := make([]float64, 0, len(pts)), make([]float64, 0, len(pts))
	for _, q := range pts {
		x, y := int(q.X-d.at.X), int(q.Y-d.at.Y)
		xs, ys = append(xs, float64(q.X)), append(ys, float64(q.Y))
		if q.X >= d.at.X && q.Y >= d.at.Y && x < d.w && y < d.h {
			d.cells[y*d.w+x]++
		}
	}
	shrink := math.Pow(float64(len(pts)), -1.0/6)
	d.blur(clamp(spread(xs)*shrink, 1.5, 12), clamp(spread(ys)*shrink, 1.5, 12))
	return d
}

// spread returns a standard deviation that strays do not move: the quartile range of a Gaussian is 1.349 of it.
func spread(v []float64) float64 {
	slices.Sort(v)
	return (v[len(v)*3/4] - v[len(v)/4]) / 1.349
}

// blur smooths the cells by a Gaussian of the given standard deviations, in cells.
func (d density) blur(sx, sy float64) {
	row := make([]float64, max(d.w, d.h))
	for y := range d.h {
		smooth(d.cells[y*d.w:], row, d.w, 1, kernel(sx))
	}
	for x := range d.w {
		smooth(d.cells[x:], row, d.h, d.w, kernel(sy))
	}
}

func kernel(sigma float64) []float64 {
	n := int(math.Ceil(3 * sigma))
	k := make([]float64, 2*n+1)
	sum := 0.0
	for i := range k {
		k[i] = math.Exp(-0.5 * math.Pow(float64(i-n)/sigma, 2))
		sum += k[i]
	}
	for i := range k {
		k[i] /= sum
	}
	return k
}

// smooth convolves n cells that lie stride apart.
func smooth(cells, row []float64, n, stride int, k []float64) {
	half := len(k) / 2
	for i := range n {
		row[i] = 0
	}
	for i := range n {
		v := cells[i*stride]
		if v == 0 {
			continue
		}
		for j, w := range k {
			if at := i + j - half; at >= 0 && at < n {
				row[at] += v * w
			}
		}
	}
	for i := range n {
		cells[i*stride] = row[i]
	}
}

// value returns the density at a place, between cells by linear interpolation.
func (d density) value(x, y vg.Length) float64 {
	fx, fy := float64(x-d.at.X)-0.5, float64(y-d.at.Y)-0.5
	ix, iy := int(math.Floor(fx)), int(math.Floor(fy))
	fx, fy = fx-float64(ix), fy-float64(iy)
	return (1-fy)*((1-fx)*d.cell(ix, iy)+fx*d.cell(ix+1, iy)) + fy*((1-fx)*d.cell(ix, iy+1)+fx*d.cell(ix+1, iy+1))
}

func (d density) cell(x, y int) float64 {
	if x < 0 || y < 0 || x >= d.w || y >= d.h {
		return 0
	}
	return d.cells[y*d.w+x]
}

// level returns the density above which the given share of the points lies.
func (d density) level(pts []vg.Point, share float64) float64 {
	v := make([]float64, len(pts))
	for i, q := range pts {
		v[i] = d.value(q.X, q.Y)
	}
	slices.Sort(v)
	return v[clampInt(int((1-share)*float64(len(v))), 0, len(v)-1)]
}

func clampInt(v, lo, hi int) int { return max(lo, min(v, hi)) }

// cloud draws points as a grey density in steps: the parts that hold 99, 90, 70 and 40 % of them.
func (p *panel) cloud(pts []vg.Point) {
	if len(pts) < fewest {
		for _, q := range pts {
			p.s.mark(Inside, q, densities[len(densities)-1].grey, 1)
		}
		return
	}
	d := dense(p, pts)
	var levels [len(densities)]float64
	for i, step := range densities {
		levels[i] = d.level(pts, step.share)
	}
	s := p.s
	for y := s.py(p.r.Max.Y); y < s.py(p.r.Min.Y); y++ {
		for x := px(p.r.Min.X); x < px(p.r.Max.X); x++ {
			v := d.value(length(x)+length(1)/2, s.h-length(y)-length(1)/2)
			for i := len(levels) - 1; i >= 0; i-- {
				if v >= levels[i] && v > 0 {
					s.blend(x, y, densities[i].grey, 1)
					break
				}
			}
		}
	}
}

// outline draws the line round the part that holds the given share of the points within the panel, by marching over the cells.
func (p *panel) outline(pn pen, pts []vg.Point, share float64) {
	pts = slices.DeleteFunc(pts, func(q vg.Point) bool { return !p.holds(q) })
	if len(pts) < fewest {
		for _, q := range pts {
			p.s.mark(Outside, q, pn.ink, 0.8)
		}
		return
	}
	d := dense(p, pts)
	level := d.level(pts, share)
	corner := func(x, y int) vg.Point { return pt(d.at.X+vg.Length(x)+0.5, d.at.Y+vg.Length(y)+0.5) }
	for y := -1; y < d.h; y++ {
		for x := -1; x < d.w; x++ {
			at := [4]vg.Point{corner(x, y), corner(x+1, y), corner(x+1, y+1), corner(x, y+1)}
			v := [4]float64{d.cell(x, y), d.cell(x+1, y), d.cell(x+1, y+1), d.cell(x, y+1)}
			var cut []vg.Point
			for i := range 4 {
				j := (i + 1) % 4
				if (v[i] >= level) != (v[j] >= level) {
					f := vg.Length((level - v[i]) / (v[j] - v[i]))
					cut = append(cut, pt(at[i].X+f*(at[j].X-at[i].X), at[i].Y+f*(at[j].Y-at[i].Y)))
				}
			}
			for i := 0; i+1 < len(cut); i += 2 {
				p.s.line(pn, cut[i], cut[i+1])
			}
		}
	}
}
