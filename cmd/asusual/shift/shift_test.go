package shift

import (
	"testing"
	"time"
	_ "time/tzdata" // the zones must be there on a machine that has none
)

func zone(t *testing.T, name string) *time.Location {
	t.Helper()
	z, err := time.LoadLocation(name)
	if err != nil {
		t.Fatal(err)
	}
	return z
}

func TestParseClock(t *testing.T) {
	for s, want := range map[string]Clock{"06:00": 360, "6:00": 360, "00:00": 0, "23:59": 1439, "24:00": 1440} {
		if got, err := ParseClock(s); err != nil || got != want {
			t.Errorf("ParseClock(%q) = %v, %v, want %v", s, got, err, want)
		}
	}
	for _, s := range []string{"", "6", "6:0", "24:01", "25:00", "06:60", "-1:00", "06:00:00", "06:00 ", "noon", "06:+1", "6: 1"} {
		if got, err := ParseClock(s); err == nil {
			t.Errorf("ParseClock(%q) = %v, want an error", s, got)
		}
	}
}

// Clock changes: in the European Union on the last Sunday of March and of October at 01:00 UTC (Directive 2000/84/EC,
// articles 2 and 3), which is 2026-03-29 and 2026-10-25.
func TestOnFollowsTheClockOnTheWall(t *testing.T) {
	berlin := zone(t, "Europe/Berlin")
	plan := Plan{Zone: berlin, Shifts: []Shift{
		{"day", 6 * 60, 14 * 60}, {"night", 22 * 60, 6 * 60}, {"skipped", 2*60 + 30, 5 * 60}, {"twice", 2*60 + 30, 3 * 60},
	}}
	for _, c := range []struct {
		name, date, from, to string // moments in UTC
		hours                float64
	}{
		{"day", "2026-11-25", "2026-11-25T05:00:00Z", "2026-11-25T13:00:00Z", 8},
		{"DAY", "2026-07-01", "2026-07-01T04:00:00Z", "2026-07-01T12:00:00Z", 8},
		{"night", "2026-11-25", "2026-11-25T21:00:00Z", "2026-11-26T05:00:00Z", 8},
		{"night", "2026-03-28", "2026-03-28T21:00:00Z", "2026-03-29T04:00:00Z", 7},
		{"night", "2026-10-24", "2026-10-24T20:00:00Z", "2026-10-25T05:00:00Z", 9},
		{"skipped", "2026-03-29", "2026-03-29T01:00:00Z", "2026-03-29T03:00:00Z", 2},
		{"twice", "2026-10-25", "2026-10-25T00:30:00Z", "2026-10-25T02:00:00Z", 1.5},
	} {
		got, err := plan.On(c.name, c.date)
		if err != nil {
			t.Errorf("On(%s, %s): %v", c.name, c.date, err)
			continue
		}
		from, to := got.From.UTC().Format(time.RFC3339), got.To.UTC().Format(time.RFC3339)
		if from != c.from || to != c.to || got.To.Sub(got.From).Hours() != c.hours || got.Date != c.date {
			t.Errorf("On(%s, %s) = %s to %s, want %s to %s, %v h", c.name, c.date, from, to, c.from, c.to, c.hours)
		}
	}
}

