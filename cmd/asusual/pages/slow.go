package pages

import (
	"asusual/model"
	"asusual/model/finding"
	"asusual/model/limits"
	"asusual/model/verdict"
)

// slow says that spectra came with pauses that end each run before it can tell, where they did so until the end: by the rule of the watch,
// which goes by their times alone.
func (d *day) slow(l *limits.Limits) []finding.Finding {
	var s verdict.State
	for i, r := range d.readings {
		o := verdict.Observation{Time: r.Time, Features: l.Center, Condition: d.conditions[i]}
		if d.over[i] {
			o.Condition = model.Uncharted
		}
		s.Add(l, o)
	}
	pause, ok := s.TooSlow()
	if !ok {
		return nil
	}
	return []finding.Finding{finding.Of(finding.TooSlow, "", pause.Seconds(), l.Gap.Seconds(), l.Every.Seconds())}
}
