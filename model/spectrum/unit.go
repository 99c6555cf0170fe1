package spectrum

import (
	"fmt"
	"strings"
)

// A Unit is the unit of an axis.
type Unit uint8

// The units of an axis. The zero value means that the unit is not known yet.
const (
	UnknownUnit Unit = iota
	Nanometre
	Micrometre
	ReciprocalCentimetre
	Channel     // a bare channel index: the axis has no physical unit
	Retardation // of an interferogram: path difference in cm, zero where both arms are equally long
)

// unitWords holds, for each unit, its word in options and files and its symbol in text and pictures.
var unitWords = [...]struct{ word, symbol string }{
	UnknownUnit:          {"unknown", ""},
	Nanometre:            {"nm", "nm"},
	Micrometre:           {"um", "µm"},
	ReciprocalCentimetre: {"cm-1", "cm⁻¹"},
	Channel:              {"index", "channel"},
	Retardation:          {"cm", "cm"},
}

// ParseUnit returns the unit that the words of the configuration and of the usual file formats name:
// nm, um, cm-1 or index, and their common spellings.
func ParseUnit(s string) (Unit, error) {
	switch strings.ToLower(strings.TrimSpace(s)) {
	case "nm", "nanometer", "nanometers", "nanometre", "nanometres":
		return Nanometre, nil
	case "um", "µm", "μm", "micrometer", "micrometers", "micrometre", "micrometres", "micron", "microns":
		return Micrometre, nil
	case "cm-1", "1/cm", "cm^-1", "cm⁻¹", "wavenumber", "wavenumbers":
		return ReciprocalCentimetre, nil
	case "index", "channel", "channels", "pixel", "pixels":
		return Channel, nil
	case "cm", "centimeter", "centimeters", "centimetre", "centimetres":
		return Retardation, nil
	}
	return UnknownUnit, fmt.Errorf("axis unit %q is not one of nm, um, cm-1, index", s)
}

// String returns the word that ParseUnit takes.
func (u Unit) String() string { return unitWords[u].word }

// Symbol returns the unit as it stands on an axis of a picture, such as cm⁻¹.
func (u Unit) Symbol() string { return unitWords[u].symbol }

// MarshalText and UnmarshalText let a unit stand in a configuration or a reference file as its word.
func (u Unit) MarshalText() ([]byte, error) { return []byte(u.String()), nil }

// UnmarshalText reads the word of a unit, or "unknown".
func (u *Unit) UnmarshalText(b []byte) (err error) {
	if string(b) == unitWords[UnknownUnit].word {
		*u = UnknownUnit
		return nil
	}
	*u, err = ParseUnit(string(b))
	return err
}

// A Quantity is what the values of a spectrum are.
type Quantity uint8

// The quantities. The zero value means that the quantity is not known yet.
const (
	UnknownQuantity Quantity = iota
	Absorbance               // A = −log₁₀ of a transmittance or reflectance
	Reflectance              // share of the light that comes back, 1 for all of it
	Transmittance            // share of the light that passes, 1 for all of it
	Intensity                // raw counts of the detector; needs a dark and a reference to become an absorbance
	Interferogram            // what a Fourier-transform instrument records; becomes an intensity by its transform
)

var quantityWords = [...]string{
	UnknownQuantity: "unknown", Absorbance: "absorbance", Reflectance: "reflectance",
	Transmittance: "transmittance", Intensity: "intensity", Interferogram: "interferogram",
}

// ParseQuantity returns the quantity of that name.
func ParseQuantity(s string) (Quantity, error) {
	s = strings.ToLower(strings.TrimSpace(s))
	for q := Absorbance; q <= Interferogram; q++ {
		if quantityWords[q] == s {
			return q, nil
		}
	}
	return UnknownQuantity, fmt.Errorf("quantity %q is not one of absorbance, reflectance, transmittance, intensity", s)
}

// String returns the name that ParseQuantity takes.
func (q Quantity) String() string { return quantityWords[q] }

// MarshalText and UnmarshalText let a quantity stand in a configuration or a reference file as its name.
func (q Quantity) MarshalText() ([]byte, error) { return []byte(q.String()), nil }

// UnmarshalText reads the name of a quantity, or "unknown".
func (q *Quantity) UnmarshalText(b []byte) (err error) {
	if string(b) == quantityWords[UnknownQuantity] {
		*q = UnknownQuantity
		return nil
	}
	*q, err = ParseQuantity(string(b))
	return err
}
