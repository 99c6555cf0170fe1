package chart

import (
	"cmp"
	"math"
	"slices"

	"gonum.org/v1/plot/vg"
)

// spreadOut warps the scales of a map, so that conditions that lie far apart (an empty beam) leave room to those that lie
// close together (usual and start-up): nearly linear over usual, logarithmic far from it.
func (c ScorePlot) spreadOut(p *panel) {
	var x, y extent
	for _, q := range c.Usual {
		x.values, y.values = append(x.values, q.X), append(y.values, q.Y)
	}
	x.trim(0.01)
	y.trim(0.01)
	if c.Limit != nil {
		x.ellipse(c.Limit.X, first(c.Limit.reach()))
		y.ellipse(c.Limit.Y, second(c.Limit.reach()))
	}
	warp := func(e extent, c *scale) {
		half := (e.hi - e.lo) / 2
		if !e.some || half <= 0 || c.hi-c.lo < 12*half {
			return // all is near enough
		}
		mid := (e.lo + e.hi) / 2
		c.warp = func(v float64) float64 { return math.Asinh((v - mid) / half) }
		lo, hi := c.warp(c.lo), c.warp(c.hi)
		pad := 0.05 * (hi - lo)
		c.lo, c.hi = mid+half*math.Sinh(lo-pad), mid+half*math.Sinh(hi+pad)
	}
	warp(x, &p.x)
	warp(y, &p.y)
}

// ticksOf returns the ticks of a scale. On a warped one they are zero and 1, 2 and 5 times powers of ten to both sides,
// as many as stand clear of each other.
func ticksOf(c scale, n int, apart vg.Length) ([]tick, string) {
	if c.warp == nil {
		return ticks(c.lo, c.hi, n)
	}
	all := []tick{{0, "0"}}
	top := math.Max(math.Abs(c.lo), math.Abs(c.hi))
	e := int(math.Floor(math.Log10(top)))
	for range 5 {
		for _, m := range []float64{1, 5, 2} {
			v := m * math.Pow(10, float64(e))
			for _, s := range []float64{v, -v} {
				clear := func(t tick) bool { return math.Abs(float64(c.at(s)-c.at(t.at))) < float64(apart) }
				if c.inside(s) && !slices.ContainsFunc(all, clear) {
					all = append(all, tick{s, number(s, max(0, -e))})
				}
			}
		}
		e--
	}
	if !c.inside(0) {
		all = all[1:]
	}
	slices.SortFunc(all, func(a, b tick) int { return cmp.Compare(a.at, b.at) })
	return all, ""
}
