package chart

import (
	"fmt"

	"gonum.org/v1/plot/vg"
)

// A GroupsPlot shows in which direction from usual some places lie: for each group of spectra a panel with the difference of its
// mean spectrum, over the axis that all share, and the band that is usual. Where a difference leaves the band, it is filled, and
// its largest places carry their position. Each panel has a scale of its own.
type GroupsPlot struct {
	Axis   Axis
	Band   []float64 // half the width of what is usual, at each channel; empty: none is drawn
	Groups []GroupMean
	Size   Size
	Words  *Words // nil: English
}

// A GroupMean is the difference of the mean spectrum of a group from usual.
type GroupMean struct {
	Name       string
	Difference []float64
}

// groupHeight is that of a panel with its name.
const groupHeight = vg.Length(76)

// Draw returns the picture as PNG.
func (c GroupsPlot) Draw() ([]byte, error) {
	if err := c.validate(); err != nil {
		return nil, err
	}
	words := wordsOr(c.Words)
	n := vg.Length(len(c.Groups))
	s := newSheet(c.Size.width(), 27+n*groupHeight)
	for i, g := range c.Groups {
		bottom := 27 + (n-1-vg.Length(i))*groupHeight
		p := newPanel(s, 30, bottom, s.w-13, bottom+groupHeight-20)
		p.x.lo, p.x.hi = ends(c.Axis.At)
		one := SpectrumPlot{Axis: c.Axis, DiffAxis: c.Axis, Difference: g.Difference, Band: c.Band, Size: c.Size}
		one.drawGroup(p, g.Name, i == len(c.Groups)-1, words)
	}
	return s.png()
}

// drawGroup draws the panel of one group, the lowest with the axis.
func (c SpectrumPlot) drawGroup(p *panel, name string, lowest bool, w *Words) {
	moved := c.moved()
	c.drawDifference(p, moved, 0.22)
	yt, power := ticks(p.y.lo, p.y.hi, 3)
	p.yAxis(localise(yt, w), name, power)
	if lowest {
		xt, _ := ticks(p.x.lo, p.x.hi, map[Size]int{Half: 6, Full: 12}[c.Size])
		p.xAxis(localise(xt, w), c.Axis.Unit)
	}
	if !c.everywhere(moved) { // what is named everywhere is named nowhere
		c.nameMoved(p, moved, w)
	}
}

// Moved returns for each group the places at which its difference lies furthest outside what is usual, the three largest at
// most, and none where it lies outside over most of the axis.
func (c GroupsPlot) Moved() [][]float64 {
	all := make([][]float64, len(c.Groups))
	if c.validate() != nil {
		return all
	}
	for i, g := range c.Groups {
		one := SpectrumPlot{Axis: c.Axis, DiffAxis: c.Axis, Usual: make([]float64, len(c.Axis.At)), Difference: g.Difference, Band: c.Band}
		if !one.everywhere(one.moved()) {
			all[i] = one.Moved()
		}
	}
	return all
}

func (c GroupsPlot) validate() error {
	if len(c.Axis.At) < 2 || len(c.Groups) == 0 {
		return fmt.Errorf("groups: %d of them on an axis of %d channels, 1 and 2 are needed: %w", len(c.Groups), len(c.Axis.At), ErrNothing)
	}
	if err := checkValues("groups", "axis", c.Axis.At, len(c.Axis.At), false); err != nil {
		return err
	}
	if err := checkValues("groups", "usual band", c.Band, len(c.Axis.At), true); err != nil {
		return err
	}
	for _, g := range c.Groups {
		if err := checkValues("groups", "difference of "+g.Name, g.Difference, len(c.Axis.At), false); err != nil {
			return err
		}
	}
	return nil
}
