package shift

import (
	"fmt"
	"strings"
	"time"
)

// Hours are a stretch of every day, by the clock on the wall. Where To is not after From, they pass midnight.
type Hours struct{ From, To Clock }

// ParseHours reads hours such as 21:00-21:30.
func ParseHours(s string) (Hours, error) {
	from, to, ok := strings.Cut(strings.ReplaceAll(s, "–", "-"), "-")
	if !ok {
		return Hours{}, fmt.Errorf("%q is not a stretch of the day such as 21:00-21:30", s)
	}
	var h Hours
	var err error
	if h.From, err = ParseClock(strings.TrimSpace(from)); err != nil {
		return Hours{}, err
	}
	if h.To, err = ParseClock(strings.TrimSpace(to)); err != nil {
		return Hours{}, err
	}
	if h.From == h.To {
		return Hours{}, fmt.Errorf("%q ends when it begins; the whole day is 00:00-24:00", s)
	}
	return h, nil
}

// String returns the hours as 21:00–21:30.
func (h Hours) String() string { return h.From.String() + "–" + h.To.String() }

// Hold reports whether the clock that t shows stands within the hours; the end is outside.
func (h Hours) Hold(t time.Time) bool {
	now := Clock(60*t.Hour() + t.Minute())
	if h.From < h.To {
		return h.From <= now && now < h.To
	}
	return h.From <= now || now < h.To
}

// Within returns what tells whether a time lies, by the clock of the zone, in any of the hours.
func Within(hours []Hours, zone *time.Location) func(time.Time) bool {
	return func(t time.Time) bool {
		t = t.In(zone)
		for _, h := range hours {
			if h.Hold(t) {
				return true
			}
		}
		return false
	}
}
