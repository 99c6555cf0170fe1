package report

import (
	"math"
	"regexp"
	"strconv"
	"strings"
	"sync"
	"time"
)

// none stands where there is no number.
const none = "–"

// A teller says numbers and times as people do, for a page about one period.
type teller struct {
	*Language
	zone     *time.Location
	from, to time.Time
}

func newTeller(l *Language, zone *time.Location, from, to time.Time) *teller {
	if zone == nil {
		zone = time.UTC
	}
	return &teller{orEnglish(l), zone, from.In(zone), to.In(zone)}
}

// shortPeriod is how long a period may be for an hour before and after it to be told by the clock alone: in a longer one, with an hour that
// the clocks leap in spring, two moments would look alike.
const shortPeriod = 21 * time.Hour

// clock says a time of the period by the clock on the wall, such as 14:05, and any other time with its day.
func (t *teller) clock(at time.Time) string {
	if at.IsZero() {
		return none
	}
	at = at.In(t.zone)
	from, to := t.from, t.to
	if to.Sub(from) <= shortPeriod {
		from, to = from.Add(-time.Hour), to.Add(time.Hour)
	}
	if to.Sub(from) <= 25*time.Hour && !at.Before(from) && !at.After(to) {
		return wall(at)
	}
	return t.say("date.time", "date", t.shortDay(at), "time", wall(at))
}

// wall says a time by the clock on the wall, with the name of its zone in the hour that comes twice when the clocks go back.
func wall(at time.Time) string {
	begins, ends := at.ZoneBounds()
	_, now := at.Zone()
	twice := false
	if !begins.IsZero() {
		_, before := begins.Add(-1).Zone()
		twice = at.Sub(begins) < time.Duration(before-now)*time.Second
	}
	if !ends.IsZero() {
		_, after := ends.Zone()
		twice = twice || ends.Sub(at) <= time.Duration(now-after)*time.Second
	}
	if twice {
		return at.Format("15:04 MST")
	}
	return at.Format("15:04")
}

// shortDay says a day without its weekday, and without the year where it is the period's.
func (t *teller) shortDay(at time.Time) string {
	at = at.In(t.zone)
	day, month := strconv.Itoa(at.Day()), t.month(at)
	if at.Year() == t.from.Year() && !t.from.IsZero() {
		return t.say("date.day", "day", day, "month", month)
	}
	return t.say("date.dayyear", "day", day, "month", month, "year", strconv.Itoa(at.Year()))
}

// longDay says a day with its weekday and year.
func (t *teller) longDay(at time.Time) string {
	at = at.In(t.zone)
	return t.say("date.long", "weekday", t.weekday(at), "day", strconv.Itoa(at.Day()), "month", t.month(at), "year", strconv.Itoa(at.Year()))
}

func (t *teller) month(at time.Time) string   { return t.item("months", int(at.Month())-1) }
func (t *teller) weekday(at time.Time) string { return t.item("weekdays", int(at.Weekday())) }

// item returns an entry of a list of words.
func (t *teller) item(key string, i int) string {
	all := strings.Fields(t.say(key))
	if i < 0 || i >= len(all) {
		return none
	}
	return all[i]
}

// span says a stretch of time, such as 14:05–14:40.
func (t *teller) span(from, to time.Time) string {
	switch {
	case from.IsZero():
		return none
	case to.IsZero():
		return t.say("span.open", "from", t.clock(from))
	}
	a, b := from.In(t.zone), to.In(t.zone)
	if a.YearDay() == b.YearDay() && a.Year() == b.Year() {
		return t.clock(from) + "–" + wall(b)
	}
	return t.clock(from) + "–" + t.clock(to)
}

// period says the stretch of a report: the day and both times, and the second day where it is another.
func (t *teller) period() string {
	a, b := t.from, t.to
	if a.YearDay() == b.YearDay() && a.Year() == b.Year() {
		return t.say("period.day", "day", t.longDay(a), "from", wall(a), "to", wall(b))
	}
	return t.say("period.days", "day", t.longDay(a), "from", wall(a), "day2", t.longDay(b), "to", wall(b))
}

// duration says a length of time in its two largest units.
func (t *teller) duration(d time.Duration) string {
	if d < 0 {
		d = -d
	}
	n := func(v time.Duration) string { return strconv.Itoa(int(v)) }
	switch {
	case d < time.Minute:
		return t.say("lasts.s", "s", n(d.Round(time.Second)/time.Second))
	case d < time.Hour-30*time.Second:
		return t.say("lasts.min", "min", n(d.Round(time.Minute)/time.Minute))
	case d < 48*time.Hour:
		d = d.Round(time.Minute)
		if d%time.Hour == 0 {
			return t.say("lasts.h", "h", n(d/time.Hour))
		}
		return t.say("lasts.hmin", "h", n(d/time.Hour), "min", n(d%time.Hour/time.Minute))
	}
	d = d.Round(time.Hour)
	if d%(24*time.Hour) == 0 {
		return t.say("lasts.d", "d", n(d/(24*time.Hour)))
	}
	return t.say("lasts.dh", "d", n(d/(24*time.Hour)), "h", n(d%(24*time.Hour)/time.Hour))
}

