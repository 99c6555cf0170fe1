package alarm

import (
	"fmt"
	"time"
)

// A State is where an alarm stands.
type State uint8

// The states.
const (
	Normal         State = iota
	Unacknowledged       // the cause is there, and nobody has said that he knows
	Acknowledged         // the cause is there, and somebody knows
	Returned             // the cause is gone before anybody said that he knows
	Shelved              // put aside by somebody for a limited time
)

var words = [...]string{Normal: "normal", Unacknowledged: "unacknowledged", Acknowledged: "acknowledged", Returned: "returned to normal", Shelved: "shelved"}

func (s State) String() string {
	if int(s) < len(words) {
		return words[s]
	}
	return fmt.Sprintf("State(%d)", uint8(s))
}

// MarshalText writes the state in its words.
func (s State) MarshalText() ([]byte, error) {
	if int(s) >= len(words) {
		return nil, fmt.Errorf("alarm state %d does not exist", uint8(s))
	}
	return []byte(words[s]), nil
}

// UnmarshalText reads what MarshalText wrote.
func (s *State) UnmarshalText(b []byte) error {
	for i, w := range words {
		if w == string(b) {
			*s = State(i)
			return nil
		}
	}
	return fmt.Errorf("alarm state %q is none of %q", b, words)
}

// LongestShelf is the longest time for which an alarm may be shelved: a shelf without a limit is an alarm switched off.
// Common practice, no source: a day, so that each crew meets it again.
const LongestShelf = 24 * time.Hour

// An Alarm is one alarm. Its zero value is normal; its fields are all that it remembers.
type Alarm struct {
	State  State     `json:"state"`
	Since  time.Time `json:"since,omitzero"`  // when it came into the state
	Active bool      `json:"active"`          // the cause is there, as it was last seen: also while shelved
	Raised time.Time `json:"raised,omitzero"` // when the cause last came
	Until  time.Time `json:"until,omitzero"`  // the end of the shelf
}

// Observe says whether the cause is there at that time, and reports whether the state is another one now.
func (a *Alarm) Observe(active bool, at time.Time) bool {
	came := active && !a.Active
	a.Active = active
	if came {
		a.Raised = at
	}
	switch {
	case a.State == Shelved:
	case came:
		return a.to(Unacknowledged, at)
	case !active && a.State == Unacknowledged:
		return a.to(Returned, at)
	case !active && a.State == Acknowledged:
		return a.to(Normal, at)
	}
	return false
}

// Acknowledge notes that somebody knows. It is an error where there is nothing to acknowledge.
func (a *Alarm) Acknowledge(at time.Time) error {
	switch a.State {
	case Unacknowledged:
		a.to(Acknowledged, at)
	case Returned:
		a.to(Normal, at)
	case Shelved:
		return fmt.Errorf("the alarm is shelved until %s; take it from the shelf first, by asusual shelve --off", a.Until.Format(time.RFC3339))
	case Acknowledged:
		return fmt.Errorf("the alarm is acknowledged already, since %s", a.Since.Format(time.RFC3339))
	default:
		return fmt.Errorf("the alarm is normal; there is nothing to acknowledge")
	}
	return nil
}

// Shelve puts the alarm aside until a time, at most LongestShelf away. One that is shelved gets the new end.
func (a *Alarm) Shelve(at, until time.Time) error {
	if d := until.Sub(at); d <= 0 || d > LongestShelf {
		return fmt.Errorf("shelved for %v; it takes a time of more than nothing and at most %v", d, LongestShelf)
	}
	a.Until = until
	if a.State != Shelved {
		a.to(Shelved, at)
	}
	return nil
}

// Unshelve takes the alarm from the shelf. It is an error where it is on none.
func (a *Alarm) Unshelve(at time.Time) error {
	if a.State != Shelved {
		return fmt.Errorf("the alarm is %s, not shelved", a.State)
	}
	a.unshelve(at)
	return nil
}

// Expire takes the alarm from the shelf where its time is over, and reports whether that was so.
func (a *Alarm) Expire(at time.Time) bool {
	if a.State != Shelved || at.Before(a.Until) {
		return false
	}
	a.unshelve(at)
	return true
}

func (a *Alarm) unshelve(at time.Time) {
	a.Until = time.Time{}
	if a.Active {
		a.to(Unacknowledged, at)
	} else {
		a.to(Normal, at)
	}
}

func (a *Alarm) to(s State, at time.Time) bool {
	changed := a.State != s
	a.State, a.Since = s, at
	return changed
}
