package check

import (
	"slices"
	"time"

	"asusual/model/finding"
	"asusual/model/fitness"
)

// A Measure is what a Result measured.
type Measure string

// The measures.
const (
	DarkLevel   Measure = "dark level"
	DarkNoise   Measure = "dark noise"
	LightLevel  Measure = "light level"
	LineNoise   Measure = "100 % line noise"
	LineMean    Measure = "100 % line noise, mean of the regions"
	LineTimes   Measure = "100 % line noise, times the first"
	Saturated   Measure = "saturated channels"
	Dead        Measure = "dead channels"
	Hot         Measure = "hot channels"
	Stuck       Measure = "stuck channels"
	Repeatable  Measure = "repeatability"
	BandAt      Measure = "band position"
	NotMeasured Measure = "not measured" // the finding says why
	// Production is no check of its own: spectra of production tell of the instrument as well, and stand beside the checks.
	Production Measure = "spectra of production"
)

// A Result is one measure of one spectrum, or of a spectrum and those before it.
type Result struct {
	Measure Measure         `json:"measure"`
	About   string          `json:"about,omitempty"` // the region, band or integration time
	Time    time.Time       `json:"time"`
	Value   float64         `json:"value"`
	Unit    string          `json:"unit,omitempty"`
	Limit   Pair            `json:"limit"`
	State   fitness.State   `json:"state,omitempty"`  // "" where it cannot be told, as while the first spectra are gathered
	Finding finding.Finding `json:"finding,omitzero"` // why it is not fit, or cannot be told; no kind otherwise
}

// same reports whether another result takes the place of this one.
func (r Result) same(o Result) bool { return o.Measure == r.Measure && o.About == r.About }

// result makes a result; why is the finding if it is not fit.
func result(m Measure, value float64, unit string, limit Pair, why finding.Finding) Result {
	r := Result{Measure: m, Value: value, Unit: unit, Limit: limit, State: limit.State(value)}
	if r.State != fitness.Fit {
		r.Finding = why
	}
	return r
}

// cannot is the result of a check that could not be made.
func cannot(about, why string) Result {
	return Result{Measure: NotMeasured, About: about, Finding: finding.Of(finding.CannotCheck, why)}
}

// Worst returns the worst of states; those that are not known do not count, and of none it is fit.
func Worst(states ...fitness.State) fitness.State {
	for _, s := range [...]fitness.State{fitness.Bad, fitness.Ageing} {
		if slices.Contains(states, s) {
			return s
		}
	}
	return fitness.Fit
}
