package report

import (
	"math"
	"testing"
	"time"
)

func TestDuration(t *testing.T) {
	tell := newTeller(nil, nil, time.Time{}, time.Time{})
	for _, tt := range []struct {
		d    time.Duration
		want string
	}{
		{0, "0 s"}, {45 * time.Second, "45 s"}, {90 * time.Second, "2 min"}, {33 * time.Minute, "33 min"},
		{59*time.Minute + 40*time.Second, "1 h"}, {time.Hour, "1 h"}, {6*time.Hour + 43*time.Minute + 20*time.Second, "6 h 43 min"},
		{47 * time.Hour, "47 h"}, {72 * time.Hour, "3 days"}, {75*time.Hour + 20*time.Minute, "3 days 3 h"}, {-5 * time.Minute, "5 min"},
	} {
		if got := tell.duration(tt.d); got != tt.want {
			t.Errorf("duration(%v) = %q, want %q", tt.d, got, tt.want)
		}
	}
}

func TestNumber(t *testing.T) {
	l := English()
	for _, tt := range []struct {
		v      float64
		digits int
		want   string
	}{
		{2.4321, 2, "2.4"}, {0.5649, 2, "0.56"}, {14.3, 2, "14"}, {1437, 2, "1,400"}, {9.96, 2, "10"}, {0.0996, 2, "0.10"},
		{-3.2, 2, "−3.2"}, {0, 3, "0"}, {103.5, 3, "104"}, {0.0000604, 3, "6.04 × 10⁻⁵"}, {2.5e9, 2, "2.5 × 10⁹"},
		{math.NaN(), 2, "–"}, {math.Inf(-1), 2, "–"},
	} {
		if got := l.number(tt.v, tt.digits); got != tt.want {
			t.Errorf("number(%g, %d) = %q, want %q", tt.v, tt.digits, got, tt.want)
		}
	}
	if got := l.short(0.0100, 3); got != "0.01" {
		t.Errorf("short(0.0100, 3) = %q, want 0.01", got)
	}
	if got := l.short(6.0e-7, 3); got != "6 × 10⁻⁷" {
		t.Errorf("short(6e-7, 3) = %q, want 6 × 10⁻⁷", got)
	}
	if got := l.whole(-1234567); got != "−1,234,567" {
		t.Errorf("whole(-1234567) = %q, want −1,234,567", got)
	}
}

func TestPercent(t *testing.T) {
	l := English()
	for _, tt := range []struct {
		share float64
		want  string
	}{
		{0, "0 %"}, {1, "100 %"}, {0.69, "69 %"}, {0.996, "99.6 %"}, {0.99999, "> 99.9 %"}, {0.00001, "< 0.1 %"}, {0.013, "1.3 %"}, {math.NaN(), "–"},
	} {
		if got := l.percent(tt.share); got != tt.want {
			t.Errorf("percent(%g) = %q, want %q", tt.share, got, tt.want)
		}
	}
}

func TestTimes(t *testing.T) {
	tell := newTeller(nil, shiftZone, at(22, 0), at(30, 0))
	for _, tt := range []struct{ got, want string }{
		{tell.clock(at(22, 5).UTC()), "22:05"},
		{tell.clock(at(26, 5)), "02:05"},
		{tell.clock(at(14, 5)), "25 November, 14:05"},
		{tell.clock(at(14, 5).AddDate(-1, 0, 0)), "25 November 2025, 14:05"},
		{tell.clock(time.Time{}), "–"},
		{tell.span(at(22, 5), at(26, 40)), "22:05–02:40"},
		{tell.span(at(-10, 5), at(-10, 40)), "24 November, 14:05–14:40"},
		{tell.span(at(25, 0), time.Time{}), "01:00 until now"},
		{tell.period(), "Wednesday 25 November 2026, 22:00, to Thursday 26 November 2026, 06:00."},
		{newTeller(nil, shiftZone, at(6, 0), at(14, 0)).period(), "Wednesday 25 November 2026, 06:00–14:00."},
	} {
		if tt.got != tt.want {
			t.Errorf("said %q, want %q", tt.got, tt.want)
		}
	}
}

