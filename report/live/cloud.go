package live

import (
	"math"
	"slices"

	"asusual/report"
	"asusual/report/chart"
)

// A usualPicture is what stands still behind the newest spectra, ready to be drawn.
type usualPicture struct {
	Name           string       `json:"name"`
	Fingerprint    string       `json:"fingerprint"`
	Cloud          []contour    `json:"cloud"`
	Limit          [][2]float64 `json:"limit,omitempty"` // a closed line
	Ends           []float64    `json:"ends,omitempty"`  // the limit where there is one score alone: it lies between
	Conditions     []place      `json:"conditions,omitempty"`
	Labels         [2]string    `json:"labels"` // of the two scores
	Unit           string       `json:"unit"`
	At             []float64    `json:"at"`
	Mean           []float64    `json:"mean"`
	SD             []float64    `json:"sd"`
	Typical        float64      `json:"typical_distance,omitempty"`
	channels, each int          // of the reference, and how many of them one place stands for
}

// A contour encloses the part of the usual spectra that is the given share of them.
type contour struct {
	Share float64        `json:"share"`
	Rings [][][2]float64 `json:"rings"` // closed lines; what lies in an odd number of them is inside
}

// A place is a named condition in the plane of the scores.
type place struct {
	Name string       `json:"name"`
	Line [][2]float64 `json:"line"`
}

// maxChannels is how many channels of a spectrum a page is sent: a screen has no more columns for them.
const maxChannels = 512

// drawUsual prepares the picture of a reference.
func drawUsual(u Usual, l *report.Language) *usualPicture {
	p := &usualPicture{Name: u.Reference.Name, Fingerprint: u.Reference.Fingerprint, Unit: u.Axis.Unit, Cloud: contours(u.Scores)}
	for i := range p.Labels {
		p.Labels[i] = l.ScoreLabel(i+1, u.Carried[i])
	}
	switch {
	case u.OneScore:
		p.Cloud, p.Labels[1] = strips(u.Scores), ""
		if u.Limit != nil {
			p.Ends = []float64{figures(u.Limit.X-u.Limit.A, 5), figures(u.Limit.X+u.Limit.A, 5)}
		}
	case u.Limit != nil:
		p.Limit = rim(*u.Limit)
	}
	for _, c := range u.Conditions {
		p.Conditions = append(p.Conditions, place{c.Name, rim(c.Ellipse)})
	}
	n := min(len(u.Axis.At), len(u.Mean), len(u.SD))
	p.each, p.channels = max(1, (n+maxChannels-1)/maxChannels), n
	p.At, p.Mean, p.SD = p.thin(u.Axis.At), p.thin(u.Mean), p.thin(u.SD)
	if u.Typical > 0 && !math.IsInf(u.Typical, 0) {
		p.Typical = figures(u.Typical, 3)
	}
	return p
}

// thin returns the means of as many neighbouring channels as one place of the picture stands for; nil for other than as many
// channels as the reference has.
func (p *usualPicture) thin(values []float64) []float64 {
	if len(values) != p.channels {
		return nil
	}
	out := make([]float64, 0, maxChannels)
	for part := range slices.Chunk(values, p.each) {
		sum := 0.0
		for _, v := range part {
			sum += v
		}
		out = append(out, figures(sum/float64(len(part)), 6))
	}
	return out
}

// rim returns an ellipse as a closed line.
func rim(e chart.Ellipse) [][2]float64 {
	const n = 72
	line := make([][2]float64, 0, n)
	sa, ca := math.Sincos(e.Angle)
	for i := range n {
		su, cu := math.Sincos(2 * math.Pi * float64(i) / n)
		line = append(line, [2]float64{figures(e.X+e.A*cu*ca-e.B*su*sa, 5), figures(e.Y+e.A*cu*sa+e.B*su*ca, 5)})
	}
	return line
}

// The grid on which the density of the usual spectra is found, and the shares that are drawn, as in the pictures of reports.
const cells = 64

var shares = [...]float64{0.99, 0.90, 0.70, 0.40}

// fewest is the number of spectra from which a density says something.
const fewest = 40

