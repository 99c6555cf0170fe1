package spectrum

import (
	"errors"
	"fmt"
	"strconv"
	"strings"
	"time"
)

// timeLayouts are the usual forms of a time in a header or a column. Each takes a fraction of a
// second as well. Forms that begin with the day or the month and have slashes are left out: 03/04
// is two days of the year.
var timeLayouts = [...]string{
	time.RFC3339,
	"2006-01-02 15:04:05", "2006-01-02T15:04:05", "2006-01-02 15:04:05Z07:00", "2006-01-02 15:04:05 Z07:00",
	"2006-01-02 15:04:05 -0700", "2006-01-02T15:04:05-0700", "2006-01-02 15:04:05-0700", "2006-01-02 15:04:05 MST",
	"2006/01/02 15:04:05", "2006/01/02 15:04:05 -0700", "2006/01/02 15:04:05-0700", "2006/01/02 15:04:05 -07:00",
	"2006/01/02", "2006/01/02 15:04",
	"2006-01-02 15:04", "2006-01-02T15:04", "2006-01-02",
	"02.01.2006 15:04:05", "02.01.2006 15:04", "02.01.2006",
	"20060102T150405Z07:00", "20060102T150405", "20060102 150405", "20060102-150405", "20060102150405",
}

// ParseTime reads a time in one of the usual forms: RFC 3339 and its kin with a blank, a slash or
// no offset, day.month.year, the compact forms of ISO 8601, and seconds or milliseconds since 1970
// (10 or 13 digits). zone holds for a time without an offset; where clocks are put back, the hour
// that comes twice is taken as the time package takes it. Of named zones only UTC and GMT are read.
// A form that can be read as two days, such as 03/04/2026, is refused.
func ParseTime(s string, zone *time.Location) (time.Time, error) {
	s = strings.TrimSpace(s)
	if zone == nil {
		zone = time.UTC
	}
	if s == "" {
		return time.Time{}, errors.New("no time stands there")
	}
	if t, ok := unixTime(s, zone); ok {
		return t, nil
	}
	for _, layout := range timeLayouts {
		t, err := time.ParseInLocation(layout, s, zone)
		if err != nil {
			continue
		}
		if layout[len(layout)-1] == 'T' && !strings.HasSuffix(s, " UTC") && !strings.HasSuffix(s, " GMT") {
			continue
		}
		return t, nil
	}
	return time.Time{}, fmt.Errorf("the time %s is in no form that is read; write it as 2026-11-25T06:34:12+01:00", show(s))
}

// unixTime reads seconds (10 digits, with a fraction or not) or milliseconds (13 digits) since
// 1970.
func unixTime(s string, zone *time.Location) (time.Time, bool) {
	whole, frac, dotted := strings.Cut(s, ".")
	n, err := strconv.ParseInt(whole, 10, 64)
	if err != nil || whole[0] < '0' || whole[0] > '9' || len(frac) > 9 {
		return time.Time{}, false
	}
	switch {
	case len(whole) == 13 && !dotted:
		return time.UnixMilli(n).In(zone), true
	case len(whole) != 10:
		return time.Time{}, false
	}
	var ns int64
	if frac != "" {
		if ns, err = strconv.ParseInt((frac + "000000000")[:9], 10, 64); err != nil || ns < 0 {
			return time.Time{}, false
		}
	}
	return time.Unix(n, ns).In(zone), true
}

