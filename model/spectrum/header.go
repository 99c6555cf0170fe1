package spectrum

import (
	"bytes"
	"errors"
	"fmt"
	"strings"
	"time"
)

// A header gathers what the lines before the numbers, and the comments among them, say.
type header struct {
	time, date string
	unit       Unit
	quantity   Quantity
	percent    bool
	run, label string
	exposure   time.Duration
	channels   int      // how many channels the file says it has; 0 if it does not
	names      []string // the fields of the last line that is no comment: the columns' names
	bad        string   // why something that is said cannot be used
	badLine    int

	unitSet, quantitySet bool // the options say it: what the file says does not matter
}

// headerKeys are the usual words before a header's value, in lower case.
var headerKeys = map[string]func(h *header, value string) error{
	"time": setTime, "timestamp": setTime, "datetime": setTime, "date time": setTime, "date/time": setTime,
	"acquired": setTime, "measured": setTime, "acquisition time": setTime, "measurement time": setTime,
	"date": func(h *header, v string) error { h.date = v; return nil },
	"axis": setUnit, "axis unit": setUnit, "x unit": setUnit, "x units": setUnit, "xunits": setUnit,
	"quantity": setQuantity, "y unit": setQuantity, "y units": setQuantity, "yunits": setQuantity,
	"run": setRun, "batch": setRun, "lot": setRun,
	"label": setLabel, "title": setLabel, "condition": setLabel, "class": setLabel,
	"integration time": setExposure(time.Millisecond), "exposure": setExposure(time.Millisecond), "exposure time": setExposure(time.Millisecond),
	"integration time (ms)": setExposure(time.Millisecond), "integration time [ms]": setExposure(time.Millisecond), "exposure (ms)": setExposure(time.Millisecond),
	"integration time (s)": setExposure(time.Second), "integration time [s]": setExposure(time.Second), "exposure (s)": setExposure(time.Second),
	"integration time (us)": setExposure(time.Microsecond), "integration time (µs)": setExposure(time.Microsecond),
	"number of channels": setChannels, "number of points": setChannels, "npoints": setChannels,
}

func setTime(h *header, v string) error  { h.time = v; return nil }
func setRun(h *header, v string) error   { h.run = v; return nil }
func setLabel(h *header, v string) error { h.label = v; return nil }

// setUnit takes a unit alone or among other words, such as "Wavelength (nm)".
func setUnit(h *header, v string) (err error) {
	if h.unit = unitIn(v); h.unit == UnknownUnit {
		h.unit, err = ParseUnit(v)
	}
	if h.unitSet { // only an interferogram looks at it then
		return nil
	}
	return err
}

// setQuantity takes a quantity alone or among other words. One that is not known is an error only if the options do not
// say what the values are.
func setQuantity(h *header, v string) error {
	q, percent, ok := quantityIn(v)
	if !ok && !h.quantitySet {
		_, err := ParseQuantity(v)
		return err
	}
	h.quantity, h.percent = q, percent
	return nil
}

// setChannels takes the number of channels that the file is to have: a whole number above 0.
func setChannels(h *header, v string) error {
	n, k := number([]byte(v), '.')
	if k == 0 || k != len(v) || n != float64(int(n)) || n < 1 {
		return fmt.Errorf("the number of channels is %s, not a whole number above 0", show(v))
	}
	h.channels = int(n)
	return nil
}

// comment takes a line that is set off from the data: key: value, or key = value. Other text passes
// by.
func (h *header) comment(text []byte, line int) {
	if i := bytes.IndexAny(text, ":="); i > 0 {
		h.pair(text[:i], text[i+1:], line)
	}
}

// line takes a line before the numbers that is not set off: a pair, or the names of the columns, or text that passes by. The
// delimiter of the file may stand between key and value as well, as spreadsheets write it.
func (h *header) line(text []byte, d dialect, line int) {
	fields := d.split(nil, text)
	h.names = h.names[:0]
	for _, f := range dropEmpty(fields, 1) {
		h.names = append(h.names, validText(f))
	}
	marks := ":="
	if d.delim != ' ' {
		marks += string(rune(d.delim))
	}
	if i := bytes.IndexAny(text, marks); i > 0 {
		h.pair(text[:i], bytes.TrimRight(text[i+1:], marks+" "), line)
	}
}

