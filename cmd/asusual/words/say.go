package words

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"
)

// Count says a number with its noun: "1 spectrum", "1,842 spectra".
func Count(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return Number(n) + " " + many
}

// Spectra says a number of spectra.
func Spectra(n int) string { return Count(n, "spectrum", "spectra") }

// Number says a whole number with commas between thousands.
func Number(n int) string {
	s := strconv.Itoa(n)
	for i := len(s) - 3; i > 0 && s[i-1] != '-'; i -= 3 {
		s = s[:i] + "," + s[i:]
	}
	return s
}

// Figure says an estimate with two digits, and all those before the point: 0.34, 1.2, 47, 1,842.
func Figure(v float64) string {
	switch a := math.Abs(v); {
	case math.IsNaN(v) || math.IsInf(v, 0) || a >= 1e15:
		return "–"
	case a >= 10:
		return Number(int(math.Round(v)))
	case a < 1e-4:
		return fmt.Sprintf("%.2g", v)
	}
	s := strconv.FormatFloat(v, 'f', max(0, 1-int(math.Floor(math.Log10(math.Abs(v))))), 64)
	return strings.TrimSuffix(strings.TrimRight(s, "0"), ".")
}

// Moment says a time to the minute: 2026-11-25 14:05.
func Moment(t time.Time) string {
	if t.IsZero() {
		return "at no known time"
	}
	return t.Format("2006-01-02 15:04")
}

// Between says a stretch of time; the day stands once where it is one, and seconds only where it is short.
func Between(from, to time.Time) string {
	if d := to.Sub(from); d > 0 && d < 10*time.Minute {
		return from.Format("2006-01-02 15:04:05") + "–" + to.Format("15:04:05")
	}
	if from.Format(time.DateOnly) == to.Format(time.DateOnly) {
		return from.Format("2006-01-02 15:04") + "–" + to.Format("15:04")
	}
	return Moment(from) + " – " + Moment(to)
}

// Duration says how long something took or lasted, as people do: 40 s, 12 min, 3 h 20 min, 4 days.
func Duration(d time.Duration) string {
	switch d = d.Round(time.Second); {
	case d < 2*time.Minute:
		return fmt.Sprintf("%d s", d/time.Second)
	case d < time.Hour:
		return fmt.Sprintf("%d min", d.Round(time.Minute)/time.Minute)
	case d < 48*time.Hour:
		d = d.Round(time.Minute)
		h, m := d/time.Hour, d%time.Hour/time.Minute
		if m == 0 {
			return fmt.Sprintf("%d h", h)
		}
		return fmt.Sprintf("%d h %d min", h, m)
	}
	return fmt.Sprintf("%d days", d.Round(24*time.Hour)/(24*time.Hour))
}

// List joins words as a sentence does: a, b and c.
func List(all []string) string {
	if len(all) < 2 {
		return strings.Join(all, "")
	}
	return strings.Join(all[:len(all)-1], ", ") + " and " + all[len(all)-1]
}
