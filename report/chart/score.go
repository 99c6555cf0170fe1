package chart

import (
	"fmt"
	"image/color"
	"math"
	"strconv"
	"strings"
	"time"

	"gonum.org/v1/plot/vg"
)

// An Ellipse is a limit in the plane of two axes: its centre, half axes A and B, and the angle of A against the X axis
// in radians, anticlockwise.
type Ellipse struct {
	X, Y, A, B, Angle float64
}

// point returns the place on the ellipse at parameter u.
func (e Ellipse) point(u float64) Point {
	su, cu := math.Sincos(u)
	sa, ca := math.Sincos(e.Angle)
	return Point{e.X + e.A*cu*ca - e.B*su*sa, e.Y + e.A*cu*sa + e.B*su*ca}
}

// reach returns how far the ellipse extends from its centre along both axes.
func (e Ellipse) reach() (x, y float64) {
	sa, ca := math.Sincos(e.Angle)
	return math.Hypot(e.A*ca, e.B*sa), math.Hypot(e.A*sa, e.B*ca)
}

// A Mark is one spectrum of the period.
type Mark struct {
	X, Y float64
	Kind Kind
}

// A Cluster is a named place: a condition or an uncharted group.
type Cluster struct {
	Name string
	Ellipse
}

// A ScorePlot shows spectra in the plane of two scores, or of the two axes of the map of conditions: usual as a grey
// cloud, its limit, the conditions as ellipses with their names, and the spectra of a period, oldest first.
//
// The axes reach over usual, its limit and the period; with Whole also over every cluster. What lies beyond is not
// dropped: a wedge at the edge points to it and says how much it is. With Whole, an axis on which conditions lie far
// apart is logarithmic away from usual.
type ScorePlot struct {
	XLabel, YLabel string
	Usual          []Point
	Limit          *Ellipse
	Clusters       []Cluster
	Period         []Mark
	PeriodName     string  // written at the period's centre; "" for none
	Second         []Point // another period to compare with, drawn as an outline with an open centre
	SecondName     string
	First, Last    time.Time // of the period; zero: not written
	Whole          bool
	OneScore       bool // there is no second score: y says nothing, and the limit is a line at either end of its reach along x
	Size           Size
	Words          *Words // nil: English
}

// Draw returns the picture as PNG.
func (c ScorePlot) Draw() ([]byte, error) {
	if err := c.validate(); err != nil {
		return nil, err
	}
	w := c.Size.width()
	s := newSheet(w, min(w*1.04, 360))
	p := newPanel(s, 30, 27, s.w-13, s.h-20)
	c.setView(p)
	if c.OneScore {
		p.y.lo, p.y.hi = -1, 1
	}
	if c.Whole {
		c.spreadOut(p)
	}
	nx, ny := 6, 7
	if c.Size == Full {
		nx = 8
	}
	xt, xp := ticksOf(p.x, nx, 34)
	yt, yp := ticksOf(p.y, ny, 20)
	if c.OneScore {
		yt, yp = nil, ""
		p.strip(c.Usual)
	} else {
		p.cloud(p.places(c.Usual))
	}
	c.drawPeriod(p)
	c.drawClusters(p)
	c.drawLimit(p)
	switch {
	case len(c.Second) > 0 && c.OneScore:
		p.stripEnds(pen{width: medium, ink: ink}, c.Second, 0.9)
	case len(c.Second) > 0:
		p.outline(pen{width: medium, ink: ink}, p.places(c.Second), 0.9)
	}
	p.xAxis(localise(xt, c.words()), withPower(c.XLabel, xp))
	p.yAxis(localise(yt, c.words()), c.YLabel, yp)
	if p.x.warp != nil || p.y.warp != nil {
		s.text(tickText, pt(p.r.Max.X, p.r.Max.Y+6), align{-1, 1}, c.words().MapNote)
	}
	c.drawNames(p)
	return s.png()
}

func (c ScorePlot) words() *Words { return wordsOr(c.Words) }

func wordsOr(w *Words) *Words {
	if w == nil {
		return &English
	}
	return w
}

func withPower(label, power string) string {
	if power == "" {
		return label
	}
	return label + ", " + power
}

