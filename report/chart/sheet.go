package chart

import (
	"bytes"
	"image"
	"image/color"
	"image/draw"
	"image/png"
	"math"

	"git.sr.ht/~sbinet/gg"
	"gonum.org/v1/plot/vg"
)

// A sheet is the paper of one picture. Lengths are points from its lower left corner.
//
// Note: its lines are drawn by the library that gonum/plot's own canvas for pictures draws with. That canvas would bring formats of
// pictures, a typesetter of formulas and its four faces: 0.8 MB of the program.
type sheet struct {
	c     *gg.Context // in pixels, its lower left corner 0
	pix   *image.RGBA // the same picture as c's, for marks that are quicker set pixel by pixel
	w, h  vg.Length
	taken []vg.Rectangle // where names stand already
}

func newSheet(w, h vg.Length) *sheet {
	pix := image.NewRGBA(image.Rect(0, 0, px(w), px(h)))
	draw.Draw(pix, pix.Rect, image.NewUniform(paper), image.Point{}, draw.Src)
	c := gg.NewContextForRGBA(pix)
	c.SetLineCapButt()
	c.InvertY()
	return &sheet{c: c, pix: pix, w: w, h: h}
}

// png returns the picture's bytes, in at most 256 colours: a third of the size of all of them, and no eye can tell.
func (s *sheet) png() ([]byte, error) {
	var b bytes.Buffer
	enc := png.Encoder{CompressionLevel: png.BestSpeed}
	if err := enc.Encode(&b, reduce(s.pix)); err != nil {
		return nil, err
	}
	return b.Bytes(), nil
}

// reduce returns the picture in at most 256 colours. Colours that are alike share one, which is the one that most pixels
// have, so that paper, ink, greys and the hue stay exactly as they are.
func reduce(m *image.RGBA) *image.Paletted {
	for levels := 32; ; levels -= 4 {
		if p, ok := tryReduce(m, levels); ok || levels <= 8 {
			return p
		}
	}
}

// tryReduce groups colours that agree on each channel to one part in levels.
func tryReduce(m *image.RGBA, levels int) (*image.Paletted, bool) {
	var part [256]int
	for v := range part {
		part[v] = (v*(levels-1) + 127) / 255
	}
	type group struct {
		index, leads int
		lead         [3]uint8
	}
	groups := make([]*group, levels*levels*levels)
	var palette []*group
	out := image.NewPaletted(m.Rect, nil)
	var g *group // that of the pixel before: most pixels are as their neighbour is
	for i := range out.Pix {
		c := [3]uint8(m.Pix[4*i:])
		if g == nil || g.lead != c {
			at := &groups[(part[c[0]]*levels+part[c[1]])*levels+part[c[2]]]
			if *at == nil {
				if len(palette) == 256 {
					return nil, false
				}
				*at = &group{index: len(palette), lead: c}
				palette = append(palette, *at)
			}
			g = *at
		}
		// The colour that most of a group have, found in one pass by majority vote (Boyer and Moore 1991).
		switch {
		case g.lead == c:
			g.leads++
		case g.leads == 0:
			g.lead, g.leads = c, 1
		default:
			g.leads--
		}
		out.Pix[i] = uint8(g.index)
	}
	for _, g := range palette {
		out.Palette = append(out.Palette, color.RGBA{g.lead[0], g.lead[1], g.lead[2], 0xff})
	}
	return out, true
}

// A pen draws lines.
type pen struct {
	width vg.Length
	ink   color.RGBA
	dash  []vg.Length
}

// pathLength is the number of points of one path. A long path costs far more than many short ones: a line of
// 30,000 points takes seconds as one path and a tenth of a second in pieces.
const pathLength = 120

// line draws a line through the points.
func (s *sheet) line(p pen, pts ...vg.Point) {
	if len(pts) < 2 || p.width <= 0 {
		return
	}
	dash := make([]float64, len(p.dash))
	for i, l := range p.dash {
		dash[i] = l.Dots(dpi)
	}
	s.c.SetLineWidth(p.width.Dots(dpi))
	s.c.SetDash(dash...)
	s.c.SetColor(p.ink)
	step := pathLength
	if p.dash != nil {
		step = len(pts) // a dash must run on
	}
	for from := 0; from < len(pts)-1; from += step {
		s.trace(pts[from:min(from+step+1, len(pts))])
		s.c.Stroke()
	}
}

// trace leads a path through the points.
func (s *sheet) trace(pts []vg.Point) {
	s.c.MoveTo(pts[0].X.Dots(dpi), pts[0].Y.Dots(dpi))
	for _, p := range pts[1:] {
		s.c.LineTo(p.X.Dots(dpi), p.Y.Dots(dpi))
	}
}

// area fills a polygon.
func (s *sheet) area(clr color.RGBA, pts ...vg.Point) {
	if len(pts) < 3 {
		return
	}
	s.trace(pts)
	s.c.ClosePath()
	s.c.SetColor(clr)
	s.c.Fill()
}

// box fills a rectangle, on whole pixels.
func (s *sheet) box(clr color.RGBA, x0, y0, x1, y1 vg.Length) {
	r := image.Rect(px(x0), s.py(y1), px(x1), s.py(y0)).Intersect(s.pix.Bounds())
	for y := r.Min.Y; y < r.Max.Y; y++ {
		for x := r.Min.X; x < r.Max.X; x++ {
			s.pix.SetRGBA(x, y, clr)
		}
	}
}

// px and py turn lengths into pixels.
func px(x vg.Length) int              { return int(math.Round(float64(x) * dotsPerPt)) }
func (s *sheet) py(y vg.Length) int   { return int(math.Round(float64(s.h-y) * dotsPerPt)) }
func pt(x, y vg.Length) vg.Point      { return vg.Point{X: x, Y: y} }
func length(pixels int) vg.Length     { return vg.Length(pixels) / dotsPerPt }
func finite(v float64) bool           { return !math.IsNaN(v) && !math.IsInf(v, 0) }
func clamp(v, lo, hi float64) float64 { return max(lo, min(hi, v)) }

// blend lays a colour over a pixel; cover is its opacity from 0 to 1.
func (s *sheet) blend(x, y int, clr color.RGBA, cover float64) {
	if cover <= 0 || !(image.Point{x, y}).In(s.pix.Rect) {
		return
	}
	a := int(math.Round(math.Min(cover, 1) * 255))
	p := s.pix.Pix[s.pix.PixOffset(x, y):]
	p[0] = mix(p[0], clr.R, a)
	p[1] = mix(p[1], clr.G, a)
	p[2] = mix(p[2], clr.B, a)
}

func mix(under, over uint8, a int) uint8 {
	return uint8((int(under)*(255-a) + int(over)*a + 127) / 255)
}
