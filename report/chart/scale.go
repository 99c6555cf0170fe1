package chart

import (
	"math"
	"strconv"
	"strings"

	"gonum.org/v1/plot/vg"
)

// A scale turns values into lengths. A warp, where there is one, is applied first and must rise.
type scale struct {
	lo, hi   float64
	from, to vg.Length
	warp     func(float64) float64
}

func (c scale) at(v float64) vg.Length {
	lo, hi := c.lo, c.hi
	if c.warp != nil {
		v, lo, hi = c.warp(v), c.warp(lo), c.warp(hi)
	}
	return c.from + vg.Length((v-lo)/(hi-lo))*(c.to-c.from)
}

// inside reports whether the value lies on the scale.
func (c scale) inside(v float64) bool { return v >= min(c.lo, c.hi) && v <= max(c.lo, c.hi) }

// distanceWarp is linear up to the limit and logarithmic above it; at 1 both value and slope meet.
// So the limit stays readable, and a distance of 500 does not flatten one of 0.8.
func distanceWarp(d float64) float64 {
	if d <= 1 {
		return d
	}
	return 1 + math.Log(d)
}

// distanceTop returns the top of a distance scale that shows d.
func distanceTop(d float64) float64 {
	for _, top := range []float64{2, 5, 10, 20, 50, 100, 200, 500} {
		if d <= top {
			return top
		}
	}
	return math.Pow(10, math.Ceil(math.Log10(d)))
}

// distanceTicks returns the ticks of a distance scale.
func distanceTicks(top float64) []tick {
	ticks := []tick{{0, "0"}, {0.5, "0.5"}, {1, "1"}, {2, "2"}}
	for decade := 1.0; decade < top*1.01; decade *= 10 {
		for _, m := range []float64{1, 2, 5} {
			v := m * decade
			if v <= 2 || v > top*1.001 || m != 1 && top > 100 && v > 5 {
				continue
			}
			label := strconv.FormatFloat(v, 'f', -1, 64)
			if v >= 1e6 { // which would be wider than the margin
				label = "10" + raise(int(math.Round(math.Log10(v))))
			}
			ticks = append(ticks, tick{v, label})
		}
	}
	return ticks
}

// A tick is a place on an axis and what is written there.
type tick struct {
	at    float64
	label string
}

// step returns the round step (1, 2 or 5 times a power of ten) that cuts the span into at most n parts.
func step(span float64, n int) float64 {
	raw := span / float64(n)
	p := math.Pow(10, math.Floor(math.Log10(raw)))
	for _, m := range []float64{1, 2, 5} {
		if m*p >= raw*(1-1e-9) {
			return m * p
		}
	}
	return 10 * p
}

// ticks returns the round numbers between lo and hi, in at most n steps, and the power of ten that was taken out of
// their labels ("" for none).
func ticks(lo, hi float64, n int) (all []tick, power string) {
	if lo > hi {
		lo, hi = hi, lo
	}
	if !(hi > lo) {
		return nil, ""
	}
	d := step(hi-lo, n)
	unit := 1.0
	if top := math.Max(math.Abs(lo), math.Abs(hi)); top < 2e-2 || top >= 1e5 {
		e := int(math.Floor(math.Log10(top)))
		unit = math.Pow(10, float64(e))
		power = "×10" + raise(e)
	}
	decimals := max(0, -int(math.Floor(math.Log10(d/unit)+1e-9)))
	first, last := math.Ceil(lo/d-1e-9), math.Floor(hi/d+1e-9)
	if !(last-first <= float64(n)+1) || first+1 == first { // so little beside lo that no number can tell the steps apart
		return nil, ""
	}
	for i := first; i <= last; i++ {
		all = append(all, tick{i * d, number(i*d/unit, decimals)})
	}
	return all, power
}

// number writes v with a true minus sign, and no minus before zero.
func number(v float64, decimals int) string {
	s := strconv.FormatFloat(v, 'f', decimals, 64)
	if strings.Trim(s, "-0.") == "" {
		return strings.TrimPrefix(s, "-")
	}
	return strings.Replace(s, "-", "−", 1)
}

// raise writes an exponent in raised figures.
func raise(e int) string {
	up := []rune(raised)
	var b strings.Builder
	for _, r := range strconv.Itoa(e) {
		if r == '-' {
			b.WriteRune(up[0])
			continue
		}
		b.WriteRune(up[1+int(r-'0')])
	}
	return b.String()
}

// told says a number of an error: what is not finite in words, for the error may stand on a page in the picture's place.
func told(v float64) string {
	switch {
	case math.IsNaN(v):
		return "not a number"
	case math.IsInf(v, 0):
		return "infinite"
	}
	return strconv.FormatFloat(v, 'g', 4, 64)
}
