package shift

import (
	"fmt"
	"strings"
	"time"
)

// A Period is a stretch of time that somebody named: From ≤ t < To.
type Period struct{ From, To time.Time }

// momentLayouts are the ways in which a person may write a moment, without and with an offset.
var momentLayouts = []string{
	"2006-01-02T15:04", "2006-01-02 15:04", "2006-01-02T15:04:05", "2006-01-02 15:04:05", time.RFC3339, "2006-01-02T15:04Z07:00",
}

// When returns the period that a day or a moment stands for: a day whole, 2026-11-25; a moment, 2026-11-25T06:00, as a
// period without length. A moment without an offset is in the zone of the plan.
func (p Plan) When(s string) (Period, error) {
	if day, err := time.Parse(dateLayout, s); err == nil {
		return Period{wall(day, 0, p.zone()), wall(day, 24*60, p.zone())}, nil
	}
	for _, layout := range momentLayouts {
		if t, err := time.ParseInLocation(layout, s, p.zone()); err == nil {
			return Period{t, t}, nil
		}
	}
	return Period{}, fmt.Errorf("%q is not a day such as 2026-11-25 or a moment such as 2026-11-25T06:00", s)
}

// Period returns the stretch of time that s names: a day, today, yesterday, last-week (the seven days before today), or two
// days or moments with .. between them, of which a day at the end is included.
func (p Plan) Period(s string, now time.Time) (Period, error) {
	y, m, d := now.In(p.zone()).Date()
	day := func(back int) time.Time {
		return wall(time.Date(y, m, d-back, 0, 0, 0, 0, time.UTC), 0, p.zone())
	}
	switch s {
	case "today":
		return Period{day(0), day(-1)}, nil
	case "yesterday":
		return Period{day(1), day(0)}, nil
	case "last-week":
		return Period{day(7), day(0)}, nil
	}
	first, last, two := strings.Cut(s, "..")
	if !two {
		one, err := p.When(s)
		if err == nil && one.From.Equal(one.To) {
			err = fmt.Errorf("%q is a moment; a period is a day, or two moments with .. between them", s)
		}
		if err != nil {
			return Period{}, err
		}
		return one, nil
	}
	from, err := p.When(first)
	if err != nil {
		return Period{}, err
	}
	to, err := p.When(last)
	if err != nil {
		return Period{}, err
	}
	if !to.To.After(from.From) {
		return Period{}, fmt.Errorf("%q ends before it begins", s)
	}
	return Period{from.From, to.To}, nil
}