// TestClocksChange takes a night on which the clocks go back in central Europe, the last Sunday of October (Directive
// 2000/84/EC of the European Parliament, article 3): the shift lasts nine hours and its times stay those of the wall.
func TestClocksChange(t *testing.T) {
	zone, err := time.LoadLocation("Europe/Berlin")
	if err != nil {
		t.Skip("no time zones on this machine:", err)
	}
	from, to := time.Date(2026, 10, 24, 22, 0, 0, 0, zone), time.Date(2026, 10, 25, 6, 0, 0, 0, zone)
	tell := newTeller(nil, zone, from.UTC(), to.UTC())
	if got := tell.duration(to.Sub(from)); got != "9 h" {
		t.Errorf("duration of the night = %q, want 9 h", got)
	}
	if got := tell.clock(to.Add(-time.Minute)); got != "05:59" {
		t.Errorf("clock = %q, want 05:59", got)
	}
	// The hour from two to three comes twice, and each says which one it is; the hours beside it do not.
	two := time.Date(2026, 10, 25, 0, 0, 0, 0, time.UTC) // 02:00 of summer time
	for after, want := range map[time.Duration]string{-time.Minute: "01:59", 0: "02:00 CEST", 30 * time.Minute: "02:30 CEST", 59 * time.Minute: "02:59 CEST",
		time.Hour: "02:00 CET", 90 * time.Minute: "02:30 CET", 119 * time.Minute: "02:59 CET", 2 * time.Hour: "03:00"} {
		if got := tell.clock(two.Add(after)); got != want {
			t.Errorf("clock %v after two = %q, want %q", after, got, want)
		}
	}
	if got, want := tell.span(two.Add(50*time.Minute), two.Add(70*time.Minute)), "02:50 CEST–02:10 CET"; got != want {
		t.Errorf("span = %q, want %q", got, want)
	}
	spring := newTeller(nil, zone, time.Date(2026, 3, 28, 22, 0, 0, 0, zone), time.Date(2026, 3, 29, 6, 0, 0, 0, zone))
	if got := spring.span(time.Date(2026, 3, 29, 0, 30, 0, 0, time.UTC), time.Date(2026, 3, 29, 1, 30, 0, 0, time.UTC)); got != "01:30–03:30" {
		t.Errorf("span over the hour that is left out = %q, want 01:30–03:30", got)
	}
}

// TestClock: a time near a shift is told by the clock, but never so that two moments look alike: in a shift of a whole day half past eleven
// of the evening before bears its day.
func TestClock(t *testing.T) {
	midnight := at(0, 0)
	for _, tt := range []struct {
		from, to, at time.Time
		want         string
	}{
		{at(6, 0), at(14, 0), at(14, 0), "14:00"},
		{at(6, 0), at(14, 0), at(5, 0), "05:00"},
		{at(6, 0), at(14, 0), at(15, 0), "15:00"},
		{at(6, 0), at(14, 0), at(15, 1), "25 November, 15:01"},
		{at(6, 0), at(14, 0), at(4, 59), "25 November, 04:59"},
		{midnight, at(24, 0), at(0, 30), "00:30"},
		{midnight, at(24, 0), at(23, 30), "23:30"},
		{midnight, at(24, 0), at(0, -30), "24 November, 23:30"},
		{midnight, at(24, 0), at(24, 30), "26 November, 00:30"},
		{midnight, at(24, 0), at(24, 0), "00:00"},               // its end
		{midnight, at(23, 0), at(23, 30), "25 November, 23:30"}, // a day of 23 hours, in which the clocks leap
		{midnight, at(48, 0), at(12, 0), "25 November, 12:00"},
	} {
		if got := newTeller(nil, shiftZone, tt.from, tt.to).clock(tt.at); got != tt.want {
			t.Errorf("in %v to %v, clock(%v) = %q, want %q", tt.from, tt.to, tt.at, got, tt.want)
		}
	}
}
