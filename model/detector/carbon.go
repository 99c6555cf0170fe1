package detector

import (
	"asusual/model/finding"
	"asusual/model/pretreat"
	"asusual/model/spectrum"
)

// The fundamental asymmetric stretch of carbon dioxide lies at 2,349 cm⁻¹, with its branches from about 2,280 to 2,390 cm⁻¹ (Herzberg,
// Infrared and Raman Spectra of Polyatomic Molecules, 1945; the borders are common practice, no source).
const (
	carbonFrom = 2280 // cm⁻¹
	carbonTo   = 2390
)

// LeaveOutCarbonDioxide returns the step of pretreatment that leaves out where the air's carbon dioxide absorbs, in the unit of the
// axis, and the finding that says so. ok is false where the axis does not have the region, or says nothing of where
// its channels lie; an axis that lies wholly within it keeps its channels, too.
func LeaveOutCarbonDioxide(a *spectrum.Axis) (step pretreat.Step, said finding.Finding, ok bool) {
	d := Detector{From: 1e7 / carbonTo, To: 1e7 / carbonFrom}
	lo, hi, err := d.Range(a.Unit())
	if err != nil {
		return step, said, false
	}
	in := 0
	for j := range a.Len() {
		if at := a.At(j); at >= lo && at <= hi {
			in++
		}
	}
	if in == 0 || in == a.Len() {
		return step, said, false
	}
	return pretreat.Step{Name: pretreat.LeaveOut, From: lo, To: hi}, finding.Of(finding.LeaveOutCO2, a.Unit().Symbol(), lo, hi), true
}
