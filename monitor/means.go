package monitor

import (
	"asusual/model"
	"asusual/model/finding"
	"asusual/model/spectrum"
	"asusual/monitor/history"
)

// means gathers the mean absorbances of a batch, by stretch of time and condition.
type means struct {
	list []history.Mean // Values holds sums until take
}

// add adds a spectrum to its stretch.
func (m *means) add(line *Line, axis *spectrum.Axis, p *placed) {
	if p.absorbance == nil || axis == nil || axis.Len() != len(p.absorbance) {
		return
	}
	place := p.record.Condition
	for _, f := range p.record.Reasons {
		switch f.Kind {
		case finding.InTransition:
			place = model.InTransition // no production, and no sign of a change
		case finding.Overstays:
			place = model.Uncharted // what has changed is what does not pass
		}
	}
	from := p.record.Time.UTC().Truncate(line.Stretch)
	for i := len(m.list) - 1; i >= 0; i-- {
		s := &m.list[i]
		if s.From.Equal(from) && s.Condition == place && s.Axis == axis {
			s.Count++
			for c, v := range p.absorbance {
				s.Values[c] += v
			}
			return
		}
	}
	m.list = append(m.list, history.Mean{Line: line.Name, From: from, Length: line.Stretch, Condition: place, Axis: axis, Count: 1, Values: p.absorbance})
}

// take returns the means and forgets them.
func (m *means) take() []history.Mean {
	list := m.list
	m.list = nil
	for _, s := range list {
		for c := range s.Values {
			s.Values[c] /= float64(s.Count)
		}
	}
	return list
}
