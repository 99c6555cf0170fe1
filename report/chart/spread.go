package chart

import (
	"fmt"
	"math"

	"gonum.org/v1/plot/vg"
)

// A SpreadPlot shows how the distances of two periods are spread: that period as a grey area, this one as a line of the
// dark hue, over the same scale as the distance over time.
type SpreadPlot struct {
	This, That         []float64
	ThisName, ThatName string
	Size               Size
	Words              *Words // nil: English
}

const spreadBins = 48

// Draw returns the picture as PNG.
func (c SpreadPlot) Draw() ([]byte, error) {
	if len(c.This)+len(c.That) == 0 {
		return nil, fmt.Errorf("spread of distances: %w", ErrNothing)
	}
	top := 2.0
	for _, v := range [][]float64{c.This, c.That} {
		for i, d := range v {
			if !finite(d) || d < 0 {
				return nil, fmt.Errorf("spread of distances: distance %d is %s", i+1, told(d))
			}
			top = math.Max(top, d)
		}
	}
	words := wordsOr(c.Words)
	w := c.Size.width()
	s := newSheet(w, 150)
	p := newPanel(s, 30, 27, w-13, s.h-20)
	p.x.lo, p.x.hi, p.x.warp = 0, distanceTop(top), distanceWarp
	this, that := p.shares(c.This), p.shares(c.That)
	p.y.hi = 0
	for i := range this {
		p.y.hi = math.Max(p.y.hi, math.Max(this[i], that[i])*1.25)
	}
	p.bars(that, func(x0, x1, y vg.Length) { s.box(band, x0, p.r.Min.Y, x1, y) })
	var outline []vg.Point
	p.bars(this, func(x0, x1, y vg.Length) { outline = append(outline, pt(x0, y), pt(x1, y)) })
	s.line(pen{width: strong, ink: hue}, outline...)
	s.line(pen{width: thin, ink: ink}, pt(p.x.at(1), p.r.Min.Y), pt(p.x.at(1), p.r.Max.Y))
	s.name(greyText, p.r, words.Limit, []spot{{pt(p.x.at(1)+3, p.r.Max.Y-3), align{1, -1}}})
	xt := distanceTicks(p.x.hi)
	yt, _ := ticks(0, p.y.hi, 4)
	label := words.Distance
	if p.x.hi > 2 {
		label += ", " + words.DistanceNote
	}
	p.xAxis(localise(xt, words), label)
	p.yAxis(localise(yt, words), words.Share, "%")
	c.nameTop(p, hueText, c.ThisName, this)
	c.nameTop(p, greyText, c.ThatName, that)
	return s.png()
}

// shares returns the share of distances, in per cent, in each bin of equal width on the picture.
func (p *panel) shares(d []float64) []float64 {
	bins := make([]float64, spreadBins)
	for _, v := range d {
		f := float64((p.x.at(v) - p.r.Min.X) / (p.r.Max.X - p.r.Min.X))
		bins[clampInt(int(f*spreadBins), 0, spreadBins-1)] += 100 / float64(len(d))
	}
	return bins
}

// bars calls draw with the edges and the top of each bin.
func (p *panel) bars(bins []float64, draw func(x0, x1, y vg.Length)) {
	w := (p.r.Max.X - p.r.Min.X) / spreadBins
	for i, v := range bins {
		x := p.r.Min.X + w*vg.Length(i)
		draw(x, x+w, p.y.at(v))
	}
}

// nameTop writes a name at the highest bin.
func (c SpreadPlot) nameTop(p *panel, t textStyle, name string, bins []float64) {
	best := 0
	for i, v := range bins {
		if v > bins[best] {
			best = i
		}
	}
	if bins[best] == 0 {
		return
	}
	w := (p.r.Max.X - p.r.Min.X) / spreadBins
	at := pt(p.r.Min.X+w*(vg.Length(best)+0.5), p.y.at(bins[best]))
	p.s.name(t, p.r, name, []spot{
		{pt(at.X, at.Y+4), align{0, 1}}, {pt(at.X-12, at.Y), align{-1, -1}}, {pt(at.X+12, at.Y), align{1, -1}},
		{pt(at.X+20, at.Y-10), align{1, -1}}, {pt(at.X-20, at.Y-10), align{-1, -1}},
	})
}
