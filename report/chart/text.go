package chart

import (
	"image"
	"image/color"
	"math"
	"strings"

	stdfont "golang.org/x/image/font"
	"golang.org/x/image/math/fixed"
	"gonum.org/v1/plot/font"
	"gonum.org/v1/plot/vg"
)

// Raised and lowered signs are set as small figures off the line: the face lacks some of them, and drawn so they match.
const (
	raised  = "⁻⁰¹²³⁴⁵⁶⁷⁸⁹"
	lowered = "₋₀₁₂₃₄₅₆₇₈₉"
	plain   = "−0123456789"
)

const (
	smallScale = 0.68
	raisedBy   = 0.36 // of the size
	loweredBy  = -0.16
)

// A piece of a text: set on the line, raised or lowered.
type piece struct {
	text string
	face font.Face
	up   vg.Length
}

func (t textStyle) pieces(text string) []piece {
	var all []piece
	var run strings.Builder
	off, flat := 0.0, []rune(plain)
	end := func() {
		switch {
		case run.Len() == 0:
		case off != 0:
			all = append(all, piece{run.String(), t.face(smallScale), t.size * vg.Length(off)})
		default:
			all = append(all, piece{run.String(), t.face(1), 0})
		}
		run.Reset()
	}
	for _, r := range text {
		to := 0.0
		if i := runeIndex(raised, r); i >= 0 {
			r, to = flat[i], raisedBy
		} else if i := runeIndex(lowered, r); i >= 0 {
			r, to = flat[i], loweredBy
		}
		if to != off {
			end()
			off = to
		}
		run.WriteRune(r)
	}
	end()
	return all
}

func runeIndex(s string, r rune) int {
	for i, c := range []rune(s) {
		if c == r {
			return i
		}
	}
	return -1
}

// width returns the width of a text.
func (t textStyle) width(text string) (w vg.Length) {
	for _, p := range t.pieces(text) {
		w += p.face.Width(p.text)
	}
	return w
}

// fitted returns a name and its ends in a row; where they are wider than the room the name is shortened.
func (t textStyle) fitted(name string, ends []string, room vg.Length) string {
	tail := ""
	for _, s := range ends {
		if s != "" {
			tail += ", " + s
		}
	}
	if t.width(name+tail) <= room {
		return name + tail
	}
	letters := []rune(name)
	for n := len(letters) - 1; n > 0; n-- {
		if text := strings.TrimRight(string(letters[:n]), " ,;(") + "…" + tail; t.width(text) <= room {
			return text
		}
	}
	return "…" + tail
}

// capHeight is the height of a capital of Liberation Sans as a share of its size.
const capHeight = 0.69

func (t textStyle) height() vg.Length { return t.size * capHeight }

// An align places a text beside its point: −1 ends or lies below it, 0 centres, 1 starts or lies above it.
type align struct{ h, v int }

// corner returns the lower left corner of a text placed at p.
func (t textStyle) corner(text string, p vg.Point, a align) vg.Point {
	w := t.width(text)
	return pt(p.X-w*vg.Length(1-a.h)/2, p.Y-t.height()*vg.Length(1-a.v)/2)
}

// text sets a text at a point.
func (s *sheet) text(t textStyle, p vg.Point, a align, text string) {
	s.set(t, t.corner(text, p, a), text)
}

func (s *sheet) setPiece(p piece, at vg.Point, ink color.RGBA) {
	face := p.face.FontFace(dpi)
	defer face.Close()
	d := stdfont.Drawer{Dst: s.pix, Src: image.NewUniform(ink), Face: face, Dot: fixed.Point26_6{X: fix(at.X), Y: fix(s.h - at.Y)}}
	d.DrawString(p.text)
}

// fix returns a length in 64ths of a pixel.
func fix(x vg.Length) fixed.Int26_6 { return fixed.Int26_6(math.Round(x.Dots(dpi) * 64)) }

func (s *sheet) set(t textStyle, at vg.Point, text string) {
	for _, p := range t.pieces(text) {
		s.setPiece(p, pt(at.X, at.Y+p.up), t.ink)
		at.X += p.face.Width(p.text)
	}
}