// contours returns the lines round the parts of the usual spectra, the widest first. The density is a Gaussian kernel's, its width
// by Scott's rule for two dimensions (Scott 1992, Multivariate Density Estimation, section 6.3).
func contours(pts []chart.Point) []contour {
	pts = finite(pts)
	if len(pts) < fewest {
		return nil
	}
	g := newGrid(pts)
	level := make([]float64, len(pts))
	for i, p := range pts {
		level[i] = g.value(p)
	}
	slices.Sort(level)
	var all []contour
	for _, share := range shares {
		at := level[min(int((1-share)*float64(len(level))), len(level)-1)]
		if at > 0 {
			all = append(all, contour{Share: share, Rings: g.rings(at)})
		}
	}
	return all
}

// finite returns the points that lie somewhere.
func finite(pts []chart.Point) []chart.Point {
	return slices.DeleteFunc(slices.Clone(pts), func(p chart.Point) bool {
		return math.IsNaN(p.X+p.Y) || math.IsInf(p.X, 0) || math.IsInf(p.Y, 0)
	})
}

// strips are the contours where there is one score alone: between which values of it each share lies in the middle, over a height
// from −1 to 1 that says nothing.
func strips(pts []chart.Point) (all []contour) {
	pts = finite(pts)
	if len(pts) < fewest {
		return nil
	}
	x := make([]float64, len(pts))
	for i, p := range pts {
		x[i] = p.X
	}
	slices.Sort(x)
	for _, share := range shares {
		cut := int((1 - share) / 2 * float64(len(x)))
		lo, hi := figures(x[cut], 5), figures(x[len(x)-1-cut], 5)
		all = append(all, contour{Share: share, Rings: [][][2]float64{{{lo, -1}, {hi, -1}, {hi, 1}, {lo, 1}}}})
	}
	return all
}

// A grid holds a density at (cells+1)² places, zero along its edge.
type grid struct {
	x, y   float64 // of the first place
	dx, dy float64
	v      [cells + 1][cells + 1]float64 // by row, then column
}

// newGrid lays the points on a grid that reaches over all of them and three widths of the kernel more.
func newGrid(pts []chart.Point) *grid {
	xs, ys := make([]float64, len(pts)), make([]float64, len(pts))
	for i, p := range pts {
		xs[i], ys[i] = p.X, p.Y
	}
	shrink := math.Pow(float64(len(pts)), -1.0/6)
	hx, hy := spread(xs)*shrink, spread(ys)*shrink
	g := &grid{x: xs[0] - 4*hx, y: ys[0] - 4*hy} // both are sorted now
	g.dx, g.dy = (xs[len(xs)-1]+4*hx-g.x)/cells, (ys[len(ys)-1]+4*hy-g.y)/cells
	for j := 1; j < cells; j++ {
		for i := 1; i < cells; i++ {
			x, y := g.x+float64(i)*g.dx, g.y+float64(j)*g.dy
			for _, p := range pts {
				u, w := (p.X-x)/hx, (p.Y-y)/hy
				if d := u*u + w*w; d < 16 {
					g.v[j][i] += math.Exp(-d / 2)
				}
			}
		}
	}
	return g
}

// spread sorts the values and returns their standard deviation, taken from the quartiles so that strays do not move it.
func spread(v []float64) float64 {
	slices.Sort(v)
	s := (v[len(v)*3/4] - v[len(v)/4]) / 1.349
	if s > 0 {
		return s
	}
	return max((v[len(v)-1]-v[0])/4, 1e-12)
}

// value returns the density at a place, between those of the grid by linear interpolation.
func (g *grid) value(p chart.Point) float64 {
	fx, fy := (p.X-g.x)/g.dx, (p.Y-g.y)/g.dy
	i, j := min(max(int(fx), 0), cells-1), min(max(int(fy), 0), cells-1)
	fx, fy = fx-float64(i), fy-float64(j)
	return (1-fy)*((1-fx)*g.v[j][i]+fx*g.v[j][i+1]) + fy*((1-fx)*g.v[j+1][i]+fx*g.v[j+1][i+1])
}
