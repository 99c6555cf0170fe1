package pages

import (
	"asusual/model"
	"asusual/model/finding"
	"asusual/model/fitness"
)

// faults says each cause that lies in an instrument, as the thing that would move a spectrum so.
var faults = map[fitness.Cause]string{
	fitness.AxisMoved:    "a wavelength axis that is off",
	fitness.LightChanged: "a film on the window, a weaker lamp or a bent fibre",
	fitness.PathChanged:  "another path length in the probe",
}

// looks says which fault of an instrument the mean absorbance of some spectra looks like, if any.
func looks(ref *model.Reference, mean []float64) []finding.Finding {
	d := make([]float64, len(mean))
	for i, v := range mean {
		d[i] = v - ref.Picture.Mean[i]
	}
	found := ref.Instrument.Diagnose(ref.Axis(), d)
	if !found.Like() {
		return nil
	}
	return []finding.Finding{finding.Of(finding.MovesAs, faults[found.Best], 100*found.Shares[found.Best])}
}
