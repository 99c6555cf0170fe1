package chart

import (
	"cmp"
	"math"
	"slices"

	"gonum.org/v1/plot/vg"
)

// A movement is a stretch of the axis over which the difference leaves the usual band: half-open channels, their
// places, and the channel that lies furthest out, in widths of the band.
type movement struct {
	i, j     int
	from, to float64
	peak     int
	excess   float64
}

// moved returns the movements. Neighbours to the same side are one movement. Single channels are left out: a lone
// channel is noise, a band of a spectrum never.
func (c SpectrumPlot) moved() (all []movement) {
	if len(c.Difference) == 0 || len(c.Band) == 0 {
		return nil
	}
	at := c.DiffAxis.At
	for i := 0; i < len(at); i++ {
		if math.Abs(c.Difference[i]) <= c.Band[i] {
			continue
		}
		m := movement{i: i, peak: i}
		for ; i < len(at) && math.Abs(c.Difference[i]) > c.Band[i]; i++ {
			if x := c.excess(i); x > m.excess {
				m.peak, m.excess = i, x
			}
		}
		m.j = i
		m.from, m.to = at[m.i], at[m.j-1]
		if n := len(all); n > 0 && m.i-all[n-1].j <= len(at)/40 && c.Difference[m.peak]*c.Difference[all[n-1].peak] > 0 {
			old := &all[n-1]
			old.j, old.to = m.j, m.to
			if m.excess > old.excess {
				old.peak, old.excess = m.peak, m.excess
			}
			continue
		}
		all = append(all, m)
	}
	return slices.DeleteFunc(all, func(m movement) bool { return m.j-m.i < 2 })
}

func (c SpectrumPlot) excess(i int) float64 {
	return math.Abs(c.Difference[i]) / math.Max(c.Band[i], 1e-300)
}

// everywhere reports whether the movements cover more than six tenths of the axis.
func (c SpectrumPlot) everywhere(moved []movement) bool {
	n := 0
	for _, m := range moved {
		n += m.j - m.i
	}
	return 10*n > 6*len(c.DiffAxis.At)
}

// fillMoved fills between the difference and the edge of the band.
func (c SpectrumPlot) fillMoved(p *panel, moved []movement) {
	for _, m := range moved {
		edge := make([]float64, m.j-m.i)
		for k := range edge {
			edge[k] = math.Copysign(math.Min(c.Band[m.i+k], math.Abs(c.Difference[m.i+k])), c.Difference[m.i+k])
		}
		p.between(hueSoft, c.DiffAxis.At[m.i:m.j], edge, c.Difference[m.i:m.j], 0)
	}
}

// decimals are how many a place on the axis is said with: so many that neighbouring channels can about be told apart.
func (a Axis) decimals() int {
	apart := gapOf(a.At) / 3
	if apart <= 0 {
		return 0
	}
	return max(0, int(math.Round(-math.Log10(apart))))
}

// nameMoved writes the position at the three movements that lie furthest out.
func (c SpectrumPlot) nameMoved(p *panel, moved []movement, w *Words) {
	decimals := c.DiffAxis.decimals()
	by := slices.Clone(moved)
	slices.SortStableFunc(by, func(a, b movement) int { return cmp.Compare(b.excess, a.excess) })
	for _, m := range by[:min(3, len(by))] {
		d := c.Difference[m.peak]
		q := p.at(c.DiffAxis.At[m.peak], d)
		al, dy := align{0, 1}, vg.Length(4)
		if d < 0 {
			al, dy = align{0, -1}, -4
		}
		text := w.decimal(number(c.DiffAxis.At[m.peak], decimals)) + " " + c.Axis.Unit
		p.s.name(hueText, p.r, text, []spot{
			{pt(q.X, q.Y+dy), al}, {pt(q.X+14, q.Y+dy), al}, {pt(q.X-14, q.Y+dy), al}, {pt(q.X+16, q.Y), align{1, 0}},
		})
	}
}

// regionNames returns the names of the regions that lie on the axis, in the order of their first.
func regionNames(all []Region, axis Axis) (names []string) {
	lo, hi := ends(axis.At)
	for _, r := range all {
		if r.To >= lo && r.From <= hi && !slices.Contains(names, r.Name) {
			names = append(names, r.Name)
		}
	}
	return names
}

// drawRegions draws a row for each kind of bond below the upper panel: a bar where it absorbs, dark where that is where
// the difference has moved.
func (c SpectrumPlot) drawRegions(p *panel, rows []string, moved []movement) {
	lo, hi := ends(c.Axis.At)
	for i, name := range rows {
		y := p.r.Min.Y - 4 - rowHeight*(vg.Length(i)+0.5)
		p.s.text(tickText, pt(p.r.Min.X-tickLength-2, y), align{-1, 0}, name)
		for _, r := range c.Regions {
			if r.Name != name || r.To < lo || r.From > hi {
				continue
			}
			clr := band
			for _, m := range moved {
				if r.From <= max(m.from, m.to) && r.To >= min(m.from, m.to) {
					clr = inkSoft
				}
			}
			x0, x1 := p.x.at(max(r.From, lo)), p.x.at(min(r.To, hi))
			p.s.box(clr, x0, y-1.25, max(x1, x0+1.5), y+1.25)
		}
	}
}

// Moved returns the places at which the difference lies furthest outside what is usual, the three largest at most, for
// the words that go with the picture.
func (c SpectrumPlot) Moved() (at []float64) {
	if len(c.DiffAxis.At) == 0 {
		c.DiffAxis = c.Axis
	}
	if c.validate() != nil {
		return nil
	}
	by := c.moved()
	slices.SortStableFunc(by, func(a, b movement) int { return cmp.Compare(b.excess, a.excess) })
	for _, m := range by[:min(3, len(by))] {
		at = append(at, c.DiffAxis.At[m.peak])
	}
	return at
}
