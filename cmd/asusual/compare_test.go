package main

import (
	"testing"
	"time"

	"asusual/cmd/asusual/shift"
	"asusual/monitor/keep"
)

// Each period has a folder of its own, so that no page is written over by that of another period.
func TestPeriodsHaveFoldersOfTheirOwn(t *testing.T) {
	berlin, err := time.LoadLocation("Europe/Berlin")
	if err != nil {
		t.Fatal(err)
	}
	now := time.Date(2026, 11, 25, 12, 0, 0, 0, berlin)
	plan := shift.Plan{Zone: berlin}
	said := map[string]string{}
	for _, c := range []struct{ period, want string }{ // want "": any
		{"2026-11-25", "2026-11-25"},
		{"2026-11-25T00:00..2026-11-25T08:00", "2026-11-25-00-00-to-2026-11-25-08-00"}, // the first eight hours
		{"2026-11-25T00:00..2026-11-26T01:00", ""},                                     // 25 h
		{"2026-11-25T00:00..2026-11-25T23:00", ""},                                     // 23 h
		{"2026-11-25T06:00..2026-11-25T14:00", "2026-11-25-06-00-to-2026-11-25-14-00"},
		{"2026-11-25T06:00:30..2026-11-25T14:00", "2026-11-25-06-00-30-to-2026-11-25-14-00"},
		{"2026-11-25T06:00:30.5..2026-11-25T14:00", ""},
		{"2026-11-25T00:00:01..2026-11-26", ""},
		{"2026-11-24..2026-11-25", "2026-11-24-00-00-to-2026-11-26-00-00"},
		{"2026-03-29", "2026-03-29"}, // a day of 23 h
		{"2026-03-29T00:00..2026-03-30T01:00", ""},
		{"2026-10-25", "2026-10-25"}, // a day of 25 h
		{"2026-10-25T00:00..2026-10-25T23:00", ""},
		{"2026-10-25T02:30+02:00..2026-10-25T06:00", ""}, // the clock shows it twice
		{"2026-10-25T02:30+01:00..2026-10-25T06:00", ""},
	} {
		p, err := plan.Period(c.period, now)
		if err != nil {
			t.Fatal(err)
		}
		name := keep.FolderName(spanName(plan, p))
		if other, taken := said[name]; taken || c.want != "" && name != c.want {
			t.Errorf("the folder of %s is %q, want %q and another than that of %q", c.period, name, c.want, other)
		}
		said[name] = c.period
	}
	yesterday, err := plan.Period("yesterday", now)
	if name := spanName(plan, yesterday); err != nil || name != "2026-11-24" {
		t.Errorf("yesterday is %q, %v, want its day", name, err)
	}
}
