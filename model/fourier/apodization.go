package fourier

import (
	"fmt"
	"math"
	"strings"
)

// An Apodization is how an interferogram fades towards its end: without it, sharp bands have feet that swing below
// zero; with it, they are a little wider.
type Apodization uint8

// The apodizations. The zero value is the usual one.
const (
	NortonBeerMedium Apodization = iota
	NortonBeerWeak
	NortonBeerStrong
	HappGenzel
	Triangular
	None
)

var apodizationWords = [...]string{"norton-beer medium", "norton-beer weak", "norton-beer strong", "happ-genzel", "triangular", "none"}

// String returns the word of the apodization.
func (a Apodization) String() string { return apodizationWords[a] }

// MarshalText writes the word of the apodization.
func (a Apodization) MarshalText() ([]byte, error) { return []byte(a.String()), nil }

// UnmarshalText reads the word of an apodization.
func (a *Apodization) UnmarshalText(b []byte) error {
	for i, w := range apodizationWords {
		if strings.EqualFold(w, strings.Join(strings.Fields(string(b)), " ")) {
			*a = Apodization(i)
			return nil
		}
	}
	return fmt.Errorf("apodization %q is not one of %s", b, strings.Join(apodizationWords[:], ", "))
}

// nortonBeer are the coefficients C₀, C₁, C₂, C₄ of Σ Cᵢ(1−u²)ⁱ (Norton and Beer, New apodizing functions for Fourier
// spectrometry, Journal of the Optical Society of America 66, 1976, 259–264, with the errata in 67, 1977, 419). Each row adds up to 1.
var nortonBeer = [...][4]float64{
	NortonBeerWeak:   {0.384093, -0.087577, 0.703484, 0},
	NortonBeerMedium: {0.152442, -0.136176, 0.983734, 0},
	NortonBeerStrong: {0.045335, 0, 0.554883, 0.399782},
}

// At returns the weight at the part u of the largest path difference, 0 ≤ u ≤ 1: 1 at the centre. Beyond 1 it is 0.
//
//	Norton–Beer  Σ Cᵢ(1−u²)ⁱ
//	Happ–Genzel  0.54 + 0.46·cos πu    (Happ and Genzel, Infrared Physics 1, 1961, 39–48)
//	triangular   1 − u
func (a Apodization) At(u float64) float64 {
	u = math.Abs(u)
	if u > 1 {
		return 0
	}
	switch a {
	case HappGenzel:
		return 0.54 + 0.46*math.Cos(math.Pi*u)
	case Triangular:
		return 1 - u
	case None:
		return 1
	}
	c, v := nortonBeer[a], 1-u*u
	return c[0] + v*(c[1]+v*(c[2]+v*v*c[3]))
}