func TestAtLastNext(t *testing.T) {
	plan := Plan{Zone: zone(t, "Europe/Helsinki"), Shifts: []Shift{
		{"early", 6 * 60, 14 * 60}, {"late", 14 * 60, 22 * 60}, {"night", 22 * 60, 6 * 60},
	}}
	for _, c := range []struct{ at, now, last, next string }{
		{"2026-11-25T05:59:59+02:00", "night 2026-11-24", "late 2026-11-24", "night 2026-11-24"},
		{"2026-11-25T06:00:00+02:00", "early 2026-11-25", "night 2026-11-24", "early 2026-11-25"},
		{"2026-11-25T14:00:00+02:00", "late 2026-11-25", "early 2026-11-25", "late 2026-11-25"},
		{"2026-11-25T23:30:00+02:00", "night 2026-11-25", "late 2026-11-25", "night 2026-11-25"},
		{"2026-11-25T04:00:00Z", "early 2026-11-25", "night 2026-11-24", "early 2026-11-25"}, // 06:00 in Helsinki
	} {
		at, err := time.Parse(time.RFC3339, c.at)
		if err != nil {
			t.Fatal(err)
		}
		now, ok := plan.At(at)
		if got := now.Name + " " + now.Date; !ok || got != c.now {
			t.Errorf("At(%s) = %s, %v, want %s", c.at, got, ok, c.now)
		}
		if last := plan.Last(at); last.Name+" "+last.Date != c.last {
			t.Errorf("Last(%s) = %s %s, want %s", c.at, last.Name, last.Date, c.last)
		}
		if next := plan.Next(at); next.Name+" "+next.Date != c.next {
			t.Errorf("Next(%s) = %s %s, want %s", c.at, next.Name, next.Date, c.next)
		}
	}
}

func TestBetweenShiftsAndOverlaps(t *testing.T) {
	plan := Plan{Shifts: []Shift{{"day", 8 * 60, 16 * 60}, {"evening", 15 * 60, 23 * 60}}}
	at := time.Date(2026, 11, 25, 3, 0, 0, 0, time.UTC)
	if s, ok := plan.At(at); ok {
		t.Errorf("At(03:00) = %v, want no shift", s)
	}
	if s, _ := plan.At(at.Add(12*time.Hour + 30*time.Minute)); s.Name != "evening" {
		t.Errorf("At(15:30) = %v, want the shift that began last, evening", s)
	}
}

func TestWithoutShiftsTheDayIsOne(t *testing.T) {
	plan := Plan{}
	s, err := plan.On("", "2026-11-25")
	if err != nil || s.Name != "day" || s.To.Sub(s.From) != 24*time.Hour {
		t.Errorf("On(\"\", 2026-11-25) = %v, %v, want the whole day", s, err)
	}
}

// Shifts that follow each other without a pause cover every moment of a year once, clock changes included.
func TestShiftsTileTheYear(t *testing.T) {
	for _, name := range []string{"Europe/Berlin", "America/New_York", "Australia/Lord_Howe", "UTC"} {
		plan := Plan{Zone: zone(t, name), Shifts: []Shift{{"a", 150, 630}, {"b", 630, 1110}, {"c", 1110, 150}}}
		span, ok := plan.At(time.Date(2026, 1, 1, 12, 0, 0, 0, time.UTC))
		if !ok {
			t.Fatalf("%s: no shift on New Year's Day", name)
		}
		for range 3 * 365 {
			next, found := plan.At(span.To)
			if !found || !next.From.Equal(span.To) {
				t.Fatalf("%s: after %v comes %v, %v, want a shift that begins at %v", name, span, next, found, span.To)
			}
			span = next
		}
		if year := time.Date(2026, 12, 31, 12, 0, 0, 0, time.UTC); span.To.Before(year) {
			t.Errorf("%s: three shifts a day reach to %v in a year, want %v", name, span.To, year)
		}
	}
}

func TestOnSaysWhatItKnows(t *testing.T) {
	plan := Plan{Shifts: []Shift{{"day", 360, 840}, {"night", 1320, 360}}}
	if _, err := plan.On("noon", "2026-11-25"); err == nil || err.Error() != `shift "noon" is not known; the shifts are day, night` {
		t.Errorf("On(noon) = %v, want the names of the shifts", err)
	}
	if _, err := plan.On("day", "25.11.2026"); err == nil || err.Error() != `date "25.11.2026" is not a day such as 2026-11-25` {
		t.Errorf("On(25.11.2026) = %v, want the form of a date", err)
	}
}
