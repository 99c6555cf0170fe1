package limits

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"time"
)

// A Track is one run of known-good production, in order of time, each spectrum placed against a reference that was
// learned from the other runs.
type Track struct {
	Run    string
	Points []Point
	Span   time.Duration // how much production it stands for; zero: found from the times of its points
}

// A Point is one spectrum of a track.
type Point struct {
	Time  time.Time
	T     []float64 // coordinates of the spectrum in the model: its k scores, all points in the same directions
	T2, Q float64
	Parts []float64 // what stretches of the axis have left over; nil, or as many in all points
}

// ordered returns the tracks that hold points, in order of their first time, then of their names, so that the order in
// which runs are handed in decides nothing.
func ordered(tracks []Track) ([]Track, error) {
	var out []Track
	d, parts := -1, 0
	for _, t := range tracks {
		for i, p := range t.Points {
			if d < 0 {
				d, parts = len(p.T), len(p.Parts)
			}
			if err := p.check(d, parts); err != nil {
				return nil, fmt.Errorf("run %s: spectrum %d: %w", t.Run, i+1, err)
			}
		}
		if len(t.Points) > 0 {
			out = append(out, t)
		}
	}
	slices.SortStableFunc(out, func(a, b Track) int {
		return cmp.Or(a.Points[0].Time.Compare(b.Points[0].Time), cmp.Compare(a.Run, b.Run))
	})
	return out, nil
}

func (p Point) check(d, parts int) error {
	if len(p.T) != d {
		return fmt.Errorf("%d scores, the first spectrum has %d", len(p.T), d)
	}
	if len(p.Parts) != parts {
		return fmt.Errorf("%d stretches, the first spectrum has %d", len(p.Parts), parts)
	}
	for _, v := range p.T {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return fmt.Errorf("a score is %v", v)
		}
	}
	for _, v := range p.Parts {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return fmt.Errorf("a stretch has %v left over", v)
		}
	}
	if !(p.T2 >= 0) || math.IsInf(p.T2, 0) || !(p.Q >= 0) || math.IsInf(p.Q, 0) {
		return fmt.Errorf("its T² is %v and its Q residual %v; both are finite and not below zero", p.T2, p.Q)
	}
	return nil
}

// A pace says how the spectra of good production follow each other.
type pace struct {
	every time.Duration // the usual time between neighbours; zero where spectra carry no times
	often time.Duration // the pause within runs that nine of ten do not pass: of sets of spectra, such as three each hour, that between sets
	gap   time.Duration // a longer pause than this starts a new run; zero where spectra carry no times
	hours float64       // production that the tracks stand for
	told  bool          // the pauses between runs tell the runs apart
}

// assumedEvery stands for the time between spectra where they carry none. Chosen as a usual rate of in-line probes;
// Learn says so in a finding.
const assumedEvery = 10 * time.Second

// astray is a pause that no line makes within a run of hours, but a clock that was wrong, such as after a cold start. Our own choice.
const astray = 24 * time.Hour

// steady returns a run's points without the few at its ends, up to a tenth, that such a pause sets apart: points are in order of time, and
// what a wrong clock dated lies at an end.
func steady(points []Point) []Point {
	few := len(points) / 10
	for i := few; i > 0; i-- {
		if points[i].Time.Sub(points[i-1].Time) > astray {
			points = points[i:]
			break
		}
	}
	for n, i := len(points), len(points)-few; i < n; i++ {
		if points[i].Time.Sub(points[i-1].Time) > astray {
			return points[:i]
		}
	}
	return points
}

// measurePace finds the pace of ordered tracks. The gap lies between the pauses inside runs and those between them,
// where these can be told apart at all; else a pause of 20 spectra counts as one that is also longer than three of those that come often,
// and none that the clock makes by going on.
func measurePace(tracks []Track) pace {
	var inside []time.Duration
	for _, t := range tracks {
		inside = append(inside, pauses(t.Points)...)
	}
	slices.Sort(inside)
	every, tick := usualPause(inside)
	p := pace{every: every}
	if p.every == 0 {
		p.hours = hours(tracks, assumedEvery)
		return p
	}
	p.often = min(inside[(len(inside)-1)*9/10], astray)
	longest, shortest := apart(tracks)
	longest = max(longest, 3*p.every)
	p.told = shortest > longest
	p.gap = max(20*p.every, 3*p.often)
	if p.told {
		mean := math.Sqrt(float64(longest)) * math.Sqrt(float64(min(shortest, 100*longest)))
		if p.gap = time.Duration(mean).Round(time.Second); p.gap < longest || p.gap >= shortest { // of spectra many a second
			p.gap = time.Duration(mean)
		}
	}
	p.gap = max(p.gap, 2*tick)
	p.hours = hours(tracks, p.every)
	return p
}

// pauses returns the time between neighbours.
func pauses(points []Point) (out []time.Duration) {
	for i := 1; i < len(points); i++ {
		a, b := points[i-1].Time, points[i].Time
		if d := b.Sub(a); !a.IsZero() && !b.IsZero() && d >= 0 {
			out = append(out, d)
		}
	}
	return out
}

// apart returns the longest pause inside runs and the shortest between them, which is zero where runs overlap. What a wrong clock dated
// is left out: it would set the spectra of one run years apart, and let two overlap that do not.
func apart(tracks []Track) (longest, shortest time.Duration) {
	runs := make([][]Point, 0, len(tracks))
	for _, t := range tracks {
		points := steady(t.Points)
		if len(points) == 0 {
			continue
		}
		runs = append(runs, points)
		for _, d := range pauses(points) {
			longest = max(longest, d)
		}
	}
	slices.SortStableFunc(runs, func(a, b []Point) int { return a[0].Time.Compare(b[0].Time) })
	shortest = math.MaxInt64
	for i := 1; i < len(runs); i++ {
		before := runs[i-1]
		a, b := before[len(before)-1].Time, runs[i][0].Time
		if !a.IsZero() && !b.IsZero() {
			shortest = min(shortest, max(b.Sub(a), 0))
		}
	}
	return longest, shortest
}

// usualPause returns the median of sorted pauses, as the time between neighbours and as the usual step of their clock. Where it is zero,
// times are coarser than the pace: then the step is the usual one of those above zero, and the time between neighbours is that, shared out
// among all, so that the nights in a run do not stretch it.
func usualPause(pauses []time.Duration) (every, tick time.Duration) {
	n := len(pauses)
	if n == 0 {
		return 0, 0
	}
	if m := pauses[n/2]; m > 0 {
		return m, m
	}
	for i, d := range pauses {
		if d > 0 {
			tick = pauses[(i+n)/2]
			return time.Duration(float64(tick) * float64(n-i) / float64(n)), tick
		}
	}
	return 0, 0
}

func hours(tracks []Track, every time.Duration) float64 {
	sum := 0.0
	for _, t := range tracks {
		if t.Span > 0 {
			sum += t.Span.Hours()
			continue
		}
		sum += float64(len(t.Points)) * every.Hours()
	}
	return sum
}
