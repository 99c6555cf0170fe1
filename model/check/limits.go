package check

import (
	"fmt"
	"math"

	"asusual/model/fitness"
)

// A Pair holds the two limits of a measure: above Ageing the instrument is ageing, above Unfit it is unfit.
type Pair struct {
	Ageing float64 `json:"ageing"`
	Unfit  float64 `json:"unfit"`
}

// State says what the value means.
func (p Pair) State(value float64) fitness.State {
	switch {
	case math.IsNaN(value):
		return ""
	case value > p.Unfit:
		return fitness.Bad
	case value > p.Ageing:
		return fitness.Ageing
	}
	return fitness.Fit
}

// Next returns the limit that the value passed, or the first one that it has not.
func (p Pair) Next(value float64) float64 {
	if value > p.Unfit {
		return p.Unfit
	}
	return p.Ageing
}

// Limits are those of all measures. A Pair of zeros takes its default.
type Limits struct {
	DarkLevel Pair // percent away from the first darks
	DarkNoise Pair // multiple of the first
	Light     Pair // percent away from the first references
	LineMean  Pair // absorbance, of all regions on average
	LineEach  Pair // absorbance, of a region
	LineTimes Pair // multiple of the first
	Saturated Pair // percent of the channels
	Dead      Pair // percent of the channels, beyond those at first; likewise Hot and Stuck
	Hot       Pair
	Stuck     Pair
	Repeat    Pair // absorbance
	Band      Pair // multiples of a band's tolerance
}

// Defaults returns the limits that apply where none is set.
//
// LineEach.Ageing and LineMean.Ageing are high-flux noise limits (none above 0.8·10⁻³, mean below 0.3·10⁻³); their Unfit is
// the same chapter's limit at low flux (2·10⁻³ and 1·10⁻³): beyond it the lamp as good as fails. From memory: see the package comment.
// Multiples of the first follow the trend of production spectra (package fitness). All others are common practice, no source.
func Defaults() Limits {
	return Limits{
		DarkLevel: Pair{10, 50},
		DarkNoise: Pair{1.5, 4},
		Light:     Pair{20, 50},
		LineMean:  Pair{0.3e-3, 1e-3},
		LineEach:  Pair{0.8e-3, 2e-3},
		LineTimes: Pair{1.5, 4},
		Saturated: Pair{0, 5},
		Dead:      Pair{0, 5},
		Hot:       Pair{0, 5},
		Stuck:     Pair{0, 5},
		Repeat:    Pair{1e-3, 5e-3},
		Band:      Pair{0.5, 1},
	}
}

// filled returns the limits with the defaults of those that are not set.
func (l Limits) filled() (Limits, error) {
	d := Defaults()
	for _, x := range [...]struct {
		name string
		to   *Pair
		def  Pair
	}{
		{"dark level", &l.DarkLevel, d.DarkLevel}, {"dark noise", &l.DarkNoise, d.DarkNoise}, {"light level", &l.Light, d.Light},
		{"100 % line, mean", &l.LineMean, d.LineMean}, {"100 % line, each region", &l.LineEach, d.LineEach},
		{"100 % line, times the first", &l.LineTimes, d.LineTimes}, {"saturated channels", &l.Saturated, d.Saturated},
		{"dead channels", &l.Dead, d.Dead}, {"hot channels", &l.Hot, d.Hot}, {"stuck channels", &l.Stuck, d.Stuck},
		{"repeatability", &l.Repeat, d.Repeat}, {"band position", &l.Band, d.Band},
	} {
		if *x.to == (Pair{}) {
			*x.to = x.def
		}
		if a, u := x.to.Ageing, x.to.Unfit; !(a >= 0 && u >= a) || math.IsInf(u, 0) {
			return l, fmt.Errorf("the limits of %s are %g and %g; the first is at least 0, and the second at least the first", x.name, a, u)
		}
	}
	return l, nil
}
