package chart

import (
	"bytes"
	"compress/gzip"
	_ "embed"
	"io"
	"sync"

	stdfont "golang.org/x/image/font"
	"golang.org/x/image/font/opentype"
	"gonum.org/v1/plot/font"
)

// The faces of the pictures, as the library of the tests has them, compressed: that saves 0.4 MB of the program and costs some
// milliseconds before the first picture.
var (
	//go:embed faces/LiberationSans-Regular.ttf.gz
	regularFace []byte
	//go:embed faces/LiberationSans-Bold.ttf.gz
	boldFace []byte
)

// fonts parses the two faces that are drawn with, once. The other ten of the family would add 4 MB to the program.
var fonts = sync.OnceValue(func() *font.Cache {
	var sans font.Collection
	for weight, packed := range map[stdfont.Weight][]byte{stdfont.WeightNormal: regularFace, stdfont.WeightBold: boldFace} {
		ttf, err := unpack(packed)
		if err != nil {
			panic("chart: a face that is built in cannot be unpacked: " + err.Error())
		}
		face, err := opentype.Parse(ttf)
		if err != nil {
			panic("chart: a face that is built in cannot be parsed: " + err.Error())
		}
		sans = append(sans, font.Face{Font: font.Font{Typeface: "Liberation", Variant: "Sans", Weight: weight}, Face: face})
	}
	return font.NewCache(sans)
})

func unpack(packed []byte) ([]byte, error) {
	r, err := gzip.NewReader(bytes.NewReader(packed))
	if err != nil {
		return nil, err
	}
	return io.ReadAll(r)
}
