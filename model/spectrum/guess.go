package spectrum

import "math"

// GuessUnit returns the unit that an axis of these positions probably has, where nothing says it.
// The rule is our own:
//
//	0, 1, 2, … or 1, 2, 3, …              a bare channel index
//	all within 150 to 3,000               nanometres
//	all within 0.15 to 30                 micrometres
//	all within 10 to 50,000, above 3,000  reciprocal centimetres
//
// Anything else is UnknownUnit: such an axis is compared with its like, and is not converted. A
// mid-infrared axis in cm⁻¹ that ends below 3,000 would be taken for nanometres; the file or the
// options must say what it is.
func GuessUnit(at []float64) Unit {
	if len(at) == 0 {
		return UnknownUnit
	}
	lo, hi, index := at[0], at[0], at[0] == 0 || at[0] == 1
	for i, v := range at {
		lo, hi = min(lo, v), max(hi, v)
		index = index && v == at[0]+float64(i)
	}
	switch {
	case index:
		return Channel
	case lo >= 150 && hi <= 3000:
		return Nanometre
	case lo >= 0.15 && hi <= 30:
		return Micrometre
	case lo >= 10 && hi > 3000 && hi <= 50000:
		return ReciprocalCentimetre
	}
	return UnknownUnit
}

// noAbsorbance is the value that no absorbance reaches: one part in 10¹⁰ of the light is below what
// any detector of these instruments tells from darkness.
const noAbsorbance = 10

// GuessQuantity returns what the values of a spectrum probably are, where nothing says it:
// absorbance, unless one is of magnitude 10 or more, which makes them raw intensities. The rule is
// our own. It cannot tell an absorbance from a reflectance or transmittance; the file or the
// options must say those.
func GuessQuantity(values []float64) Quantity {
	for _, v := range values {
		if math.Abs(v) >= noAbsorbance {
			return Intensity
		}
	}
	return Absorbance
}