// TimeInName finds the time that the name of a file holds. layout is a layout of the time package;
// "" finds the usual forms: year, month, day, hour, minute and, if there, second and its fraction,
// as digits, with or without one character between them, first in the name, then in the path with
// its folders: 20261125-063412.csv, 2026-11-25T06-34-12.250.csv, 2026-11-25/06.34.12.csv. A date
// alone is no time.
func TimeInName(path, layout string, zone *time.Location) (time.Time, error) {
	if zone == nil {
		zone = time.UTC
	}
	base := path[strings.LastIndexAny(path, `/\`)+1:]
	if layout != "" {
		if t, ok := findLayout(base, layout, zone); ok {
			return t, nil
		}
		return time.Time{}, fmt.Errorf("its name holds no time of the form %q; mend name-pattern, or take the time from elsewhere", formOf(layout))
	}
	for _, s := range [...]string{base, path} {
		if t, ok := findTime(s, zone); ok {
			return t, nil
		}
	}
	return time.Time{}, errors.New("its name holds no time; say its form, or take the time from elsewhere")
}

// formOf writes a layout of the time package as people write the form of a time: YYYYMMDD-hhmmss.
func formOf(layout string) string {
	return strings.NewReplacer("2006", "YYYY", "01", "MM", "02", "DD", "15", "hh", "04", "mm", "05", "ss", "000", "fff").Replace(layout)
}

// longestName is how much of a name is searched: file systems allow 255 bytes.
const longestName = 255

// findLayout tries the layout at every place of s, with every length that a name of a month or a
// fraction can give it.
func findLayout(s, layout string, zone *time.Location) (time.Time, bool) {
	s = s[:min(len(s), longestName)]
	for i := range len(s) {
		for n := min(len(layout)+12, len(s)-i); n >= max(1, len(layout)-8); n-- {
			if t, err := time.ParseInLocation(layout, s[i:i+n], zone); err == nil && t.Year() > 0 {
				return t, true
			}
		}
	}
	return time.Time{}, false
}

// findTime looks for the usual forms in s, from left to right.
func findTime(s string, zone *time.Location) (time.Time, bool) {
	if k := len(s) - longestName; k > 0 {
		s = s[k:]
	}
	for i := range len(s) {
		if isDigit(s, i) && !isDigit(s, i-1) {
			if t, ok := timeAt(s[i:], zone); ok {
				return t, true
			}
		}
	}
	return time.Time{}, false
}

func isDigit(s string, i int) bool { return i >= 0 && i < len(s) && s[i]-'0' <= 9 }

// timeAt reads a time at the start of s.
func timeAt(s string, zone *time.Location) (time.Time, bool) {
	var part [6]int // year, month, day, hour, minute, second
	for i := range part {
		width := 2
		if i == 0 {
			width = 4
		}
		rest := s
		if i > 0 && len(rest) > 0 && !isDigit(rest, 0) && strings.IndexByte("-_. T:/\\h", rest[0]) >= 0 {
			rest = rest[1:]
		}
		v, ok := digits(rest, width)
		if !ok && i == 5 {
			break // no seconds
		}
		if !ok {
			return time.Time{}, false
		}
		part[i], s = v, rest[width:]
	}
	if isDigit(s, 0) { // a longer number, such as a serial number or a compact fraction
		return time.Time{}, false
	}
	ns := 0
	if len(s) > 1 && (s[0] == '.' || s[0] == ',' || s[0] == '_' || s[0] == '-') {
		n := 1
		for isDigit(s, n) {
			n++
		}
		// Three, six or nine digits are a fraction of a second; others may count something else.
		if n == 4 || n == 7 || n == 10 {
			ns, _ = strconv.Atoi((s[1:n] + "000000")[:9])
			s = s[n:]
		}
	}
	if s != "" && s[0] == 'Z' {
		zone = time.UTC
	}
	t := time.Date(part[0], time.Month(part[1]), part[2], part[3], part[4], part[5], ns, zone)
	ok := part[0] >= 1970 && part[0] < 2200 && part[1] >= 1 && part[1] <= 12 && part[2] >= 1 && part[3] < 24 && part[4] < 60 && part[5] < 60 &&
		time.Date(part[0], time.Month(part[1]), part[2], 0, 0, 0, 0, time.UTC).Day() == part[2]
	return t, ok
}

// digits reads a number of exactly width digits at the start of s.
func digits(s string, width int) (int, bool) {
	if len(s) < width {
		return 0, false
	}
	v := 0
	for i := range width {
		if !isDigit(s, i) {
			return 0, false
		}
		v = v*10 + int(s[i]-'0')
	}
	return v, true
}
