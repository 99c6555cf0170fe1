package shift

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"
)

// A Clock is a time of day on the wall, in minutes after midnight: 0 to 1440, where 1440 is the midnight that ends the day.
type Clock int

// ParseClock reads a time of day such as 06:00 or 24:00.
func ParseClock(s string) (Clock, error) {
	hours, minutes, ok := strings.Cut(s, ":")
	h, errH := strconv.ParseUint(hours, 10, 8)
	m, errM := strconv.ParseUint(minutes, 10, 8)
	if !ok || errH != nil || errM != nil || len(minutes) != 2 || m > 59 || 60*h+m > 24*60 {
		return 0, fmt.Errorf("%q is not a time of day such as 06:00", s)
	}
	return Clock(60*h + m), nil
}

// String returns the time of day as 06:00.
func (c Clock) String() string { return fmt.Sprintf("%02d:%02d", c/60, c%60) }

// A Shift is a named stretch of every day. Where To is not after From, it ends on the following day.
type Shift struct {
	Name     string
	From, To Clock
}

// String says the shift as "night, 22:00–06:00".
func (s Shift) String() string { return fmt.Sprintf("%s, %s–%s", s.Name, s.From, s.To) }

// A Span is one shift of one day.
type Span struct {
	Name string
	Date string    // the day on which it began, YYYY-MM-DD
	From time.Time // its first moment
	To   time.Time // the first moment after it
}

// A Plan is the shifts of a site and its time zone.
type Plan struct {
	Zone   *time.Location // nil is UTC
	Shifts []Shift        // none: the whole day is one shift called "day"
}

const dateLayout = "2006-01-02"

// wholeDay stands where a site names no shifts.
var wholeDay = []Shift{{Name: "day", From: 0, To: 24 * 60}}

// All returns the shifts of the plan, the whole day where it names none.
func (p Plan) All() []Shift {
	if len(p.Shifts) == 0 {
		return slices.Clone(wholeDay)
	}
	return slices.Clone(p.Shifts)
}

func (p Plan) zone() *time.Location {
	if p.Zone == nil {
		return time.UTC
	}
	return p.Zone
}

// On returns the shift of that name that began on that date (YYYY-MM-DD). The name "" means the only shift of the plan.
func (p Plan) On(name, date string) (Span, error) {
	day, err := time.Parse(dateLayout, date)
	if err != nil {
		return Span{}, fmt.Errorf("date %q is not a day such as 2026-11-25", date)
	}
	all := p.All()
	if name == "" && len(all) == 1 {
		name = all[0].Name
	}
	for _, s := range all {
		if strings.EqualFold(s.Name, name) {
			return p.span(s, day), nil
		}
	}
	if name == "" {
		return Span{}, fmt.Errorf("no shift was named; the shifts are %s", p.names())
	}
	return Span{}, fmt.Errorf("shift %q is not known; the shifts are %s", name, p.names())
}

func (p Plan) names() string {
	var names []string
	for _, s := range p.All() {
		names = append(names, s.Name)
	}
	return strings.Join(names, ", ")
}

// At returns the shift that runs at t, and false where none does. Where shifts overlap, the one that began last counts.
func (p Plan) At(t time.Time) (Span, bool) {
	var best Span
	for _, s := range p.around(t) {
		if !t.Before(s.From) && t.Before(s.To) && (best.Name == "" || s.From.After(best.From)) {
			best = s
		}
	}
	return best, best.Name != ""
}

// Last returns the shift that ended last, at t or before.
func (p Plan) Last(t time.Time) Span {
	var best Span
	for _, s := range p.around(t) {
		if !s.To.After(t) && (best.Name == "" || s.To.After(best.To) || s.To.Equal(best.To) && s.From.After(best.From)) {
			best = s
		}
	}
	return best
}

// Next returns the shift that is the next to end after t.
func (p Plan) Next(t time.Time) Span {
	var best Span
	for _, s := range p.around(t) {
		if s.To.After(t) && (best.Name == "" || s.To.Before(best.To)) {
			best = s
		}
	}
	return best
}

// Ending returns the shifts that are the next to end after t: several where they end at the same moment.
func (p Plan) Ending(t time.Time) []Span {
	end := p.Next(t).To
	return slices.DeleteFunc(p.around(t), func(s Span) bool { return !s.To.Equal(end) })
}

// around returns the spans of every shift from two days before t to the day after it. Two, since a shift that ended
// last may have begun the day before yesterday.
func (p Plan) around(t time.Time) []Span {
	y, m, d := t.In(p.zone()).Date()
	var spans []Span
	for back := -2; back <= 1; back++ {
		day := time.Date(y, m, d+back, 0, 0, 0, 0, time.UTC)
		for _, s := range p.All() {
			spans = append(spans, p.span(s, day))
		}
	}
	return spans
}

// span returns the shift that begins on the day of the calendar that day shows.
func (p Plan) span(s Shift, day time.Time) Span {
	to := s.To
	if to <= s.From {
		to += 24 * 60
	}
	return Span{
		Name: s.Name,
		Date: day.Format(dateLayout),
		From: wall(day, s.From, p.zone()),
		To:   wall(day, to, p.zone()),
	}
}

// wall returns the moment at which the clock of the zone first shows c on that day, or skips it. The time package
// leaves both cases open; a report must not.
func wall(day time.Time, c Clock, zone *time.Location) time.Time {
	y, m, d := day.Date()
	want := time.Date(y, m, d, 0, int(c), 0, 0, time.UTC)
	t := time.Date(y, m, d, 0, int(c), 0, 0, zone)
	start, end := t.ZoneBounds()
	if shown := asUTC(t); !shown.Equal(want) {
		if shown.Before(want) {
			return end
		}
		return start
	}
	if !start.IsZero() {
		_, before := start.Add(-time.Second).In(zone).Zone()
		if first := want.Add(-time.Duration(before) * time.Second); first.Before(start) {
			return first.In(zone)
		}
	}
	return t
}

// asUTC returns the moment at which a clock in UTC shows what the clock of t shows at t.
func asUTC(t time.Time) time.Time {
	_, offset := t.Zone()
	return t.UTC().Add(time.Duration(offset) * time.Second)
}
