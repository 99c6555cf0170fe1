package spectrum

import "fmt"

// convert returns the position v of the unit from in the unit to:
//
//	λ [nm] = 10³ · λ [µm]    ν̃ [cm⁻¹] = 10⁴ / λ [µm] = 10⁷ / λ [nm]
func convert(v float64, from, to Unit) (float64, error) {
	switch [2]Unit{from, to} {
	case [2]Unit{from, from}:
		return v, nil
	case [2]Unit{Nanometre, Micrometre}:
		return v / 1e3, nil
	case [2]Unit{Micrometre, Nanometre}:
		return v * 1e3, nil
	case [2]Unit{Nanometre, ReciprocalCentimetre}, [2]Unit{ReciprocalCentimetre, Nanometre}:
		return 1e7 / v, nil
	case [2]Unit{Micrometre, ReciprocalCentimetre}, [2]Unit{ReciprocalCentimetre, Micrometre}:
		return 1e4 / v, nil
	}
	return 0, noConversion(from, to)
}

func noConversion(from, to Unit) error {
	return fmt.Errorf("an axis in %s does not convert to %s; only nm, um and cm-1 do", from, to)
}

// In returns the axis in another unit: the same channels in the same order, so that values need not
// move. Between wavelength and wavenumber, ν̃ = 10⁷/λ (cm⁻¹, nm), a rising axis becomes a falling
// one. Wavelengths are taken as they are written: no index of air is applied. A channel index and
// an unknown unit do not convert.
func (a *Axis) In(u Unit) (*Axis, error) {
	if u == a.unit {
		return a, nil
	}
	at := make([]float64, len(a.at))
	for i, v := range a.at {
		c, err := convert(v, a.unit, u)
		if err != nil {
			return nil, err
		}
		at[i] = c
	}
	return NewAxis(u, at)
}
