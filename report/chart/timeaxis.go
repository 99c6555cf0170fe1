package chart

import (
	"strconv"
	"strings"
	"time"
)

// timeTicks returns ticks at whole hours (or round minutes of a short stretch, or midnights of a long one), by the clock
// of the zone that the times carry. At a change of the clocks a tick shows what the clock on the wall shows.
func timeTicks(from, to time.Time, most int, w *Words) []tick {
	span := to.Sub(from)
	for _, m := range []int{1, 2, 5, 10, 15, 30, 60, 120, 180, 240, 360, 720} {
		if d := time.Duration(m) * time.Minute; span/d <= time.Duration(most) {
			return clockTicks(from, to, m, w)
		}
	}
	return dayTicks(from, to, most, w)
}

func clockTicks(from, to time.Time, minutes int, w *Words) (all []tick) {
	days := to.Sub(from) > 24*time.Hour
	pace := min(time.Duration(minutes)*time.Minute, 30*time.Minute)
	if minutes < 30 {
		pace = time.Duration(minutes) * time.Minute
	}
	t := time.Date(from.Year(), from.Month(), from.Day(), from.Hour(), 0, 0, 0, from.Location())
	for ; !t.After(to); t = t.Add(pace) {
		if t.Before(from) || (t.Hour()*60+t.Minute())%minutes != 0 {
			continue
		}
		label := t.Format("15:04")
		if days && t.Hour() == 0 && t.Minute() == 0 {
			label = w.Weekdays[t.Weekday()] + " " + strconv.Itoa(t.Day())
		}
		all = append(all, tick{seconds(t), label})
	}
	return all
}

func dayTicks(from, to time.Time, most int, w *Words) (all []tick) {
	days := int(to.Sub(from).Hours()/24) + 1
	every := 1
	for _, n := range []int{1, 2, 7, 14, 28, 56, 112, 365} {
		every = n
		if days/n <= most {
			break
		}
	}
	for d := 0; d <= days+1; d += every {
		t := time.Date(from.Year(), from.Month(), from.Day()+d, 0, 0, 0, 0, from.Location())
		if t.Before(from) || t.After(to) {
			continue
		}
		all = append(all, tick{seconds(t), w.Weekdays[t.Weekday()] + " " + strconv.Itoa(t.Day()) + " " + w.Months[t.Month()-1]})
	}
	return all
}

func seconds(t time.Time) float64 { return float64(t.UnixMilli()) / 1000 }

// decimal writes the decimal mark of the language.
func (w *Words) decimal(s string) string {
	if w.Decimal == "." || w.Decimal == "" {
		return s
	}
	return strings.ReplaceAll(s, ".", w.Decimal)
}
