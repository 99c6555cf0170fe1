package model

import "time"

// A Transition remembers which named condition the line was in last, while it may still be on its way out of it. Its zero
// value is a line that is on no way.
type Transition struct {
	From string    `json:"from,omitempty"` // the condition
	Left time.Time `json:"left,omitzero"`  // the last spectrum in it
}

// InTransition is the place of a spectrum in transition, as the verdict is told it: one that is no sign of a change.
const InTransition = "transition"

// settled is how many spectra in a row in a condition make it one that was really entered. A change that lies beside a
// condition sends single spectra into it: they must not buy it time. Common practice, no source.
const settled = 3

// follow brings the transition forward by one spectrum that lies at place, and reports whether it is one of passing: the line has
// left a condition that it was settled in, has arrived nowhere yet, and did so no longer ago than grace. Spectra without a
// time are never passing.
func (t *Transition) follow(place string, s *Stay, at time.Time, grace time.Duration) bool {
	switch place {
	case Unfit:
		return false
	case Usual:
		*t = Transition{}
		return false
	case Uncharted:
		since := at.Sub(t.Left)
		if grace <= 0 || t.From == "" || at.IsZero() || since < 0 || since > grace {
			*t = Transition{}
			return false
		}
		return true
	}
	if place == s.Condition && s.Row >= settled {
		*t = Transition{From: place, Left: at}
	}
	return false
}

// untimely reports whether the line is settled in a condition at a time at which it is not expected there. A condition for
// which nothing is stated may come at any time.
func (s *Stay) untimely(place string, at time.Time, expected map[string]func(time.Time) bool) bool {
	if place != s.Condition || s.Row < settled || at.IsZero() {
		return false
	}
	then, stated := expected[place]
	return stated && !then(at)
}
