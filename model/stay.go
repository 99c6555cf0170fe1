package model

import (
	"math"
	"time"

	"asusual/model/condition"
	"asusual/model/finding"
)

// A Stay is the time that the line has been in one named condition.
type Stay struct {
	Condition string    `json:"condition,omitempty"`
	From      time.Time `json:"from"`
	Last      time.Time `json:"last"` // the last spectrum in it
	Away      int       `json:"away"` // spectra elsewhere since then
	Row       int       `json:"row"`  // spectra in it, one after another, up to the last
}

const (
	// away is how many spectra in a row elsewhere end a stay: one that strays out of a rinse has not left it.
	away = 3
	// overstay is how many times the longest known stay a stay may last before it is no longer taken for the condition.
	// A leak of rinse water into the product lies where a start-up lies; only it does not pass.
	overstay = 1.5
)

// follow brings the stay forward by one spectrum. A pause longer than gap, above zero, ends it: nobody knows where the line
// was meanwhile.
func (s *Stay) follow(name string, at time.Time, gap time.Duration) {
	if gap > 0 && s.Condition != "" && at.Sub(s.Last).Abs() > gap {
		*s = Stay{}
	}
	named := name != Usual && name != Uncharted && name != Unfit
	switch {
	case s.Condition != "" && name == s.Condition:
		s.Row++
		if s.Away > 0 {
			s.Row = 1
		}
		s.Last, s.Away = at, 0
		return
	case s.Condition != "" && s.Away+1 < away:
		s.Away++
		return
	}
	*s = Stay{}
	if named {
		*s = Stay{Condition: name, From: at, Last: at, Row: 1}
	}
}

// over reports whether the stay has lasted longer than the class was ever seen to, and how long that is.
func (s *Stay) over(classes []*condition.Class, longest map[string]time.Duration) (known time.Duration, over bool) {
	if s.Condition == "" || s.From.IsZero() {
		return 0, false
	}
	known, stated := longest[s.Condition]
	if !stated {
		for _, c := range classes {
			if c.Name == s.Condition {
				known = time.Duration(overstay * float64(c.Longest))
			}
		}
	}
	return known, known > 0 && s.Last.Sub(s.From) > known
}

// overstays says that the stay has lasted longer than it may.
func (s *Stay) overstays(known time.Duration) finding.Finding {
	return finding.Of(finding.Overstays, s.Condition, math.Round(s.Last.Sub(s.From).Minutes()), math.Round(10*known.Minutes())/10)
}
