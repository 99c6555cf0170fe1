package chart

import (
	"bytes"
	"image"
	"image/color"
	"image/png"
	"math"

	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/vgimg"
)

// A sheet is the paper of one picture. Lengths are points from its lower left corner.
type sheet struct {
	c     *vgimg.Canvas
	pix   *image.RGBA // the same picture as c's, for marks that are quicker set pixel by pixel
	w, h  vg.Length
	taken []vg.Rectangle // where names stand already
}

func newSheet(w, h vg.Length) *sheet {
	c := vgimg.NewWith(vgimg.UseWH(w, h), vgimg.UseDPI(dpi), vgimg.UseBackgroundColor(paper))
	return &sheet{c: c, pix: c.Image().(*image.RGBA), w: w, h: h}
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
	type group struct{ index, leads int }
	groups := make([]group, levels*levels*levels)
	out := image.NewPaletted(m.Rect, nil)
	for i := range out.Pix {
		c := color.RGBA{m.Pix[4*i], m.Pix[4*i+1], m.Pix[4*i+2], 0xff}
		g := &groups[(part[c.R]*levels+part[c.G])*levels+part[c.B]]
		if g.index == 0 {
			if len(out.Palette) == 256 {
				return nil, false
			}
			out.Palette = append(out.Palette, c)
			g.index = len(out.Palette)
		}
		// The colour that most of a group have, found in one pass by majority vote (Boyer and Moore 1991).
		switch lead := out.Palette[g.index-1]; {
		case lead == c:
			g.leads++
		case g.leads == 0:
			out.Palette[g.index-1], g.leads = c, 1
		default:
			g.leads--
		}
		out.Pix[i] = uint8(g.index - 1)
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
	if len(pts) < 2 {
		return
	}
	s.c.SetLineWidth(p.width)
	s.c.SetLineDash(p.dash, 0)
	s.c.SetColor(p.ink)
	step := pathLength
	if p.dash != nil {
		step = len(pts) // a dash must run on
	}
	for from := 0; from < len(pts)-1; from += step {
		var path vg.Path
		path.Move(pts[from])
		for _, q := range pts[from+1 : min(from+step+1, len(pts))] {
			path.Line(q)
		}
		s.c.Stroke(path)
	}
}

// area fills a polygon.
func (s *sheet) area(clr color.RGBA, pts ...vg.Point) {
	if len(pts) < 3 {
		return
	}
	var path vg.Path
	path.Move(pts[0])
	for _, q := range pts[1:] {
		path.Line(q)
	}
	path.Close()
	s.c.SetColor(clr)
	s.c.Fill(path)
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
