package monitor

import (
	"math"
	"time"

	"asusual/model/check"
	"asusual/model/finding"
	"asusual/model/fitness"
	"asusual/monitor/history"
)

// An opined is what spectra of production told of the instrument, as it was last kept.
type opined struct {
	state fitness.State
	why   []finding.Finding
}

// opine keeps among the checks of the instrument what spectra of production tell of it, where that has changed: a report of weeks later
// has the reason, and since when.
func (c *committer) opine(at time.Time) {
	o := &c.course
	state, why := o.State.Production()
	if state == "" || state == o.opined.state && alike(why, o.opined.why) {
		return
	}
	first := o.opined.state == ""
	o.opined = opined{state, why}
	if first && state == fitness.Fit {
		return // nothing else was said
	}
	c.batch.Checks = append(c.batch.Checks, history.Check{Line: c.line.Name, Time: at, Measure: string(check.Production), Value: math.NaN(), State: string(state), Reasons: why})
}

// alike reports whether two lists of reasons tell the same, at about the same size: while a trend comes to know a fault its size grows.
func alike(a, b []finding.Finding) bool {
	if len(a) != len(b) {
		return false
	}
	for i := range a {
		if a[i].Kind != b[i].Kind || !near(size(a[i]), size(b[i])) {
			return false
		}
	}
	return true
}

// size is the figure of a reason that counts.
func size(f finding.Finding) (most float64) {
	for i, v := range f.Values {
		if i < 2 {
			most = max(most, math.Abs(v))
		}
	}
	return most
}

// near reports whether two sizes differ by a fifth or less.
func near(a, b float64) bool { return math.Abs(a-b) <= max(a, b)/5 }