func (c ScorePlot) validate() error {
	for i, q := range c.Usual {
		if !finite(q.X) || !finite(q.Y) {
			return fmt.Errorf("score plot: usual spectrum %d lies at (%s, %s)", i+1, told(q.X), told(q.Y))
		}
	}
	for i, q := range c.Period {
		if !finite(q.X) || !finite(q.Y) {
			return fmt.Errorf("score plot: spectrum %d of the period lies at (%s, %s)", i+1, told(q.X), told(q.Y))
		}
	}
	for i, q := range c.Second {
		if !finite(q.X) || !finite(q.Y) {
			return fmt.Errorf("score plot: spectrum %d of the second period lies at (%s, %s)", i+1, told(q.X), told(q.Y))
		}
	}
	for _, e := range c.Clusters {
		if err := e.validate("the ellipse of " + strconv.Quote(e.Name)); err != nil {
			return err
		}
	}
	if c.Limit != nil {
		if err := c.Limit.validate("the limit"); err != nil {
			return err
		}
	}
	if len(c.Usual)+len(c.Period)+len(c.Second)+len(c.Clusters) == 0 && c.Limit == nil {
		return fmt.Errorf("score plot: %w", ErrNothing)
	}
	return nil
}

func (e Ellipse) validate(what string) error {
	for _, v := range []float64{e.X, e.Y, e.A, e.B, e.Angle} {
		if !finite(v) {
			return fmt.Errorf("score plot: %s has a number that is %s", what, told(v))
		}
	}
	return nil
}

func (p *panel) places(pts []Point) []vg.Point {
	all := make([]vg.Point, len(pts))
	for i, q := range pts {
		all[i] = p.at(q.X, q.Y)
	}
	return all
}

func (c ScorePlot) drawLimit(p *panel) {
	switch {
	case c.Limit == nil:
	case c.OneScore:
		p.upright(pen{width: thin, ink: ink}, c.Limit.X-c.Limit.A, c.Limit.X+c.Limit.A)
	default:
		p.ellipse(pen{width: 2 * thin, ink: paper}, *c.Limit)
		p.ellipse(pen{width: thin, ink: ink}, *c.Limit)
	}
}

// ellipse draws an ellipse, cut at the panel's edges.
func (p *panel) ellipse(pn pen, e Ellipse) {
	const n = 180
	var run []vg.Point
	for i := range n + 1 {
		q := e.point(2 * math.Pi * float64(i) / n)
		if p.x.inside(q.X) && p.y.inside(q.Y) {
			run = append(run, p.at(q.X, q.Y))
			continue
		}
		p.s.line(pn, run...)
		run = nil
	}
	p.s.line(pn, run...)
}

// smallest is the least half axis at which an ellipse can be told from a speck.
const smallest = vg.Length(4)

// circle draws the mark of a cluster that is small on this scale.
func (p *panel) circle(at vg.Point) {
	if !p.holds(at) {
		return
	}
	var run []vg.Point
	for i := range 37 {
		sin, cos := math.Sincos(float64(i) * math.Pi / 18)
		run = append(run, pt(at.X+smallest*vg.Length(cos), at.Y+smallest*vg.Length(sin)))
	}
	p.s.line(pen{width: thin, ink: inkSoft, dash: []vg.Length{2.5, 1.5}}, run...)
}

func (c ScorePlot) drawClusters(p *panel) {
	for _, cl := range c.Clusters {
		rx, ry := cl.reach()
		at := p.at(cl.X, cl.Y)
		if p.x.at(cl.X+rx)-at.X < smallest && p.y.at(cl.Y+ry)-at.Y < smallest {
			p.circle(at) // too small to be seen as an ellipse
			continue
		}
		p.ellipse(pen{width: 2 * thin, ink: paper}, cl.Ellipse)
		p.ellipse(pen{width: thin, ink: inkSoft, dash: []vg.Length{2.5, 1.5}}, cl.Ellipse)
	}
}

// drawPeriod draws the spectra in named conditions in grey, then the others.
func (c ScorePlot) drawPeriod(p *panel) {
	grey, dark, weight := p.layer(), p.layer(), ages(len(c.Period))
	for i, m := range c.Period {
		if !p.x.inside(m.X) || !p.y.inside(m.Y) {
			continue
		}
		if m.Kind == Elsewhere {
			grey.mark(m.Kind, p.at(m.X, m.Y), 1)
			continue
		}
		dark.mark(m.Kind, p.at(m.X, m.Y), weight(i))
	}
	grey.lay(greyMid, 0.5)
	dark.lay(hue, clamp(8/math.Sqrt(float64(len(c.Period))+1), 0.2, 0.7))
}

