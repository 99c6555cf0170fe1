package fitness

import (
	"math"

	"asusual/model/finding"
	"asusual/model/spectrum"
)

// A State says whether the instrument can be believed.
type State string

// The states of the instrument.
const (
	Fit    State = "fit"
	Ageing State = "ageing" // it departs from how it was when the reference was learned; what it shows can still be judged
	Bad    State = "unfit"  // what it shows cannot be told from a fault of its own
)

// A Trend follows the instrument through spectra of production, usual or changed, without any check of its own. It
// remembers about the last twenty. Its zero value is the start of a watch; its fields are the whole state.
type Trend struct {
	Mean    []float64 `json:"mean,omitempty"` // of late, p absorbances
	Squares Rough     `json:"squares"`        // mean square roughness of late
	N       int       `json:"n"`
}

const (
	recent  = 20 // spectra that a trend remembers
	settled = 5  // spectra before anything is said

	// Common practice, no source: half as much noise again is worth a look, four times as much makes small changes
	// invisible.
	ageingNoise = 1.5
	unfitNoise  = 4

	// smoothest is the least usual roughness, absorbance: far below any instrument's, so that it divides drawn spectra only.
	smoothest = 1e-12

	// How far the size of an effect may wander, in its usual standard deviations over single spectra. Chosen so that
	// new lots of a simulated line do not pass it.
	ageingSize = 6
)

// Add takes the absorbance of the next spectrum of production.
func (t *Trend) Add(raw []float64) {
	if len(t.Mean) != len(raw) {
		*t = Trend{Mean: make([]float64, len(raw))}
	}
	t.N++
	w := 1 / float64(min(t.N, recent))
	for j, v := range raw {
		t.Mean[j] += w * (v - t.Mean[j])
	}
	r := roughness(raw)
	t.Squares.Middle += w * (r.Middle - t.Squares.Middle)
	t.Squares.Edge += w * (r.Edge - t.Squares.Edge)
}

// A Doctor looks at trends against one baseline.
type Doctor struct {
	s    *solver
	unit spectrum.Unit
	d    []float64
}

// NewDoctor returns a doctor for the baseline on its axis.
func NewDoctor(b *Baseline, axis *spectrum.Axis) *Doctor {
	return &Doctor{newSolver(b, axis), axis.Unit(), make([]float64, axis.Len())}
}

// An Opinion is what a doctor says of an instrument.
type Opinion struct {
	State     State             `json:"state"`
	Reasons   []finding.Finding `json:"reasons,omitempty"` // why it is not fit
	Hint      []finding.Finding `json:"hint,omitempty"`    // what else a change moves like
	Diagnosis Diagnosis         `json:"diagnosis"`         // of the departure of late
	Noise     Rough             `json:"noise"`             // of late, as a multiple of the usual
}

// Look says how the instrument stands. changed tells that the spectra of late depart from usual so far that the
// verdict would be that the process has changed: if they do so as a moved axis or changed light would, the instrument
// is unfit. A changed path is a hint and no reason: the process does that as well.
func (d *Doctor) Look(t *Trend, changed bool) Opinion {
	out := Opinion{State: Fit}
	if t.N < settled {
		return out
	}
	b := d.s.b
	for j, v := range t.Mean {
		d.d[j] = v - b.Mean[j]
	}
	out.Diagnosis = d.s.diagnose(d.d)
	out.Noise = Rough{
		Middle: math.Sqrt(t.Squares.Middle) / max(b.Rough.Middle, smoothest),
		Edge:   math.Sqrt(t.Squares.Edge) / max(b.Rough.Edge, smoothest),
	}
	d.noise(&out)
	d.effects(&out, changed)
	return out
}

func (d *Doctor) noise(out *Opinion) {
	noise := max(out.Noise.Middle, out.Noise.Edge)
	if !(noise > ageingNoise) || math.IsInf(noise, 0) {
		return
	}
	out.worse(Ageing)
	if noise > unfitNoise {
		out.worse(Bad)
	}
	out.Reasons = append(out.Reasons, finding.Of(finding.Noisier, "", out.Noise.Middle, out.Noise.Edge))
}

func (d *Doctor) effects(out *Opinion, changed bool) {
	dg := out.Diagnosis
	if !dg.Like() {
		return
	}
	if dg.Best == PathChanged {
		if changed {
			out.Hint = append(out.Hint, finding.Of(finding.LikePath, "", 100*dg.Sizes[Scale], 100*dg.Shares[PathChanged]))
		}
		return
	}
	big := false
	for _, e := range causes[dg.Best].effects {
		big = big || math.Abs(dg.Sizes[e]) > ageingSize*d.s.b.Spread[e]
	}
	switch {
	case changed:
		out.worse(Bad)
	case big:
		out.worse(Ageing)
	default:
		return
	}
	out.Reasons = append(out.Reasons, d.words(dg))
}

// words says which fault the departure moves as.
func (d *Doctor) words(dg Diagnosis) finding.Finding {
	if dg.Best == AxisMoved {
		return finding.Of(finding.LikeAxis, d.unit.Symbol(), dg.Sizes[Shift], dg.Sizes[Stretch], 100*dg.Shares[AxisMoved])
	}
	return finding.Of(finding.LikeLight, "", dg.Sizes[Offset], dg.Sizes[Slope], 100*dg.Shares[LightChanged])
}

func (o *Opinion) worse(s State) {
	if o.State != Bad {
		o.State = s
	}
}
