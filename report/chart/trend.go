package chart

import (
	"fmt"
	"math"
	"time"

	"gonum.org/v1/plot/vg"
)

// A Trend is one measure of the instrument over time, and its limits: above the first the instrument is ageing, above the second it is
// unfit. Below zero where a limit does not apply.
type Trend struct {
	Name, Unit    string
	Times         []time.Time
	Values        []float64
	Ageing, Unfit float64
}

// A TrendPlot shows measures of the instrument over time, one below the other over one time axis, each from zero to beyond its limits.
type TrendPlot struct {
	From, To time.Time // in the zone in which times are shown
	Trends   []Trend
	Size     Size
	Words    *Words // nil: English
}

// trendHeight and trendGap are the height of one measure's panel and what lies between two, in points.
const (
	trendHeight = vg.Length(52)
	trendGap    = vg.Length(24)
)

// Draw returns the picture as PNG.
func (c TrendPlot) Draw() ([]byte, error) {
	if err := c.validate(); err != nil {
		return nil, err
	}
	words := wordsOr(c.Words)
	n := vg.Length(len(c.Trends))
	s := newSheet(c.Size.width(), 27+n*trendHeight+(n-1)*trendGap+20)
	xt := timeTicks(c.From, c.To, map[Size]int{Half: 4, Full: 8}[c.Size], words)
	for i, t := range c.Trends {
		bottom := 27 + vg.Length(len(c.Trends)-1-i)*(trendHeight+trendGap)
		p := newPanel(s, 34, bottom, s.w-13, bottom+trendHeight)
		p.x.lo, p.x.hi = seconds(c.From), seconds(c.To)
		t.draw(p, words)
		if i == len(c.Trends)-1 {
			p.xAxis(xt, "")
		} else {
			p.s.line(pen{width: hair, ink: inkSoft}, p.r.Min, pt(p.r.Max.X, p.r.Min.Y))
		}
	}
	return s.png()
}

func (c TrendPlot) validate() error {
	if len(c.Trends) == 0 {
		return fmt.Errorf("trends: no measure: %w", ErrNothing)
	}
	if !c.To.After(c.From) {
		return fmt.Errorf("trends: they end at %s, before they begin at %s", c.To.Format(time.RFC3339), c.From.Format(time.RFC3339))
	}
	for _, t := range c.Trends {
		if len(t.Times) == 0 || len(t.Times) != len(t.Values) {
			return fmt.Errorf("trends: %s: %d times for %d values", t.Name, len(t.Times), len(t.Values))
		}
		if err := checkValues("trends", t.Name, t.Values, len(t.Values), false); err != nil {
			return err
		}
	}
	return nil
}

// draw draws one measure into its panel.
func (t Trend) draw(p *panel, w *Words) {
	top, low := 0.0, 0.0
	for _, v := range append([]float64{t.Ageing, t.Unfit}, t.Values...) {
		top, low = math.Max(top, v), math.Min(low, v)
	}
	if t.Ageing < 0 || t.Unfit < 0 { // a limit that does not apply is no value
		low = 0
		for _, v := range t.Values {
			low = math.Min(low, v)
		}
	}
	if top == low {
		top = low + 1
	}
	p.y.lo, p.y.hi = low, top+0.15*(top-low)
	yt, power := ticks(p.y.lo, p.y.hi, 2)
	p.rules(yt)
	var names []func()
	for _, l := range []struct {
		at   float64
		name string
	}{{t.Ageing, w.Ageing}, {t.Unfit, w.Unfit}} {
		if l.at < 0 || l.name == w.Ageing && t.Ageing == t.Unfit {
			continue
		}
		y := p.y.at(l.at)
		p.s.line(pen{width: thin, ink: ink}, pt(p.r.Min.X, y), pt(p.r.Max.X, y))
		names = append(names, func() { // where the curve leaves room
			p.s.name(greyText, p.r, l.name, []spot{{pt(p.r.Max.X-2, y+5), align{-1, 0}}, {pt(p.r.Max.X-2, y-5), align{-1, 0}},
				{pt(p.r.Min.X+4, y-5), align{1, 0}}, {pt(p.r.Min.X+4, y+5), align{1, 0}}})
		})
	}
	x := make([]float64, len(t.Times))
	for i, at := range t.Times {
		x[i] = seconds(at)
	}
	p.curve(pen{width: medium, ink: hue}, x, t.Values, 0)
	if len(x) <= 60 { // where they are few, each is a measurement to be seen
		for i := range x {
			if q := p.at(x[i], t.Values[i]); q.X >= p.r.Min.X && q.X <= p.r.Max.X {
				p.s.mark(Inside, q, hue, 1)
			}
		}
	}
	for _, name := range names {
		name()
	}
	p.yAxis(localise(yt, w), t.Name, t.Unit, power)
}
