package shift

import (
	"testing"
	"time"
	_ "time/tzdata" // the zones must be there on a machine that has none
)

func TestParseHours(t *testing.T) {
	for s, want := range map[string]Hours{
		"21:00-21:30": {1260, 1290}, "21:00–21:30": {1260, 1290}, " 6:00 - 7:05 ": {360, 425}, "23:30-00:30": {1410, 30}, "00:00-24:00": {0, 1440},
	} {
		got, err := ParseHours(s)
		if err != nil || got != want {
			t.Errorf("ParseHours(%q) = %v, %v, want %v", s, got, err, want)
		}
		if again, err := ParseHours(got.String()); err != nil || again != got {
			t.Errorf("ParseHours(%q) = %v, %v, want %v back", got.String(), again, err, got)
		}
	}
	for _, s := range []string{"", "21:00", "21:00-", "21-22", "21:00-21:00", "25:00-26:00", "21:00-21:30-22:00"} {
		if got, err := ParseHours(s); err == nil {
			t.Errorf("ParseHours(%q) = %v, want an error", s, got)
		}
	}
}

// By the clock on the wall: the same hours in winter and in summer, which are others in UTC.
func TestWithin(t *testing.T) {
	helsinki, err := time.LoadLocation("Europe/Helsinki")
	if err != nil {
		t.Fatal(err)
	}
	expected := Within([]Hours{{1260, 1290}, {1410, 30}}, helsinki)
	for s, want := range map[string]bool{
		"2026-11-25T18:59:59Z": false, "2026-11-25T19:00:00Z": true, "2026-11-25T19:29:59Z": true, "2026-11-25T19:30:00Z": false,
		"2026-07-25T18:00:00Z": true, "2026-07-25T19:00:00Z": false,
		"2026-11-25T21:30:00Z": true, "2026-11-25T22:29:00Z": true, "2026-11-25T22:30:00Z": false, // over midnight
	} {
		at, err := time.Parse(time.RFC3339, s)
		if err != nil {
			t.Fatal(err)
		}
		if got := expected(at); got != want {
			t.Errorf("expected at %s = %v, want %v", s, got, want)
		}
	}
	if Within(nil, time.UTC)(time.Time{}) {
		t.Error("expected in no hours = true, want false")
	}
}
