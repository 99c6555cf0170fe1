package main

import (
	"fmt"
	"testing"
	"time"
)

// Shifts are proposed where runs begin at the same times of day, and not where they do not.
func TestShiftsOf(t *testing.T) {
	day := time.Date(2026, 11, 20, 0, 0, 0, 0, time.UTC)
	days := func(n int, at ...time.Duration) (all []time.Time) {
		for d := range n {
			for _, c := range at {
				all = append(all, day.AddDate(0, 0, d).Add(c+time.Duration(d)*time.Minute))
			}
		}
		return all
	}
	h := time.Hour
	for _, c := range []struct {
		starts []time.Time
		want   string
	}{
		{days(5, 6*h, 14*h, 22*h), "[early, 06:00–14:00 late, 14:00–22:00 night, 22:00–06:00]"},
		{days(5, 6*h, 18*h+40*time.Minute), "[day, 06:00–18:30 night, 18:30–06:00]"},
		{days(5, 2*h, 10*h, 18*h), "[early, 10:00–18:00 late, 18:00–02:00 night, 02:00–10:00]"},
		{days(5, 1*h, 3*h), "[day, 01:00–03:00 night, 03:00–01:00]"}, // all begin in the night
		{days(1, 6*h, 14*h, 22*h), "[]"},                // one day tells nothing
		{days(5, 6*h), "[]"},                            // one run a day is no shift
		{days(2, 1*h, 4*h, 6*h, 9*h, 13*h, 17*h), "[]"}, // batches
		{nil, "[]"},
	} {
		if got := fmt.Sprint(shiftsOf(c.starts, time.UTC)); got != c.want {
			t.Errorf("shiftsOf(%v) = %s, want %s", c.starts, got, c.want)
		}
	}
}
