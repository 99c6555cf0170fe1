package spectrum

import (
	"fmt"
	"strings"
	"time"
)

// blockSpectrum makes the spectrum of a block that has ended.
func (rd *Reader) blockSpectrum(b *block) (Spectrum, error) {
	if err := b.kind(); err != nil {
		return Spectrum{}, err
	}
	var values []float64
	var err error
	if b.data == stepped {
		values, err = rd.steppedValues(b)
	} else {
		values, err = rd.pairedValues(b)
	}
	if err != nil {
		return Spectrum{}, err
	}
	unit, quantity, percent, err := rd.blockUnits(b)
	if err != nil {
		return Spectrum{}, err
	}
	axis := rd.axis
	if b.isInterferogram() {
		axis = rd.retardation
	}
	a, err := axis(unit, rd.at)
	if err != nil {
		return Spectrum{}, err
	}
	t, err := rd.when(b.said(), b.labels["TITLE"].value)
	if err != nil {
		return Spectrum{}, err
	}
	s := Spectrum{Axis: a, Values: values, Time: t, File: rd.src.Name, Run: b.labels["$RUN"].value, Label: b.labels["TITLE"].value}
	s.Quantity = rd.quantity(quantity, percent, values)
	s.Share = rd.info.Percent
	if b.isInterferogram() { // whatever the options say of the spectra
		s.Quantity, rd.info.Quantity, rd.info.QuantityFrom = Interferogram, Interferogram, Said
	}
	s.Exposure, err = b.exposure()
	return s, err
}

// kind checks that the block holds a spectrum of a version that is read.
func (b *block) kind() error {
	version := b.labels["JCAMPDX"].value
	v, n := number([]byte(version), '.')
	kind := strings.ToUpper(b.labels["DATATYPE"].value)
	switch {
	case version == "":
		return fmt.Errorf("##JCAMP-DX= with the version is missing; versions 4 and 5 are read")
	case n == 0 || v < 4 || v >= 6:
		return fmt.Errorf("##JCAMP-DX=%s is not read; versions 4 and 5 are", show(version))
	case b.bad != "":
		return fmt.Errorf("%s", b.bad)
	case b.data == noData:
		return fmt.Errorf("the block has no ##XYDATA= and no ##XYPOINTS=; its data type is %s", show(kind))
	case kind == "":
		return fmt.Errorf("##DATA TYPE= is missing, which the standard requires")
	case !strings.Contains(kind, "SPECTRUM") && !b.isInterferogram():
		return fmt.Errorf("##DATA TYPE=%s is no spectrum", show(kind))
	}
	return nil
}

// blockUnits reads the units; those that cannot be used matter only if the options do not say them.
func (rd *Reader) blockUnits(b *block) (u Unit, q Quantity, percent bool, err error) {
	if b.isInterferogram() {
		return rd.pathUnit(b), Interferogram, false, nil
	}
	x, y := b.labels["XUNITS"].value, b.labels["YUNITS"].value
	if x != "" {
		if u, err = ParseUnit(strings.ReplaceAll(x, " ", "")); err != nil && rd.opt.Unit == UnknownUnit {
			return u, q, false, fmt.Errorf("##XUNITS=%s: %w", x, err)
		}
	}
	ok := y == ""
	switch strings.ToUpper(y) {
	case "A":
		q, ok = Absorbance, true
	case "":
	default:
		q, percent, ok = quantityIn(y)
	}
	if !ok && rd.opt.Quantity == UnknownQuantity {
		return u, q, false, fmt.Errorf("##YUNITS=%s is no quantity that is read; say what it is: absorbance, reflectance, transmittance or intensity", y)
	}
	return u, q, percent, nil
}

// said returns the time of the block as text: LONG DATE, or DATE and TIME, where a year of two
// digits is read as POSIX reads it: 69 to 99 are 1969 to 1999 (IEEE 1003.1, strptime, %y).
func (b *block) said() string {
	if l := b.labels["LONGDATE"].value; l != "" {
		return l
	}
	date, clock := b.labels["DATE"].value, b.labels["TIME"].value
	if date == "" {
		return ""
	}
	if len(date) == len("06/01/02") && date[2] == '/' {
		if t, err := time.Parse("06/01/02", date); err == nil {
			date = t.Format("2006/01/02")
		}
	}
	return strings.TrimSpace(date + " " + clock)
}