// pair takes a key, whatever its case, with its value. A key that is not known passes by; a value that cannot be used is kept
// as the reason why the spectrum cannot be read, the first one only.
func (h *header) pair(key, value []byte, line int) {
	set := headerKeys[strings.ToLower(strings.TrimSpace(string(unquote(bytes.TrimSpace(key)))))]
	if set == nil {
		return
	}
	if err := set(h, strings.TrimSpace(validText(unquote(bytes.TrimSpace(value))))); err != nil && h.bad == "" {
		h.bad, h.badLine = err.Error(), line
	}
}

// said returns the time that the header gives, as text; "" for none.
func (h *header) said() string {
	switch {
	case h.date == "":
		return h.time
	case h.time == "":
		return h.date
	case strings.ContainsAny(h.time, "-/T") || strings.Count(h.time, ".") > 1: // holds its own date
		return h.time
	}
	return h.date + " " + h.time
}

// unitIn finds a unit among the words of a column's name, such as "Wavelength (nm)".
func unitIn(s string) Unit {
	for _, w := range strings.FieldsFunc(s, func(r rune) bool { return strings.ContainsRune(" ()[],;_", r) }) {
		if u, err := ParseUnit(w); err == nil {
			return u
		}
	}
	return UnknownUnit
}

// named takes the name of the column of values: what it says beside what was said before, which counts where they differ.
func (h *header) named(column string) {
	q, percent, _ := quantityIn(column)
	switch h.quantity {
	case UnknownQuantity:
		h.quantity, h.percent = q, percent
	case q:
		h.percent = h.percent || percent
	}
}

// quantityWord maps the words that name a quantity in files to it.
var quantityWord = map[string]Quantity{
	"absorbance": Absorbance, "abs": Absorbance, "log(1/r)": Absorbance, "log(1/t)": Absorbance, "log1/r": Absorbance, "log1/t": Absorbance,
	"reflectance": Reflectance, "reflectivity": Reflectance, "%r": Reflectance, "refl": Reflectance,
	"transmittance": Transmittance, "transmission": Transmittance, "%t": Transmittance, "trans": Transmittance,
	"interferogram": Interferogram, "intensity": Intensity, "intensities": Intensity, "counts": Intensity, "count": Intensity, "raw": Intensity,
}

// quantityIn finds a quantity among the words of a text, and whether it says percent.
func quantityIn(s string) (q Quantity, percent, ok bool) {
	s = strings.ToLower(s)
	percent = strings.Contains(s, "%") || strings.Contains(s, "percent")
	if q, ok = quantityWord[strings.ReplaceAll(s, " ", "")]; !ok {
		for _, w := range strings.FieldsFunc(s, func(r rune) bool { return strings.ContainsRune(" ()[],;_", r) }) {
			if q, ok = quantityWord[w]; ok {
				break
			}
		}
	}
	return q, percent && (q == Reflectance || q == Transmittance), ok
}

// when returns the time of a spectrum of that label for which the file says the text said; "" where it says none. It is the zero time where
// none is wanted, and where TimeAuto finds none at all. A time that is said and cannot be read is an error even then: the
// name or the modification time would be a guess against what the file says. So it is with a name that does not have the form
// that was stated.
func (rd *Reader) when(said, label string) (time.Time, error) {
	opt := rd.opt
	rd.info.TimeFrom = opt.Time
	switch opt.Time {
	case TimeNone:
		return time.Time{}, nil
	case TimeHeader:
		if said == "" {
			return time.Time{}, errors.New("no time stands in its header or time column; add one, or take the time from the name or the modification time")
		}
		return ParseTime(said, rd.zone)
	case TimeName:
		return TimeInName(rd.src.Name, opt.NameLayout, rd.zone)
	case TimeModified:
		if rd.src.Modified.IsZero() {
			return time.Time{}, errors.New("its modification time is not known; take the time from elsewhere")
		}
		return rd.src.Modified, nil
	}
	if said != "" {
		rd.info.TimeFrom = TimeHeader
		t, err := ParseTime(said, rd.zone)
		if err != nil {
			err = fmt.Errorf("%w, or take the time from the name or the modification time", err)
		}
		return t, err
	}
	t, err := TimeInName(rd.src.Name, opt.NameLayout, rd.zone)
	if err == nil || opt.NameLayout != "" && (opt.Undated == nil || !opt.Undated(rd.src.Name, label)) {
		rd.info.TimeFrom = TimeName
		return t, err
	}
	rd.info.TimeFrom = TimeModified
	if rd.src.Modified.IsZero() {
		rd.info.TimeFrom = TimeNone
	}
	return rd.src.Modified, nil
}