// whole says a count, in groups of three figures.
func (l *Language) whole(n int) string {
	s := strconv.Itoa(n)
	if n < 0 {
		return "−" + l.whole(-n)
	}
	for i := len(s) - 3; i > 0; i -= 3 {
		s = s[:i] + l.Text["thousands"] + s[i:]
	}
	return s
}

// Count says a count, in groups of three figures.
func (l *Language) Count(n int) string { return orEnglish(l).whole(n) }

// Fixed says v with so many figures after the decimal mark.
func (l *Language) Fixed(v float64, decimals int) string {
	return orEnglish(l).marks(strconv.FormatFloat(v, 'f', decimals, 64))
}

// Lasts says a length of time in its two largest units.
func (l *Language) Lasts(d time.Duration) string {
	return newTeller(l, nil, time.Time{}, time.Time{}).duration(d)
}

// number says v to the given significant digits, without an exponent where it can be read so. What is not finite is a dash.
func (l *Language) number(v float64, digits int) string {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return none
	}
	if v == 0 {
		return "0"
	}
	e := int(math.Floor(math.Log10(math.Abs(v))))
	p := math.Pow(10, float64(digits-1-e))
	if r := math.Round(v*p) / p; math.Abs(r) >= math.Pow(10, float64(e+1)) {
		e++
	}
	switch {
	case e >= 6 || e < -3:
		s := strconv.FormatFloat(v, 'e', digits-1, 64)
		m, x, _ := strings.Cut(s, "e")
		n, _ := strconv.Atoi(x)
		return l.marks(m) + " × 10" + raisedDigits(n)
	case e >= digits-1:
		step := math.Pow(10, float64(e-digits+1))
		return l.whole(int(math.Round(math.Round(v/step) * step)))
	}
	return l.marks(strconv.FormatFloat(v, 'f', digits-1-e, 64))
}

// short says v to at most the given significant digits, without zeros at the end of a fraction.
func (l *Language) short(v float64, digits int) string {
	s, power, _ := strings.Cut(l.number(v, digits), " ")
	if mark := l.Text["decimal"]; strings.Contains(s, mark) {
		s = strings.TrimSuffix(strings.TrimRight(s, "0"), mark)
	}
	if power != "" {
		s += " " + power
	}
	return s
}

// marks writes a plain number with the decimal mark of the language and a true minus.
func (l *Language) marks(s string) string {
	return strings.NewReplacer(".", l.Text["decimal"], "-", "−").Replace(s)
}

func raisedDigits(n int) string {
	return strings.NewReplacer("-", "⁻", "0", "⁰", "1", "¹", "2", "²", "3", "³", "4", "⁴", "5", "⁵", "6", "⁶", "7", "⁷", "8", "⁸", "9", "⁹").
		Replace(strconv.Itoa(n))
}

// percent says a share, to a tenth of a per cent near nothing and near all: neither is said where it is not so.
func (l *Language) percent(share float64) string {
	switch p := 100 * share; {
	case math.IsNaN(p) || math.IsInf(p, 0):
		return none
	case p > 0 && p < 0.05:
		return "< " + l.marks("0.1") + " %"
	case p > 99.95 && p < 100:
		return "> " + l.marks("99.9") + " %"
	case p > 0 && p < 10 || p > 99 && p < 100:
		return l.marks(strconv.FormatFloat(p, 'f', 1, 64)) + " %"
	default:
		return l.marks(strconv.FormatFloat(p, 'f', 0, 64)) + " %"
	}
}

// list joins items as a sentence would.
func (l *Language) list(items []string) string {
	switch n := len(items); n {
	case 0:
		return ""
	case 1:
		return items[0]
	default:
		return strings.Join(items[:n-1], ", ") + " " + l.say("and") + " " + items[n-1]
	}
}

// aMoment matches a time as programs write it.
var aMoment = sync.OnceValue(func() *regexp.Regexp {
	return regexp.MustCompile(`\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d(\.\d+)?(Z|[+-]\d\d:\d\d)`)
})

// times says the times in a text of the program as people do.
func (t *teller) times(text string) string {
	return aMoment().ReplaceAllStringFunc(text, func(s string) string {
		at, err := time.Parse(time.RFC3339Nano, s)
		if err != nil {
			return s
		}
		return t.clock(at)
	})
}

// Answered says in the language what the program answered to a person at a moment: why something was not done.
func (l *Language) Answered(text string, zone *time.Location, now time.Time) string {
	t := newTeller(l, zone, now.Add(-12*time.Hour), now)
	return t.times(t.Said(text))
}
