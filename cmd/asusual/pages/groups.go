package pages

import (
	"asusual/model"
	"asusual/model/position"
	"asusual/monitor/history"
	"asusual/report"
	"asusual/report/chart"
)

// A Departure says how the mean spectrum of a group lies from usual.
type Departure struct {
	Spectra    int // that the mean is of
	T2, Q      float64
	Distance   float64
	Axis       chart.Axis // of the difference
	Difference []float64  // pretreated, less the mean of usual
	Band       []float64  // half the width in which 95 % of single usual spectra lie
	Most       []float64  // where it lies furthest outside the band, in the unit of the axis; none where it lies nowhere so, or nearly everywhere
}

// DepartureOf returns how the mean of a group lies from usual by the reference; nil where the mean is not known, or is of another
// axis than the reference's.
func DepartureOf(ref *model.Reference, g history.Group) *Departure {
	if g.Mean == nil || !g.Mean.Axis.Equal(ref.Axis()) {
		return nil
	}
	p, err := spectrumPlot(ref, nil, g.Name, g.Mean.Values)
	if err != nil { // a mean that cannot be pretreated, such as a flat one
		return nil
	}
	d := &Departure{Spectra: g.Mean.Count, Axis: p.DiffAxis, Difference: p.Difference, Band: p.Band}
	d.Most = chart.GroupsPlot{Axis: d.Axis, Band: d.Band, Groups: []chart.GroupMean{{Name: g.Name, Difference: d.Difference}}}.Moved()[0]
	x, t := make([]float64, ref.PCA.P), make([]float64, ref.PCA.K)
	for i, v := range p.Difference {
		x[i] = ref.PCA.Mean[i] + v
	}
	ref.PCA.Scores(t, x)
	d.T2, d.Q = position.T2(t, ref.PCA.Eigenvalues), ref.PCA.SquaredResidual(x, t)
	d.Distance = position.Distance(d.T2, ref.Limits.T2, d.Q, ref.Limits.Q)
	return d
}

// Became returns the condition that was named from the group, "" where there is none now.
func Became(ref *model.Reference, group string) string {
	for _, k := range ref.Conditions {
		if k.Group != "" && k.Group == group {
			return k.Name
		}
	}
	return ""
}

// maxDrawn is how many groups are drawn, the latest: more panels than that say less.
const maxDrawn = 6

// draw fills in how a group lies from usual, and adds it to the picture.
func (s Source) draw(h *report.Handover, g *report.Group, of history.Group) {
	g.Now = Became(s.Reference, of.Name)
	d := DepartureOf(s.Reference, of)
	if d == nil {
		return
	}
	g.Distance, g.Most, g.Unit = d.Distance, d.Most, d.Axis.Unit
	if h.Means == nil {
		h.Means = &chart.GroupsPlot{Axis: d.Axis, Band: d.Band}
	}
	h.Means.Groups = append(h.Means.Groups, chart.GroupMean{Name: of.Name, Difference: d.Difference})
	if n := len(h.Means.Groups); n > maxDrawn {
		h.Means.Groups = h.Means.Groups[n-maxDrawn:]
	}
}
