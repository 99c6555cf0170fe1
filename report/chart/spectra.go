package chart

import (
	"cmp"
	"fmt"
	"slices"

	"gonum.org/v1/plot/vg"
)

// An Axis is where the channels lie, and the symbol of their unit.
type Axis struct {
	At   []float64
	Unit string
}

// A Region is a published stretch of the axis where a kind of bond absorbs, by its name, such as "C–H". It is a hint
// where to look and says nothing about what is there.
type Region struct {
	From, To float64
	Name     string
}

// A SpectrumPlot shows the mean spectrum of a period against usual, and below it the difference with the band that is
// usual. Where the difference leaves the band, it is filled, and its largest places carry their position.
//
// The difference may lie on an axis of its own, such as the pretreated spectra's.
type SpectrumPlot struct {
	Axis         Axis
	Usual, Sigma []float64 // mean and standard deviation of usual spectra
	Period       []float64 // mean of the period; empty where it has no spectra
	PeriodName   string
	UsualName    string // "" for the usual word
	Quantity     string // what stands on the upper vertical axis, such as "absorbance"
	DiffAxis     Axis   // empty: Axis
	Difference   []float64
	Band         []float64 // half the width of what is usual for the difference, at each channel of it
	BandName     string    // "" for usual ± 2σ
	DiffQuantity string    // what stands on the lower vertical axis
	Regions      []Region  // in the unit of Axis
	Size         Size
	Words        *Words // nil: English
}

const rowHeight = vg.Length(7)

// Draw returns the picture as PNG.
func (c SpectrumPlot) Draw() ([]byte, error) {
	if len(c.DiffAxis.At) == 0 {
		c.DiffAxis = c.Axis
	}
	if err := c.validate(); err != nil {
		return nil, err
	}
	words := wordsOr(c.Words)
	w := c.Size.width()
	s := newSheet(w, min(w*1.04, 330))
	rows := regionNames(c.Regions, c.Axis)
	lane := vg.Length(len(rows)) * rowHeight
	middle := 27 + (s.h-27-20-20-lane)*0.5
	lower := newPanel(s, 30, 27, w-13, middle)
	upper := newPanel(s, 30, middle+20+lane, w-13, s.h-20)
	lo, hi := ends(c.Axis.At)
	for _, p := range []*panel{lower, upper} {
		p.x.lo, p.x.hi = lo, hi
	}
	moved := c.moved()
	marked := moved
	if c.everywhere(moved) {
		marked = nil // what is marked everywhere is marked nowhere
	}
	for _, m := range marked {
		x0, x1 := lower.x.at(min(m.from, m.to)), lower.x.at(max(m.from, m.to))
		s.box(wash, x0, lower.r.Min.Y, max(x1, x0+1), upper.r.Max.Y)
	}
	c.drawUpper(upper, words)
	c.drawRegions(upper, rows, marked)
	c.drawLower(lower, moved, words)
	return s.png()
}

func ends(at []float64) (lo, hi float64) { return slices.Min(at), slices.Max(at) }

func (c SpectrumPlot) validate() error {
	if len(c.Axis.At) < 2 {
		return fmt.Errorf("mean spectrum: the axis has %d channels, 2 are needed: %w", len(c.Axis.At), ErrNothing)
	}
	for _, v := range []struct {
		what   string
		values []float64
		want   int
		none   bool
	}{
		{"axis", c.Axis.At, len(c.Axis.At), false}, {"mean of usual", c.Usual, len(c.Axis.At), false},
		{"standard deviation of usual", c.Sigma, len(c.Axis.At), true}, {"mean of the period", c.Period, len(c.Axis.At), true},
		{"axis of the difference", c.DiffAxis.At, len(c.DiffAxis.At), false},
		{"difference", c.Difference, len(c.DiffAxis.At), true}, {"band of the difference", c.Band, len(c.DiffAxis.At), true},
	} {
		if err := checkValues("mean spectrum", v.what, v.values, v.want, v.none); err != nil {
			return err
		}
	}
	return nil
}

// checkValues reports a wrong length and the first number that is not finite.
func checkValues(picture, what string, values []float64, want int, none bool) error {
	if none && len(values) == 0 {
		return nil
	}
	if len(values) != want {
		return fmt.Errorf("%s: the %s has %d values, the axis %d channels", picture, what, len(values), want)
	}
	for i, v := range values {
		if !finite(v) {
			return fmt.Errorf("%s: the %s is %s at channel %d", picture, what, told(v), i+1)
		}
	}
	return nil
}

