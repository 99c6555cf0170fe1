package model

import (
	"slices"

	"asusual/model/detector"
	"asusual/model/pretreat"
)

// carbon returns the first step of pretreatment where the axis has the region in which the air's carbon dioxide absorbs, and
// nothing where it has not, where it is to be kept, or where the steps that were stated say themselves what is kept of that
// region. What is left out stands among the reference's findings.
func (l *learner) carbon() []pretreat.Step {
	if l.opt.KeepCarbonDioxide {
		return nil
	}
	step, said, ok := detector.LeaveOutCarbonDioxide(l.set.Axis)
	if !ok || !l.opt.Auto && slices.ContainsFunc(l.opt.Pretreat, func(s pretreat.Step) bool { return decides(s, step) }) {
		return nil
	}
	l.find(said)
	return []pretreat.Step{step}
}

// decides reports whether a step that was stated says what is kept of the region.
func decides(s, region pretreat.Step) bool {
	lo, hi := min(s.From, s.To), max(s.From, s.To)
	switch s.Name {
	case pretreat.Keep:
		return true
	case pretreat.LeaveOut:
		return lo < region.To && hi > region.From
	}
	return false
}