// haloed sets a text on a rim of paper, so that it can be read over the data.
func (s *sheet) haloed(t textStyle, at vg.Point, text string) {
	rim := t
	rim.ink = paper
	const r = 1.1
	for i := range 8 {
		sin, cos := math.Sincos(float64(i) * math.Pi / 4)
		s.set(rim, pt(at.X+vg.Length(r*cos), at.Y+vg.Length(r*sin)), text)
	}
	s.set(t, at, text)
}

// A spot is a place where a name could stand.
type spot struct {
	at vg.Point
	al align
}

// around returns the spots about a point, at a distance d, the best first.
func around(p vg.Point, d vg.Length) []spot {
	return []spot{
		{pt(p.X+d, p.Y), align{1, 0}}, {pt(p.X, p.Y+d), align{0, 1}}, {pt(p.X-d, p.Y), align{-1, 0}},
		{pt(p.X, p.Y-d), align{0, -1}}, {pt(p.X+d, p.Y+d), align{1, 1}}, {pt(p.X-d, p.Y+d), align{-1, 1}},
		{pt(p.X+d, p.Y-d), align{1, -1}}, {pt(p.X-d, p.Y-d), align{-1, -1}},
	}
}

// name writes a name at the best of the spots: within the room, hiding no other name, over as little ink as may be, and
// among equals the first. If there is none, it stands at the first spot, moved into the room: a name may touch another
// but is never lost. One that is wider than the room ends in an ellipsis.
func (s *sheet) name(t textStyle, room vg.Rectangle, text string, spots []spot) {
	if text == "" || len(spots) == 0 {
		return
	}
	text = t.fitted(text, nil, room.Max.X-room.Min.X-4)
	w, h := t.width(text), t.height()
	box := func(at vg.Point) vg.Rectangle {
		return vg.Rectangle{Min: pt(at.X-2, at.Y-2.5), Max: pt(at.X+w+2, at.Y+h+2)}
	}
	best, least := vg.Point{}, math.Inf(1)
	for i, sp := range spots {
		at := t.corner(text, sp.at, sp.al)
		b := box(at)
		if !within(b, room) || s.hides(b) {
			continue
		}
		if cost := s.inked(b) + 0.01*float64(i); cost < least {
			best, least = at, cost
		}
	}
	if math.IsInf(least, 1) {
		best = s.aside(t.corner(text, spots[0].at, spots[0].al), w, h, room)
	}
	s.taken = append(s.taken, box(best))
	s.haloed(t, best, text)
}

// aside moves a name into the room, and upwards or downwards while another name is there.
func (s *sheet) aside(at vg.Point, w, h vg.Length, room vg.Rectangle) vg.Point {
	at = pt(max(room.Min.X+2, min(at.X, room.Max.X-w-2)), max(room.Min.Y+2.5, min(at.Y, room.Max.Y-h-2)))
	step := h + 3
	if at.Y > (room.Min.Y+room.Max.Y)/2 {
		step = -step
	}
	for range 12 {
		if !s.hides(vg.Rectangle{Min: pt(at.X-2, at.Y-2.5), Max: pt(at.X+w+2, at.Y+h+2)}) {
			break
		}
		at.Y += step
	}
	return at
}

// inked returns how much ink lies in a rectangle: 0 for paper, washes and the grey of usual, 1 for black.
func (s *sheet) inked(r vg.Rectangle) float64 {
	var sum, n float64
	for y := s.py(r.Max.Y); y < s.py(r.Min.Y); y += 2 {
		for x := px(r.Min.X); x < px(r.Max.X); x += 2 {
			if !(image.Point{X: x, Y: y}).In(s.pix.Rect) {
				continue
			}
			c := s.pix.RGBAAt(x, y)
			sum += max(0, 180-float64(c.R))
			n++
		}
	}
	return sum / max(n, 1) / 180
}

// keep notes that no name shall stand in the rectangle.
func (s *sheet) keep(r vg.Rectangle) { s.taken = append(s.taken, r) }

func (s *sheet) hides(b vg.Rectangle) bool {
	for _, o := range s.taken {
		if b.Min.X < o.Max.X && o.Min.X < b.Max.X && b.Min.Y < o.Max.Y && o.Min.Y < b.Max.Y {
			return true
		}
	}
	return false
}

func within(b, room vg.Rectangle) bool {
	return b.Min.X >= room.Min.X && b.Max.X <= room.Max.X && b.Min.Y >= room.Min.Y && b.Max.Y <= room.Max.Y
}
