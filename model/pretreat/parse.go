package pretreat

import (
	"fmt"
	"strings"

	"asusual/model/spectrum"
)

// Parse reads a comma list of steps with their usual settings, such as "snv,derivative"; "none" or "" is no step.
// The words are the names of the steps that need no settings, and second-derivative.
func Parse(words string) ([]Step, error) {
	words = strings.TrimSpace(words)
	if words == "" || words == "none" {
		return nil, nil
	}
	var steps []Step
	for w := range strings.SplitSeq(words, ",") {
		switch w = strings.ToLower(strings.TrimSpace(w)); w {
		case SNV, MSC, Detrend, Smooth, Derivative, Offset:
			steps = append(steps, Step{Name: w})
		case "second-derivative":
			steps = append(steps, Step{Name: Derivative, Order: 2})
		case Keep, LeaveOut:
			return nil, fmt.Errorf("pretreatment %q needs a range; set it in the configuration", w)
		case "none":
			return nil, fmt.Errorf("pretreatment %q has none beside other steps", words)
		default:
			return nil, fmt.Errorf("pretreatment %q is not one of none, snv, msc, detrend, smooth, derivative, second-derivative, offset", w)
		}
	}
	return steps, nil
}

// Named is a chain of steps under a name that Parse takes.
type Named struct {
	Name  string
	Steps []Step
}

// Candidates returns the short list of chains among which auto chooses, from the plainest on, with the windows that
// suit the axis. None of them learns from training spectra. A chain that the axis is too short for is not in it.
func Candidates(axis *spectrum.Axis) []Named {
	var list []Named
	for _, name := range []string{
		"none", "snv", "detrend,snv", "derivative", "snv,derivative", "second-derivative", "snv,second-derivative",
	} {
		steps, err := Parse(name)
		if err != nil {
			panic("pretreat: " + err.Error())
		}
		c, err := Fit(axis, steps, nil)
		if err == nil {
			list = append(list, Named{name, c.Steps()})
		}
	}
	return list
}
