package limits

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"
)

// A Promise says how many false episodes are accepted in how much production watched. The zero value stands for
// one in 30 days.
type Promise struct {
	Episodes float64
	Per      time.Duration
}

const day = 24 * time.Hour

// usual is what the zero Promise stands for.
func usual() Promise { return Promise{Episodes: 1, Per: 30 * day} }

// OrUsual returns p, or one in 30 days where p is the zero value.
func (p Promise) OrUsual() Promise {
	if p == (Promise{}) {
		return usual()
	}
	return p
}

// ParsePromise reads a promise such as "1 per 30 days", "2 per week" or "1 per 720h". A month has 30 days.
func ParsePromise(s string) (Promise, error) {
	count, per, ok := strings.Cut(strings.TrimSpace(s), " per ")
	if !ok {
		return Promise{}, fmt.Errorf(`promise %q: not of the form "1 per 30 days"`, s)
	}
	n, err := strconv.ParseFloat(strings.TrimSpace(count), 64)
	if err != nil || !(n > 0) || math.IsInf(n, 0) {
		return Promise{}, fmt.Errorf("promise %q: %q is not a number of episodes above zero", s, count)
	}
	d, err := parseStretch(strings.TrimSpace(per))
	if err != nil {
		return Promise{}, fmt.Errorf("promise %q: %w", s, err)
	}
	return Promise{Episodes: n, Per: d}, nil
}

// ParseStretch reads a length of time such as "30 days", "week" or "1h30m". A month has 30 days, a year 365.
func ParseStretch(s string) (time.Duration, error) { return parseStretch(strings.TrimSpace(s)) }

// parseStretch reads "30 days", "week" or a duration as Go writes it.
func parseStretch(s string) (time.Duration, error) {
	if d, err := time.ParseDuration(s); err == nil && d > 0 {
		return d, nil
	}
	count, unit := 1.0, s
	if a, b, ok := strings.Cut(s, " "); ok {
		n, err := strconv.ParseFloat(a, 64)
		if err != nil || !(n > 0) {
			return 0, fmt.Errorf("%q is not a number above zero", a)
		}
		count, unit = n, strings.TrimSpace(b)
	}
	units := map[string]time.Duration{"hour": time.Hour, "day": day, "week": 7 * day, "month": 30 * day, "year": 365 * day}
	one, ok := units[strings.TrimSuffix(unit, "s")]
	if !ok {
		return 0, fmt.Errorf("%q is no length of time; write hours, days, weeks, months or years", s)
	}
	d := count * float64(one)
	if d >= math.MaxInt64 || d < 1 {
		return 0, fmt.Errorf("%q is out of range; the longest is 290 years", s)
	}
	return time.Duration(d), nil
}

// String says the promise as ParsePromise reads it.
func (p Promise) String() string {
	p = p.OrUsual()
	n := strconv.FormatFloat(p.Episodes, 'g', -1, 64)
	for _, u := range []struct {
		name string
		one  time.Duration
	}{{"day", day}, {"hour", time.Hour}} {
		if p.Per%u.one != 0 {
			continue
		}
		if p.Per == u.one {
			return n + " per " + u.name
		}
		return fmt.Sprintf("%s per %d %ss", n, p.Per/u.one, u.name)
	}
	return n + " per " + p.Per.String()
}

// MarshalText writes the promise as String says it.
func (p Promise) MarshalText() ([]byte, error) { return []byte(p.String()), nil }

// UnmarshalText reads what ParsePromise reads.
func (p *Promise) UnmarshalText(b []byte) error {
	q, err := ParsePromise(string(b))
	if err == nil {
		*p = q
	}
	return err
}

// within returns the number of false episodes accepted in that much production.
func (p Promise) within(hours float64) float64 {
	p = p.OrUsual()
	return p.Episodes * hours / p.Per.Hours()
}
