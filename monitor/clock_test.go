package monitor

import (
	"testing"
	"time"
)

func TestClock(t *testing.T) {
	start := time.Date(2026, 10, 25, 2, 0, 0, 0, time.UTC)
	min := func(n float64) time.Time { return start.Add(time.Duration(n * float64(time.Minute))) }
	type spectrum struct{ at, written time.Time }
	for _, c := range []struct {
		name       string
		spectra    func() []spectrum
		late, back int
	}{
		{"in order", func() (s []spectrum) {
			for i := range 100 {
				s = append(s, spectrum{min(float64(i)), min(float64(i))})
			}
			return s
		}, 0, 0},
		{"an hour is doubled in autumn, files are written in universal time", func() (s []spectrum) {
			for i := range 200 {
				at := min(float64(i))
				if i >= 100 {
					at = at.Add(-time.Hour)
				}
				s = append(s, spectrum{at, min(float64(i))})
			}
			return s
		}, putBackAfter - 1, 1},
		{"old files that kept their times are copied in, a thousand", func() (s []spectrum) {
			s = append(s, spectrum{min(5000), min(5000)})
			for i := range 1000 {
				s = append(s, spectrum{min(float64(i)), min(float64(i))})
			}
			return s
		}, 1000, 0},
		{"old files that got new times arrive among new ones", func() (s []spectrum) {
			for i := range 200 {
				s = append(s, spectrum{min(5000 + float64(i)), min(5000 + float64(i))}, spectrum{min(float64(i)), min(5000 + float64(i))})
			}
			return s
		}, 200, 0},
		{"a few late ones in a row, thrice", func() (s []spectrum) {
			for i := range 3 {
				s = append(s, spectrum{min(float64(1000 + i)), min(float64(1000 + i))})
				for j := range putBackAfter - 1 {
					s = append(s, spectrum{min(float64(j)), min(2000)})
				}
			}
			return s
		}, 3 * (putBackAfter - 1), 0},
	} {
		var k clock
		late, back := 0, 0
		for _, s := range c.spectra() {
			l, b := k.take(s.at, s.written)
			if l {
				late++
			}
			if b > 0 {
				back++
			}
		}
		if late != c.late || back != c.back {
			t.Errorf("%s: %d late, put back %d times, want %d and %d", c.name, late, back, c.late, c.back)
		}
	}
}
