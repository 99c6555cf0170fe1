package monitor

import (
	"testing"
	"time"
)

func TestClock(t *testing.T) {
	start := time.Date(2026, 10, 25, 2, 0, 0, 0, time.UTC)
	min := func(n float64) time.Time { return start.Add(time.Duration(n * float64(time.Minute))) }
	type spectrum struct{ at, written, now time.Time } // now zero: long after
	years := func(n int) time.Time { return start.AddDate(n, 0, 0) }
	inOrder := func(s ...spectrum) []spectrum { // and a hundred more, each of which is read a second after it was written
		for i := range 100 {
			at := min(float64(i + 1))
			s = append(s, spectrum{at, at, at.Add(time.Second)})
		}
		return s
	}
	for _, c := range []struct {
		name       string
		spectra    func() []spectrum
		late, back int
	}{
		{"one is of 2099, and its file was written when it came", func() []spectrum { return inOrder(spectrum{years(73), start, start}) }, putBackAfter - 1, 1},
		{"one is of 2099, and so is the time of its file", func() []spectrum { return inOrder(spectrum{years(73), years(73), start}) }, putBackAfter, 1},
		{"the computer's clock is a year ahead, and is put right", func() []spectrum { return inOrder(spectrum{years(1), years(1), years(1)}) }, putBackAfter, 1},
		{"in order", func() (s []spectrum) {
			for i := range 100 {
				s = append(s, spectrum{at: min(float64(i)), written: min(float64(i))})
			}
			return s
		}, 0, 0},
		{"an hour is doubled in autumn, files are written in universal time", func() (s []spectrum) {
			for i := range 200 {
				at := min(float64(i))
				if i >= 100 {
					at = at.Add(-time.Hour)
				}
				s = append(s, spectrum{at: at, written: min(float64(i))})
			}
			return s
		}, putBackAfter - 1, 1},
		{"old files that kept their times are copied in, a thousand", func() (s []spectrum) {
			s = append(s, spectrum{at: min(5000), written: min(5000)})
			for i := range 1000 {
				s = append(s, spectrum{at: min(float64(i)), written: min(float64(i))})
			}
			return s
		}, 1000, 0},
		{"old files that got new times arrive among new ones", func() (s []spectrum) {
			for i := range 200 {
				s = append(s, spectrum{at: min(5000 + float64(i)), written: min(5000 + float64(i))}, spectrum{at: min(float64(i)), written: min(5000 + float64(i))})
			}
			return s
		}, 200, 0},
		{"a few late ones in a row, thrice", func() (s []spectrum) {
			for i := range 3 {
				s = append(s, spectrum{at: min(float64(1000 + i)), written: min(float64(1000 + i))})
				for j := range putBackAfter - 1 {
					s = append(s, spectrum{at: min(float64(j)), written: min(2000)})
				}
			}
			return s
		}, 3 * (putBackAfter - 1), 0},
	} {
		var k clock
		late, back := 0, 0
		for _, s := range c.spectra() {
			if s.now.IsZero() {
				s.now = years(100)
			}
			l, b := k.take(s.at, s.written, s.now)
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

// A watch that is started anew puts a time to come right as one that was not, however far ahead it is; what was written before the start
// stays late.
func TestClockResumed(t *testing.T) {
	start := time.Date(2026, 11, 25, 6, 0, 0, 0, time.UTC)
	k := resumed(start.AddDate(73, 0, 0), start)
	late := 0
	for i := -100; i < 100; i++ {
		at := start.Add(time.Duration(i) * time.Minute)
		if l, back := k.take(at, at, start.Add(2*time.Hour)); l {
			late++
		} else if back != 0 && i != putBackAfter-1 {
			t.Errorf("the clock was put back at the spectrum %d after the start, want at the thirtieth", i+1)
		}
	}
	if want := 100 + putBackAfter - 1; late != want {
		t.Errorf("%d late after a start, want %d", late, want)
	}
}