// drawNames writes the names once all is drawn: the newest spectrum first, which matters most, then the clusters, the
// limit and the cloud, and last what lies beyond the edges.
func (c ScorePlot) drawNames(p *panel) {
	w := c.words()
	if n := len(c.Period); n > 0 {
		c.nameEnds(p, w)
	}
	if c.PeriodName != "" && len(c.Period) > 0 {
		p.nameCentre(hueText, c.PeriodName, centre(c.Period), true)
	}
	if len(c.Second) > 0 {
		p.nameCentre(nameText, c.SecondName, centre(c.second()), false)
	}
	for _, far := range []bool{true, false} { // a wedge has but one place to stand
		for _, cl := range c.Clusters {
			if (len(p.visibleRim(cl.Ellipse)) == 0) == far {
				c.nameCluster(p, cl)
			}
		}
	}
	if c.Limit != nil {
		p.s.name(greyText, p.r, w.Limit, c.limitSpots(p))
	}
	if len(c.Usual) > 0 {
		p.s.name(greyText, p.r, w.Usual, c.usualSpots(p))
	}
	c.nameBeyond(p, w)
}

// nameEnds rings the newest spectrum and writes the period's first and last times at theirs.
func (c ScorePlot) nameEnds(p *panel, w *Words) {
	end := func(m Mark, t textStyle, text string, at time.Time, newest bool) {
		if at.IsZero() || !p.x.inside(m.X) || !p.y.inside(m.Y) {
			return
		}
		q := p.at(m.X, m.Y)
		if newest {
			p.s.mark(Inside, q, paper, 1)
			p.target(q, hue, true)
		}
		p.s.keep(vg.Rectangle{Min: pt(q.X-4, q.Y-4), Max: pt(q.X+4, q.Y+4)})
		p.s.name(t, p.r, strings.Replace(text, "{time}", at.Format("15:04"), 1), around(q, 6))
	}
	end(c.Period[len(c.Period)-1], hueText, w.Newest, c.Last, true)
	if len(c.Period) > 1 {
		end(c.Period[0], hueText, w.First, c.First, false)
	}
}

// target draws the mark of a centre or of the newest spectrum: a disc (or a square that is open) on a rim of paper.
func (p *panel) target(at vg.Point, clr color.RGBA, full bool) {
	const r = 3 * dotsPerPt
	if full {
		p.s.stamp(at, r+3, paper, func(dx, dy float64) float64 { return disc(math.Hypot(dx, dy), r+3) })
		p.s.stamp(at, r, clr, func(dx, dy float64) float64 { return disc(math.Hypot(dx, dy), r) })
		return
	}
	square := func(dx, dy, r float64) float64 { return disc(max(math.Abs(dx), math.Abs(dy)), r) }
	p.s.stamp(at, r+3, paper, func(dx, dy float64) float64 { return square(dx, dy, r+3) })
	p.s.stamp(at, r, clr, func(dx, dy float64) float64 { return square(dx, dy, r) - square(dx, dy, r-4) })
}

// second returns the second period as marks.
func (c ScorePlot) second() []Mark {
	marks := make([]Mark, len(c.Second))
	for i, q := range c.Second {
		marks[i] = Mark{X: q.X, Y: q.Y}
	}
	return marks
}

// nameCentre draws the centre of a period and writes its name there. One out of sight is told by the wedge that points to it.
func (p *panel) nameCentre(t textStyle, name string, centre Point, full bool) {
	if !p.x.inside(centre.X) || !p.y.inside(centre.Y) {
		return
	}
	at := p.at(centre.X, centre.Y)
	p.target(at, t.ink, full)
	p.s.name(t, p.r, name, around(at, 9))
}

// centre returns the middle of the marks that are not in a named condition; where all are, that of the first.
func centre(marks []Mark) Point {
	var x, y, n float64
	for _, m := range marks {
		if m.Kind != Elsewhere {
			x, y, n = x+m.X, y+m.Y, n+1
		}
	}
	if n == 0 {
		return Point{marks[0].X, marks[0].Y}
	}
	return Point{x / n, y / n}
}
