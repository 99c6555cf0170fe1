package detector

import (
	"fmt"
	"strings"

	"asusual/model/spectrum"
)

// A Detector is a kind of detector and where it sees.
type Detector struct {
	Name    string
	From    float64 // nm
	To      float64 // nm
	Fourier bool    // of a Fourier-transform instrument: even in wavenumbers, no integration time
}

// detectors are those that are known by name.
var detectors = []Detector{
	{Name: "silicon", From: 350, To: 1100},
	{Name: "InGaAs", From: 900, To: 1700},
	{Name: "extended InGaAs 1.9", From: 1100, To: 1900},
	{Name: "extended InGaAs 2.2", From: 1100, To: 2200},
	{Name: "extended InGaAs 2.5", From: 1100, To: 2500},
	{Name: "PbS", From: 1000, To: 3000},
	{Name: "FT InGaAs", From: 800, To: 1700, Fourier: true},
	{Name: "FT extended InGaAs", From: 850, To: 2600, Fourier: true},
	{Name: "FT PbS", From: 800, To: 3000, Fourier: true},
	{Name: "FT DTGS", From: 1000, To: 25000, Fourier: true}, // through potassium bromide
	{Name: "FT MCT", From: 850, To: 16000, Fourier: true},
}

// Names returns the names that Named takes, as they are written.
func Names() []string {
	var out []string
	for _, d := range detectors {
		out = append(out, d.Name)
	}
	return out
}

// Named returns the detector of that name. Case, blanks and hyphens do not count, and "extended InGaAs" alone is the one to 2,200 nm.
func Named(name string) (Detector, error) {
	want := plain(name)
	if want == plain("extended InGaAs") {
		want = plain("extended InGaAs 2.2")
	}
	for _, d := range detectors {
		if plain(d.Name) == want {
			return d, nil
		}
	}
	return Detector{}, fmt.Errorf("detector %q is not one of %s", name, strings.Join(Names(), ", "))
}

func plain(s string) string {
	return strings.Map(func(r rune) rune {
		if strings.ContainsRune(" -_", r) {
			return -1
		}
		return r
	}, strings.ToLower(s))
}

// Validate says what of a detector that somebody described cannot be.
func (d Detector) Validate() error {
	if !(d.From > 0 && d.To > d.From && d.To < 1e6) {
		return fmt.Errorf("detector %q sees from %g to %g nm; the first is above zero and below the second", d.Name, d.From, d.To)
	}
	return nil
}

// Range returns where the detector sees in a unit, from the lower to the higher position. A channel index has none.
func (d Detector) Range(u spectrum.Unit) (lo, hi float64, err error) {
	switch u {
	case spectrum.Nanometre:
		return d.From, d.To, nil
	case spectrum.Micrometre:
		return d.From / 1e3, d.To / 1e3, nil
	case spectrum.ReciprocalCentimetre:
		return 1e7 / d.To, 1e7 / d.From, nil
	}
	return 0, 0, fmt.Errorf("an axis in %s says nothing of where a detector sees", u)
}

// In says the detector and its range in words.
func (d Detector) In(u spectrum.Unit) string {
	lo, hi, err := d.Range(u)
	if err != nil {
		return d.Name
	}
	return fmt.Sprintf("%s (%.5g–%.5g %s)", d.Name, lo, hi, u.Symbol())
}
