package model

import (
	"fmt"
	"slices"

	"asusual/model/finding"
	"asusual/model/spectrum"
)

// An Unused counts what never became a spectrum that could be learned from, for one reason: files and rows that could not be read,
// raw intensities without a dark or a reference that fits, items of too few spectra.
type Unused struct {
	First     string          `json:"first"` // of them: its file, and its row or line
	Count     int             `json:"count"`
	Condition string          `json:"condition"`
	Reason    finding.Finding `json:"reason"`
}

// mostReasons bounds how many reasons of a condition are kept apart: nobody reads more, and a bad file may have one a row.
const mostReasons = 10

// CannotUse notes what could not be used, so that whoever learns from the training is told of it.
func (t *Training) CannotUse(condition string, u *spectrum.Unreadable) {
	why := finding.Of(finding.NotUsed, u.Reason)
	kept := 0
	for i := range t.unused {
		l := &t.unused[i]
		if l.Condition != condition {
			continue
		}
		if kept++; l.Reason.About == u.Reason {
			l.Count += 1 + u.More
			return
		}
		if l.Reason.Kind == finding.NotUsedOther {
			l.Count += 1 + u.More
			return
		}
	}
	if kept == mostReasons {
		why = finding.Of(finding.NotUsedOther, "")
	}
	t.unused = append(t.unused, Unused{First: u.Place(), Count: 1 + u.More, Condition: condition, Reason: why})
}

// why says how many spectra of the condition are not there to learn from, and why: the first of what could not be used, and the
// first of what was left out. It is empty where none is missing.
func (t *Training) why(condition string) (text string) {
	lost, left := 0, 0
	var first, also string
	for _, l := range slices.Backward(t.unused) {
		if l.Condition == condition {
			lost += l.Count
			first = fmt.Sprintf("%s, because of this: %v", l.First, l.Reason)
		}
	}
	for _, l := range slices.Backward(t.leftOut) {
		if l.Condition == condition {
			left++
			also = fmt.Sprintf("%s, because of this: %v", l.Spectrum, l.Reason)
		}
	}
	if lost > 0 {
		text = fmt.Sprintf("; %d could not be used, the first, %s", lost, first)
	}
	if left > 0 {
		text += fmt.Sprintf("; %d %s left out, the first, %s", left, one(left, "was", "were"), also)
	}
	return text
}

// one chooses the word for one or for several.
func one(n int, single, several string) string {
	if n == 1 {
		return single
	}
	return several
}
