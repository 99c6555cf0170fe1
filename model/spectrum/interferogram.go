package spectrum

import (
	"errors"
	"fmt"
	"math"
	"strings"
	"time"
)

// isInterferogram reports whether the block says that it holds an interferogram, as ##DATA TYPE=INFRARED INTERFEROGRAM
// does (McDonald and Wilks, Applied Spectroscopy 42, 1988, section on ##DATA TYPE; the wording from memory).
func (b *block) isInterferogram() bool {
	return strings.Contains(strings.ToUpper(b.labels["DATATYPE"].value), "INTERFEROGRAM")
}

// pathUnit returns the unit of the path difference that the block says; UnknownUnit where it counts points.
func (rd *Reader) pathUnit(b *block) Unit {
	u, err := ParseUnit(strings.ReplaceAll(b.labels["XUNITS"].value, " ", ""))
	if err != nil { // ARBITRARY UNITS, SECONDS, POINTS
		return UnknownUnit
	}
	return u
}

// retardation returns the Axis of an interferogram at those positions: in centimetres of path difference where the file says
// a length, which is turned into centimetres, and else a count of points. The unit of the options is that of spectra
// and says nothing here.
func (rd *Reader) retardation(said Unit, at []float64) (*Axis, error) {
	rd.info.UnitFrom = Said
	cm := 1.0
	switch said {
	case Retardation, Channel:
		return rd.shared(said, at)
	case Micrometre:
		cm = 1e-4
	case Nanometre:
		cm = 1e-7
	case ReciprocalCentimetre:
		return nil, errors.New("it says that it is an interferogram, and its axis is in cm-1; an interferogram lies over the path difference, in cm or um, or over a count of points")
	default:
		rd.info.UnitFrom = Guessed
		for i, v := range at {
			if v != at[0]+float64(i) {
				return nil, fmt.Errorf("the positions of the interferogram are no count of points (position %d is %g, the first %g), and no unit stands beside them; say axis: cm or axis: um, of path difference", i+1, v, at[0])
			}
		}
		return rd.shared(Channel, at)
	}
	for i := range at {
		at[i] *= cm
	}
	return rd.shared(Retardation, at)
}

// setExposure returns what takes an integration time from a header: a number with its unit, or in the given unit.
func setExposure(unit time.Duration) func(*header, string) error {
	return func(h *header, v string) (err error) {
		h.exposure, err = parseExposure(v, unit)
		return err
	}
}

// exposure returns the integration time that the block says, 0 for none. The standard has no label for it; ##$ begins one
// that users agree on, and milliseconds are the usual unit.
func (b *block) exposure() (time.Duration, error) {
	for _, name := range [...]string{"$EXPOSURE", "$INTEGRATIONTIME"} {
		if v := b.labels[name].value; v != "" {
			return parseExposure(v, time.Millisecond)
		}
	}
	return 0, nil
}

// maxExposure is longer than any detector of these instruments integrates.
const maxExposure = 24 * time.Hour

// parseExposure reads an integration time such as "20 ms", "0.02 s" or, in the unit given, "20".
func parseExposure(s string, unit time.Duration) (time.Duration, error) {
	v, n := number([]byte(s), '.')
	if n == 0 && s != "" {
		return 0, fmt.Errorf("the integration time is %s, not a number with ms, s or us", show(s))
	}
	switch strings.ToLower(strings.TrimSpace(s[n:])) {
	case "":
	case "ms", "msec":
		unit = time.Millisecond
	case "s", "sec":
		unit = time.Second
	case "us", "µs", "μs", "usec":
		unit = time.Microsecond
	default:
		return 0, fmt.Errorf("the integration time is %s, not a number with ms, s or us", show(s))
	}
	if d := v * float64(unit); d > 0 && d <= float64(maxExposure) {
		return time.Duration(math.Round(d)), nil // 0.0123 s and 12.3 ms are the same
	}
	return 0, fmt.Errorf("the integration time is %s; it is above zero and at most %v", show(s), maxExposure)
}
