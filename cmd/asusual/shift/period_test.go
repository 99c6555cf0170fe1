package shift

import (
	"testing"
	"time"
)

func TestPeriod(t *testing.T) {
	plan := Plan{Zone: zone(t, "Europe/Helsinki")}         // UTC+2 in November
	now := time.Date(2026, 11, 25, 23, 30, 0, 0, time.UTC) // 01:30 on the 26th in Helsinki
	for s, want := range map[string]string{
		"today":                              "2026-11-25T22:00:00Z 2026-11-26T22:00:00Z",
		"yesterday":                          "2026-11-24T22:00:00Z 2026-11-25T22:00:00Z",
		"last-week":                          "2026-11-18T22:00:00Z 2026-11-25T22:00:00Z",
		"2026-11-25":                         "2026-11-24T22:00:00Z 2026-11-25T22:00:00Z",
		"2026-10-25":                         "2026-10-24T21:00:00Z 2026-10-25T22:00:00Z", // 25 hours: the clock goes back
		"2026-11-20..2026-11-21":             "2026-11-19T22:00:00Z 2026-11-21T22:00:00Z",
		"2026-11-25T06:00..2026-11-25 14:00": "2026-11-25T04:00:00Z 2026-11-25T12:00:00Z",
		"2026-11-25T06:00:30Z..2026-11-25T14:00Z": "2026-11-25T06:00:30Z 2026-11-25T14:00:00Z",
	} {
		got, err := plan.Period(s, now)
		if text := got.From.UTC().Format(time.RFC3339) + " " + got.To.UTC().Format(time.RFC3339); err != nil || text != want {
			t.Errorf("Period(%s) = %s, %v, want %s", s, text, err, want)
		}
	}
	for s, want := range map[string]string{
		"tomorrow":               `"tomorrow" is not a day such as 2026-11-25 or a moment such as 2026-11-25T06:00`,
		"2026-11-25T06:00":       `"2026-11-25T06:00" is a moment; a period is a day, or two moments with .. between them`,
		"2026-11-25..2026-11-24": `"2026-11-25..2026-11-24" ends before it begins`,
		"2026-11-25..":           `"" is not a day such as 2026-11-25 or a moment such as 2026-11-25T06:00`,
		"2026-13-01":             `"2026-13-01" is not a day such as 2026-11-25 or a moment such as 2026-11-25T06:00`,
	} {
		if _, err := plan.Period(s, now); err == nil || err.Error() != want {
			t.Errorf("Period(%s) = %v, want %s", s, err, want)
		}
	}
}
