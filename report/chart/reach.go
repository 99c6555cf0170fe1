package chart

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"gonum.org/v1/plot/vg"
)

// A ReachPlot shows what a reference would see: above, the mean spectrum of usual; below, at each place of the axis, the
// height of the smallest band there that would be seen. Low is good. A height that is not finite means that no band
// there would be seen; its stretch is hatched and says so.
type ReachPlot struct {
	Axis     Axis
	Usual    []float64
	Quantity string // of Usual
	Places   Axis   // where the smallest band was sought
	Smallest []float64
	Height   string  // what stands on the lower vertical axis; "" for the usual words
	Highest  float64 // the largest height that was tried; 0 for the largest that is finite
	Size     Size
	Words    *Words // nil: English
}

// Draw returns the picture as PNG.
func (c ReachPlot) Draw() ([]byte, error) {
	if err := c.validate(); err != nil {
		return nil, err
	}
	words := wordsOr(c.Words)
	w := c.Size.width()
	s := newSheet(w, min(w*0.95, 280))
	middle := 27 + (s.h-27-20-22)*0.56
	lower := newPanel(s, 30, 27, w-13, middle)
	upper := newPanel(s, 30, middle+22, w-13, s.h-20)
	lo, hi := ends(c.Axis.At)
	upper.x.lo, upper.x.hi, lower.x.lo, lower.x.hi = lo, hi, lo, hi
	var e extent
	for _, v := range c.Usual {
		e.add(v, v)
	}
	upper.y.lo, upper.y.hi = e.padded()
	yt, power := ticks(upper.y.lo, upper.y.hi, 3)
	upper.yAxis(localise(yt, words), c.Quantity, power)
	upper.curve(pen{width: medium, ink: greyMid}, c.Axis.At, c.Usual, gapOf(c.Axis.At))
	s.name(greyText, upper.r, words.MeanUsual, upper.besides(greyText.width(words.MeanUsual), c.Axis.At, c.Usual, true, [][]float64{c.Usual}))
	c.drawLower(lower, words)
	return s.png()
}

func (c ReachPlot) validate() error {
	if len(c.Axis.At) < 2 || len(c.Places.At) < 2 {
		return fmt.Errorf("reach: %d channels and %d places, 2 of each are needed: %w", len(c.Axis.At), len(c.Places.At), ErrNothing)
	}
	if len(c.Smallest) != len(c.Places.At) {
		return fmt.Errorf("reach: %d heights for %d places", len(c.Smallest), len(c.Places.At))
	}
	if err := checkValues("reach", "axis", c.Axis.At, len(c.Axis.At), false); err != nil {
		return err
	}
	if err := checkValues("reach", "places", c.Places.At, len(c.Places.At), false); err != nil {
		return err
	}
	return checkValues("reach", "mean of usual", c.Usual, len(c.Axis.At), false)
}

func (c ReachPlot) drawLower(p *panel, w *Words) {
	lo, hi := math.Inf(1), 0.0
	for _, v := range c.Smallest {
		if finite(v) && v > 0 {
			lo, hi = math.Min(lo, v), math.Max(hi, v)
		}
	}
	if hi == 0 {
		lo, hi = 0.001, 0.01
	}
	hi = math.Max(hi, c.Highest)
	var yt []tick
	power := ""
	if hi/lo > 30 {
		p.y.lo, p.y.hi, p.y.warp = lo/1.5, hi*1.5, math.Log10
		yt = logTicks(p.y.lo, p.y.hi)
	} else {
		p.y.lo, p.y.hi = 0, hi*1.12
		yt, power = ticks(0, p.y.hi, 4)
	}
	p.rules(yt)
	unseen := c.hatchUnseen(p)
	x, gap := c.Places.At, gapOf(c.Places.At)
	seen := make([]float64, len(c.Smallest))
	for i, v := range c.Smallest {
		seen[i] = v
		if v <= 0 {
			seen[i] = math.NaN()
		}
	}
	p.curve(pen{width: strong, ink: hue}, x, seen, gap)
	for _, spots := range unseen {
		p.s.name(greyText, p.r, w.NotSeen, spots)
	}
	xt, _ := ticks(p.x.lo, p.x.hi, map[Size]int{Half: 6, Full: 12}[c.Size])
	p.xAxis(localise(xt, w), c.Axis.Unit)
	label := c.Height
	if label == "" {
		label = w.SmallestBand
	}
	p.yAxis(localise(yt, w), label, power)
}

