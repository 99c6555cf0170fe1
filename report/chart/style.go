package chart

import (
	"image/color"
	"sync"

	"codeberg.org/go-fonts/liberation/liberationsansbold"
	"codeberg.org/go-fonts/liberation/liberationsansregular"
	stdfont "golang.org/x/image/font"
	"golang.org/x/image/font/opentype"
	"gonum.org/v1/plot/font"
	"gonum.org/v1/plot/vg"
)

// dpi is chosen so that a point (1/72 inch) is exactly four pixels: rules land on whole pixels and stay crisp.
const (
	dpi       = 288
	dotsPerPt = dpi / 72
)

// A Size is the width of a picture. Text keeps its size in print; only the room between changes.
type Size uint8

// The sizes of a picture.
const (
	Half Size = iota // 90 mm: two stand side by side on A4, one fills a telephone
	Full             // 180 mm: the text width of A4
)

func (s Size) width() vg.Length {
	if s == Full {
		return 512
	}
	return 252
}

// The palette: paper, four greys of a density, three inks and one hue. All steps keep their order when printed in grey.
var (
	paper   = color.RGBA{0xff, 0xff, 0xff, 0xff}
	ink     = color.RGBA{0x1c, 0x1c, 0x1c, 0xff}
	inkSoft = color.RGBA{0x5e, 0x5e, 0x5e, 0xff} // axes, ticks, second names
	rule    = color.RGBA{0xdc, 0xdc, 0xdc, 0xff} // rules behind the data
	wash    = color.RGBA{0xf3, 0xf1, 0xec, 0xff} // a stretch or a region behind the data
	band    = color.RGBA{0xd3, 0xd3, 0xd3, 0xff} // ±2σ of usual
	greyMid = color.RGBA{0x8c, 0x8c, 0x8c, 0xff} // the mean of usual, crosses
	hue     = color.RGBA{0x0f, 0x35, 0x5e, 0xff} // this period
	hueSoft = color.RGBA{0x9f, 0xb2, 0xc9, 0xff} // its least-to-greatest, and shading

	// densities hold the parts of a cloud that hold 99, 90, 70 and 40 % of its spectra.
	densities = [...]struct {
		share float64
		grey  color.RGBA
	}{
		{0.99, color.RGBA{0xee, 0xee, 0xee, 0xff}},
		{0.90, color.RGBA{0xdf, 0xdf, 0xdf, 0xff}},
		{0.70, color.RGBA{0xcd, 0xcd, 0xcd, 0xff}},
		{0.40, color.RGBA{0xb8, 0xb8, 0xb8, 0xff}},
	}
)

// Line widths, in points.
const (
	hair   = vg.Length(0.5)  // ticks, rules
	thin   = vg.Length(0.75) // limits, axes
	medium = vg.Length(1)    // the mean of usual
	strong = vg.Length(1.5)  // this period
)

// Type sizes, in points.
const (
	sizeTick  = vg.Length(7)
	sizeLabel = vg.Length(7.5)
	sizeName  = vg.Length(8)
)

// A style of text: its size, weight and colour.
type textStyle struct {
	size vg.Length
	bold bool
	ink  color.RGBA
}

var (
	tickText  = textStyle{sizeTick, false, inkSoft}
	labelText = textStyle{sizeLabel, false, inkSoft}
	nameText  = textStyle{sizeName, false, ink}
	hueText   = textStyle{sizeName, true, hue}
	greyText  = textStyle{sizeName, false, inkSoft}
)

// fonts parses the two faces that are drawn with, once. The other ten of the family would add 4 MB to the program.
var fonts = sync.OnceValue(func() *font.Cache {
	var sans font.Collection
	for weight, ttf := range map[stdfont.Weight][]byte{stdfont.WeightNormal: liberationsansregular.TTF, stdfont.WeightBold: liberationsansbold.TTF} {
		face, err := opentype.Parse(ttf)
		if err != nil {
			panic("chart: a face that is built in cannot be parsed: " + err.Error())
		}
		sans = append(sans, font.Face{Font: font.Font{Typeface: "Liberation", Variant: "Sans", Weight: weight}, Face: face})
	}
	return font.NewCache(sans)
})

func (t textStyle) face(scale float64) font.Face {
	f := font.Font{Typeface: "Liberation", Variant: "Sans"}
	if t.bold {
		f.Weight = stdfont.WeightBold
	}
	return fonts().Lookup(f, t.size*vg.Length(scale))
}
