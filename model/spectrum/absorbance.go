package spectrum

import (
	"errors"
	"fmt"
	"math"
)

// percentAbove tells percent from a share: a reflectance or transmittance above 2 times all the
// light does not exist, while one in percent exceeds 2 wherever the sample is not all but black.
// Our own choice.
const percentAbove = 2

// Absorbance returns the spectrum as absorbance:
//
//	A = −log₁₀ y    of a reflectance or transmittance y
//
// An absorbance comes back as it is, sharing its values. If the largest y is above 2, y stands in
// percent and is divided by 100 first, unless it is known to be a share already. It is an error if a y is not above zero, which has no
// logarithm, and if the values are raw intensities, which need a dark and a reference:
// FromIntensities. The values of s are not changed.
func (s Spectrum) Absorbance() (Spectrum, error) {
	switch s.Quantity {
	case Absorbance:
		return s, nil
	case Intensity:
		return Spectrum{}, errors.New("raw intensities become an absorbance only with a dark and a reference spectrum; name both, or say what else the values are")
	case Interferogram:
		return Spectrum{}, errors.New("an interferogram becomes an absorbance only by its Fourier transform and a reference; say how the instrument is set up")
	case Reflectance, Transmittance:
	default:
		return Spectrum{}, errors.New("it is not known what the values are; say absorbance, reflectance, transmittance or intensity")
	}
	top := math.Inf(-1)
	for _, y := range s.Values {
		top = max(top, y)
	}
	whole := 1.0
	if top > percentAbove && !s.Share {
		whole = 100
	}
	values := make([]float64, len(s.Values))
	bad := badRatios{axis: s.Axis}
	for i, y := range s.Values {
		bad.check(i, y)
		values[i] = -math.Log10(y / whole)
	}
	if err := bad.err(s.Quantity.String()); err != nil {
		return Spectrum{}, err
	}
	s.Values, s.Quantity = values, Absorbance
	return s, nil
}

// FromIntensities returns the absorbance that the sample, dark and reference intensities S, D and R
// give:
//
//	A = −log₁₀((S − D) / (R − D))
//
// (Beer's law; IUPAC Compendium of Chemical Terminology, "absorbance"). All three must be on one
// axis and be measured alike; integration times are not known here. It is an error, with the number
// of channels and the first of them, if the ratio is not above zero or not finite. All but the
// values and the quantity is the sample's.
func FromIntensities(sample, dark, reference Spectrum) (Spectrum, error) {
	for _, s := range [...]struct {
		name string
		Spectrum
	}{{"sample", sample}, {"dark", dark}, {"reference", reference}} {
		if s.Quantity != Intensity {
			return Spectrum{}, fmt.Errorf("the %s holds %s, not raw intensities", s.name, s.Quantity)
		}
		if !s.Axis.Equal(sample.Axis) {
			return Spectrum{}, fmt.Errorf("the %s has %v, the sample %v; both must come from one instrument with the same settings", s.name, s.Axis, sample.Axis)
		}
		if len(s.Values) != len(sample.Values) {
			return Spectrum{}, fmt.Errorf("the %s has %d values, the sample %d", s.name, len(s.Values), len(sample.Values))
		}
	}
	values := make([]float64, len(sample.Values))
	bad := badRatios{axis: sample.Axis}
	for i, v := range sample.Values {
		d := dark.Values[i]
		num, den := v-d, reference.Values[i]-d
		y := num / den
		if den <= 0 { // a negative over a negative is no share of the light either
			y = math.NaN()
		}
		bad.check(i, y)
		values[i] = -math.Log10(y)
	}
	if err := bad.err("ratio (sample − dark) / (reference − dark)"); err != nil {
		return Spectrum{}, err
	}
	sample.Values, sample.Quantity = values, Absorbance
	return sample, nil
}

// badRatios counts the channels that have no absorbance.
type badRatios struct {
	axis  *Axis
	count int
	first int
	value float64
}

func (b *badRatios) check(i int, y float64) {
	if y > 0 && !math.IsInf(y, 1) {
		return
	}
	if b.count == 0 {
		b.first, b.value = i, y
	}
	b.count++
}

func (b *badRatios) err(what string) error {
	if b.count == 0 {
		return nil
	}
	at := ""
	if b.axis != nil && b.first < b.axis.Len() {
		at = fmt.Sprintf(" (%.6g %s)", b.axis.At(b.first), b.axis.Unit().Symbol())
	}
	if math.IsNaN(b.value) {
		return fmt.Errorf("%s is no number in %d channels, first in channel %d%s; is the reference brighter than the dark there?", what, b.count, b.first+1, at)
	}
	return fmt.Errorf("%s is not above zero in %d channels, first in channel %d%s: %.4g; it has no absorbance", what, b.count, b.first+1, at, b.value)
}
