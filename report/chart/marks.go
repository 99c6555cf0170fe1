package chart

import (
	"image"
	"image/color"
	"math"
	"slices"

	"gonum.org/v1/plot/vg"
)

// A Kind says where a spectrum lies. Each has a shape of its own.
type Kind uint8

// The kinds of a mark.
const (
	Inside    Kind = iota // within the limits of usual: a disc
	Outside               // outside them: a ring
	Elsewhere             // in a named condition other than usual: a small cross
	Unplaced              // not fit to be judged: it lies nowhere, and is not drawn
)

// Expected reports whether a spectrum of the kind should have been usual.
func (k Kind) Expected() bool { return k == Inside || k == Outside }

// The sizes of the marks, in points.
const (
	discRadius = 1.3
	ringRadius = 1.7
	ringWidth  = 0.7
	crossArm   = 1.5
	crossWidth = 0.5
)

// disc returns how much of the pixel at distance d (in pixels) from the centre a disc of radius r covers.
func disc(d, r float64) float64 { return clamp(r+0.5-d, 0, 1) }

// mark sets a mark of a kind at a place.
func (s *sheet) mark(k Kind, at vg.Point, clr color.RGBA, opacity float64) {
	s.shape(k, at, func(x, y int, cover float64) { s.blend(x, y, clr, cover*opacity) })
}

// mark adds a mark of a kind to the layer.
func (l *layer) mark(k Kind, at vg.Point, weight float64) {
	l.s.shape(k, at, func(x, y int, cover float64) {
		if (image.Point{X: x, Y: y}).In(l.r) {
			l.cover[(y-l.r.Min.Y)*l.r.Dx()+x-l.r.Min.X] += float32(cover * weight)
		}
	})
}

// shape calls set with the pixels of a mark and how much of each it covers. Pixel by pixel, 30,000 marks take a tenth of
// a second; as paths they take several.
func (s *sheet) shape(k Kind, at vg.Point, set func(x, y int, cover float64)) {
	switch k {
	case Outside:
		const r, w = ringRadius * dotsPerPt, ringWidth * dotsPerPt
		s.each(at, r, set, func(dx, dy float64) float64 {
			d := math.Hypot(dx, dy)
			return disc(d, r) - disc(d, r-w)
		})
	case Elsewhere:
		const r, w = crossArm * dotsPerPt, crossWidth * dotsPerPt / 2
		s.each(at, r, set, func(dx, dy float64) float64 {
			dx, dy = math.Abs(dx), math.Abs(dy)
			return max(clamp(w+0.5-dx, 0, 1)*clamp(r+0.5-dy, 0, 1), clamp(w+0.5-dy, 0, 1)*clamp(r+0.5-dx, 0, 1))
		})
	default:
		const r = discRadius * dotsPerPt
		s.each(at, r, set, func(dx, dy float64) float64 { return disc(math.Hypot(dx, dy), r) })
	}
}

// stamp blends a shape of radius r pixels; cover is given the way from its centre.
func (s *sheet) stamp(at vg.Point, r float64, clr color.RGBA, cover func(dx, dy float64) float64) {
	s.each(at, r, func(x, y int, c float64) { s.blend(x, y, clr, c) }, cover)
}

// each calls set with the pixels within r pixels of a place that a shape covers.
func (s *sheet) each(at vg.Point, r float64, set func(x, y int, cover float64), cover func(dx, dy float64) float64) {
	cx, cy := float64(at.X)*dotsPerPt-0.5, float64(s.h-at.Y)*dotsPerPt-0.5
	for y := int(math.Floor(cy - r)); y <= int(math.Ceil(cy+r)); y++ {
		for x := int(math.Floor(cx - r)); x <= int(math.Ceil(cx+r)); x++ {
			if c := cover(float64(x)-cx, float64(y)-cy); c > 0 {
				set(x, y, c)
			}
		}
	}
}

// arrow draws a small wedge at an edge that points outwards.
func (s *sheet) arrow(clr color.RGBA, at vg.Point, dx, dy float64) {
	n := math.Hypot(dx, dy)
	if n == 0 {
		return
	}
	dx, dy = dx/n, dy/n
	const long, half = 5, 2.2
	back := pt(at.X-vg.Length(long*dx), at.Y-vg.Length(long*dy))
	s.area(clr, at, pt(back.X-vg.Length(half*dy), back.Y+vg.Length(half*dx)), pt(back.X+vg.Length(half*dy), back.Y-vg.Length(half*dx)))
}

// A layer gathers how much of each pixel marks of one colour cover before it is laid on the sheet, so that where they
// lie dense can be told from where they lie thin, however many there are.
type layer struct {
	s     *sheet
	r     image.Rectangle
	cover []float32
}

func (p *panel) layer() *layer {
	r := image.Rect(px(p.r.Min.X), p.s.py(p.r.Max.Y), px(p.r.Max.X), p.s.py(p.r.Min.Y))
	return &layer{s: p.s, r: r, cover: make([]float32, r.Dx()*r.Dy())}
}

// lay blends the layer onto the sheet. A cover of 1 by the heaviest mark alone gets at least the opacity alone; much
// cover approaches full opacity, reached to nine tenths where only one covered pixel in twenty has more.
func (l *layer) lay(clr color.RGBA, alone float64) {
	var some []float32
	for i := 0; i < len(l.cover); i += 3 {
		if l.cover[i] > 0.05 {
			some = append(some, l.cover[i])
		}
	}
	if len(some) == 0 {
		return
	}
	slices.Sort(some)
	gain := math.Max(-math.Log(1-alone), math.Min(6, math.Ln10/float64(some[len(some)*19/20])))
	for y := range l.r.Dy() {
		for x := range l.r.Dx() {
			if c := float64(l.cover[y*l.r.Dx()+x]); c > 0 {
				l.s.blend(l.r.Min.X+x, l.r.Min.Y+y, clr, 1-math.Exp(-gain*c))
			}
		}
	}
}

// ages returns the weight of each of n marks from the oldest to the newest, which weighs 1.
func ages(n int) func(i int) float64 {
	return func(i int) float64 {
		if n < 2 {
			return 1
		}
		return 0.25 + 0.75*math.Pow(float64(i)/float64(n-1), 3)
	}
}