// hatchUnseen hatches the stretches where no band would be seen, and returns the spots for the name of each.
func (c ReachPlot) hatchUnseen(p *panel) (names [][]spot) {
	at := c.Places.At
	edge := func(i int) vg.Length { // half way to the neighbour before place i
		if i == 0 || i == len(at) {
			return p.x.at(at[min(i, len(at)-1)])
		}
		return p.x.at((at[i-1] + at[i]) / 2)
	}
	for i := 0; i < len(at); i++ {
		if finite(c.Smallest[i]) {
			continue
		}
		from := i
		for i < len(at) && !finite(c.Smallest[i]) {
			i++
		}
		x0, x1 := edge(from), edge(i)
		if from == 0 { // what lies beyond the outermost place was not sought: it belongs to its neighbour
			x0 = p.r.Min.X
		}
		if i == len(at) {
			x1 = p.r.Max.X
		}
		x0, x1 = max(p.r.Min.X, min(x0, x1)), min(p.r.Max.X, max(x0, x1))
		p.hatch(x0, x1)
		y := (p.r.Min.Y + p.r.Max.Y) / 2
		names = append(names, []spot{
			{pt((x0+x1)/2, y), align{0, 0}}, {pt(x1, p.r.Min.Y+4), align{-1, 1}}, {pt(x0, p.r.Min.Y+4), align{1, 1}},
			{pt(x1, p.r.Max.Y-4), align{-1, -1}}, {pt(x0, p.r.Max.Y-4), align{1, -1}},
		})
	}
	return names
}

// logTicks returns ticks at 1, 2 and 5 of each decade, or at the decades alone where they are many.
func logTicks(lo, hi float64) (all []tick) {
	steps := []float64{1, 2, 5}
	if hi/lo > 200 {
		steps = steps[:1]
	}
	for e := math.Floor(math.Log10(lo)); e <= math.Ceil(math.Log10(hi)); e++ {
		for _, m := range steps {
			if v := m * math.Pow(10, e); v >= lo && v <= hi {
				all = append(all, tick{v, strconv.FormatFloat(v, 'f', max(0, int(-e)), 64)})
			}
		}
	}
	return all
}

// A ChoicePlot shows how the number of components was chosen: the share of variation that each carries, and what is
// left over in the runs held out, both in per cent, from the first component on.
type ChoicePlot struct {
	Carried  []float64
	LeftOver []float64
	K        int // the chosen one
	Size     Size
	Words    *Words // nil: English
}

// Draw returns the picture as PNG.
func (c ChoicePlot) Draw() ([]byte, error) {
	n := max(len(c.Carried), len(c.LeftOver))
	if n == 0 {
		return nil, fmt.Errorf("choice of k: %w", ErrNothing)
	}
	for _, v := range []struct {
		what   string
		values []float64
	}{{"share of variation", c.Carried}, {"rest", c.LeftOver}} {
		if err := checkValues("choice of k", v.what, v.values, len(v.values), true); err != nil {
			return nil, err
		}
	}
	words := wordsOr(c.Words)
	w := c.Size.width()
	s := newSheet(w, 190)
	middle := 27 + (s.h-27-20-22)*0.5
	lower := newPanel(s, 30, 27, w-13, middle)
	upper := newPanel(s, 30, middle+22, w-13, s.h-20)
	for _, p := range []*panel{upper, lower} {
		p.x.lo, p.x.hi = 0.4, float64(n)+0.6
	}
	c.drawPart(upper, c.Carried, words.Carried, words)
	c.drawPart(lower, c.LeftOver, words.LeftOver, words)
	var xt []tick
	every := max(1, int(step(float64(n), 12)))
	for k := 1; k <= n; k++ {
		if k == 1 || k%every == 0 {
			xt = append(xt, tick{float64(k), strconv.Itoa(k)})
		}
	}
	lower.xAxis(xt, words.Components)
	return s.png()
}

// drawPart draws one row of figures on a logarithmic scale: a disc each, the chosen one large.
func (c ChoicePlot) drawPart(p *panel, v []float64, label string, w *Words) {
	lo, hi := math.Inf(1), 0.0
	for _, x := range v {
		if x > 0 {
			lo, hi = math.Min(lo, x), math.Max(hi, x)
		}
	}
	if hi == 0 {
		lo, hi = 0.1, 100
	}
	p.y.lo, p.y.hi, p.y.warp = lo/1.8, hi*1.8, math.Log10
	yt := logTicks(p.y.lo, p.y.hi)
	p.rules(yt)
	p.yAxis(localise(yt, w), label)
	var run []vg.Point
	for i, x := range v {
		if x > 0 {
			run = append(run, p.at(float64(i+1), x))
		}
	}
	p.s.line(pen{width: hair, ink: hue}, run...)
	for i, x := range v {
		if x <= 0 {
			continue
		}
		at := p.at(float64(i+1), x)
		p.s.mark(Inside, at, hue, 1)
		if i+1 == c.K {
			p.target(at, hue, true)
			p.s.name(hueText, p.r, strings.Replace(w.Chosen, "{k}", strconv.Itoa(c.K), 1), around(at, 6)[0:])
		}
	}
}
