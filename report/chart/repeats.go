package chart

import (
	"fmt"
	"math"
)

// A RepeatsPlot shows how far repeated spectra of one thing differ from their mean, over the axis: the newest strong, the others faint.
type RepeatsPlot struct {
	Axis       Axis
	Deviations [][]float64 // of each repeat from the mean of all, the newest last
	Quantity   string      // of the deviations
	Size       Size
	Words      *Words // nil: English
}

// Draw returns the picture as PNG.
func (c RepeatsPlot) Draw() ([]byte, error) {
	if len(c.Axis.At) < 2 || len(c.Deviations) < 2 {
		return nil, fmt.Errorf("repeats: %d spectra of %d channels, 2 of each are needed: %w", len(c.Deviations), len(c.Axis.At), ErrNothing)
	}
	most := 0.0
	for i, d := range c.Deviations {
		if err := checkValues("repeats", fmt.Sprintf("repeat %d", i+1), d, len(c.Axis.At), false); err != nil {
			return nil, err
		}
		for _, v := range d {
			most = math.Max(most, math.Abs(v))
		}
	}
	if most == 0 {
		most = 1e-6
	}
	words := wordsOr(c.Words)
	w := c.Size.width()
	s := newSheet(w, min(w*0.6, 170))
	p := newPanel(s, 34, 27, w-13, s.h-20)
	p.x.lo, p.x.hi = ends(c.Axis.At)
	p.y.lo, p.y.hi = -1.15*most, 1.15*most
	yt, power := ticks(p.y.lo, p.y.hi, 4)
	p.rules(yt)
	gap := gapOf(c.Axis.At)
	last := len(c.Deviations) - 1
	for _, d := range c.Deviations[:last] {
		p.curve(pen{width: hair, ink: greyMid}, c.Axis.At, d, gap)
	}
	p.curve(pen{width: medium, ink: hue}, c.Axis.At, c.Deviations[last], gap)
	xt, _ := ticks(p.x.lo, p.x.hi, map[Size]int{Half: 6, Full: 12}[c.Size])
	p.xAxis(localise(xt, words), c.Axis.Unit)
	p.yAxis(localise(yt, words), words.FromMean, c.Quantity, power)
	return s.png()
}