// drawUpper draws the mean of usual, its band and the mean of the period.
func (c SpectrumPlot) drawUpper(p *panel, w *Words) {
	x, n := c.Axis.At, len(c.Axis.At)
	lo, hi := make([]float64, n), make([]float64, n)
	for i, v := range c.Usual {
		sd := 0.0
		if len(c.Sigma) > 0 {
			sd = c.Sigma[i]
		}
		lo[i], hi[i] = v-2*sd, v+2*sd
	}
	var e extent
	for i := range n {
		e.add(lo[i], hi[i])
		if len(c.Period) > 0 {
			e.add(c.Period[i], c.Period[i])
		}
	}
	room := 0.16 * (e.hi - e.lo) // for the names above and below the curves
	p.y.lo, p.y.hi = e.lo-room, e.hi+room/2
	gap := gapOf(x)
	p.between(band, x, lo, hi, gap)
	p.curve(pen{width: medium, ink: greyMid}, x, c.Usual, gap)
	if len(c.Period) > 0 {
		p.curve(pen{width: strong, ink: hue}, x, c.Period, gap)
	}
	yt, power := ticks(p.y.lo, p.y.hi, 4)
	p.yAxis(localise(yt, w), c.Quantity, power)
	name := c.UsualName
	if name == "" {
		name = w.UsualBand
	}
	curves := [][]float64{lo, hi}
	if len(c.Period) > 0 {
		curves = append(curves, c.Period)
		p.s.name(hueText, p.r, c.PeriodName, p.besides(hueText.width(c.PeriodName), x, c.Period, true, curves))
	}
	p.s.name(greyText, p.r, name, p.besides(greyText.width(name), x, c.Usual, false, curves))
}

func localise(all []tick, w *Words) []tick {
	for i := range all {
		all[i].label = w.decimal(all[i].label)
	}
	return all
}

// besides returns spots above (or below) a curve, clear of all the curves: first where the curve is level, so that the
// name stands close to all of it. wide is the width of the name.
func (p *panel) besides(wide vg.Length, x, y []float64, above bool, curves [][]float64) []spot {
	type place struct {
		spot
		steep vg.Length
	}
	var all []place
	half := max(26, wide/2) // of the width that the name needs, in points
	for f := vg.Length(0.12); f < 0.9; f += 0.04 {
		cx := p.r.Min.X + f*(p.r.Max.X-p.r.Min.X)
		lo, hi := p.r.Max.Y, p.r.Min.Y
		own := [2]vg.Length{lo, hi}
		for i := range x {
			if at := p.x.at(x[i]); at > cx-half && at < cx+half {
				own = [2]vg.Length{min(own[0], p.y.at(y[i])), max(own[1], p.y.at(y[i]))}
				for _, cv := range curves {
					lo, hi = min(lo, p.y.at(cv[i])), max(hi, p.y.at(cv[i]))
				}
			}
		}
		at := spot{pt(cx, hi+4), align{0, 1}}
		if !above {
			at = spot{pt(cx, lo-4), align{0, -1}}
		}
		all = append(all, place{at, own[1] - own[0]})
	}
	slices.SortStableFunc(all, func(a, b place) int { return cmp.Compare(a.steep, b.steep) })
	spots := make([]spot, 0, len(all))
	for _, a := range all {
		spots = append(spots, a.spot)
	}
	return spots
}

// drawLower draws the difference and the usual band about zero.
func (c SpectrumPlot) drawLower(p *panel, moved []movement, w *Words) {
	c.drawDifference(p, moved, 0.2)
	xt, _ := ticks(p.x.lo, p.x.hi, map[Size]int{Half: 6, Full: 12}[c.Size])
	yt, power := ticks(p.y.lo, p.y.hi, 5)
	p.xAxis(localise(xt, w), c.Axis.Unit)
	label := c.DiffQuantity
	if label == "" {
		label = w.Difference
	}
	p.yAxis(localise(yt, w), label, power)
	c.nameMoved(p, moved, w)
	if name := c.BandName; len(c.Band) > 0 {
		if name == "" {
			name = w.UsualBand
		}
		x, wide, other := c.DiffAxis.At, greyText.width(name), c.differenceOrZero()
		neg := negative(c.Band)
		p.s.name(greyText, p.r, name, append(p.besides(wide, x, neg, false, [][]float64{neg, other}), p.besides(wide, x, c.Band, true, [][]float64{c.Band, other})...))
	}
}

// drawDifference draws the usual band about zero and the difference over it, with room above and below as a share of their span.
func (c SpectrumPlot) drawDifference(p *panel, moved []movement, room float64) {
	x, gap, neg := c.DiffAxis.At, gapOf(c.DiffAxis.At), negative(c.Band)
	var e extent
	e.add(0, 0)
	for _, values := range [][]float64{neg, c.Band, c.Difference} {
		for _, v := range values {
			e.add(v, v)
		}
	}
	span := e.hi - e.lo
	if span == 0 {
		span = 1
	}
	p.y.lo, p.y.hi = e.lo-room*span, e.hi+room*span
	if len(c.Band) > 0 {
		p.between(band, x, neg, c.Band, gap)
	}
	p.s.line(pen{width: hair, ink: inkSoft}, pt(p.r.Min.X, p.y.at(0)), pt(p.r.Max.X, p.y.at(0)))
	if len(c.Difference) > 0 {
		c.fillMoved(p, moved)
		p.curve(pen{width: strong, ink: hue}, x, c.Difference, gap)
	}
}

func negative(values []float64) []float64 {
	neg := make([]float64, len(values))
	for i, v := range values {
		neg[i] = -v
	}
	return neg
}

// differenceOrZero is the difference, or zeros where there is none.
func (c SpectrumPlot) differenceOrZero() []float64 {
	if len(c.Difference) > 0 {
		return c.Difference
	}
	return make([]float64, len(c.DiffAxis.At))
}
