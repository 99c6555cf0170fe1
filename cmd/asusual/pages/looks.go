package pages

import (
	"math"

	"asusual/model"
	"asusual/model/finding"
	"asusual/model/fitness"
	"asusual/report"
)

// looks says which fault of an instrument the mean absorbance of some spectra looks like, if any.
func looks(ref *model.Reference, l *report.Language, mean []float64) []finding.Finding {
	d := make([]float64, len(mean))
	for i, v := range mean {
		d[i] = v - ref.Picture.Mean[i]
	}
	found := ref.Instrument.Diagnose(ref.Axis(), d)
	if !found.Like() {
		return nil
	}
	fault := "" // as the thing that would move a spectrum so
	switch found.Best {
	case fitness.AxisMoved:
		fault = l.Say("fault.axis")
	case fitness.LightChanged:
		fault = l.Say("fault.light")
	case fitness.PathChanged:
		fault = l.Say("fault.path")
	}
	return []finding.Finding{finding.Of(finding.MovesAs, fault, math.Round(100*found.Shares[found.Best]))}
}
