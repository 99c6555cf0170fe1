package fitness

import (
	"fmt"

	"asusual/model/spectrum"
)

// An Effect is something that an instrument does to an absorbance spectrum and that a process rarely does.
type Effect uint8

// The effects, each with the unit of its size.
const (
	Shift   Effect = iota // the axis is off by a constant; unit of the axis
	Stretch               // the axis is off at its ends, each the other way; unit of the axis, end to end
	Offset                // the same absorbance more in every channel: dirt on the window, a lamp's fall; absorbance
	Slope                 // more absorbance at one end than at the other; absorbance, end to end
	Curve                 // more absorbance at both ends than in the middle; absorbance, middle to end
	Scale                 // all absorbances by a factor: another path; relative
	nEffects
)

var effectWords = [nEffects]string{"shift", "stretch", "offset", "slope", "curve", "scale"}

// String returns the word of the effect.
func (e Effect) String() string { return effectWords[e] }

// Effects returns all effects.
func Effects() []Effect {
	es := make([]Effect, nEffects)
	for i := range es {
		es[i] = Effect(i)
	}
	return es
}

// A Cause gathers the effects that one fault of an instrument brings together.
type Cause uint8

// The causes.
const (
	AxisMoved    Cause = iota // shift and stretch: the grating, the laser, the temperature of the instrument
	LightChanged              // offset, slope and curve: a film on the window, the lamp, a fibre that was bent
	PathChanged               // scale: the distance in the probe; the process may do this, too
	nCauses
)

var causes = [nCauses]struct {
	word    string
	effects []Effect
}{
	{"axis moved", []Effect{Shift, Stretch}},
	{"light changed", []Effect{Offset, Slope, Curve}},
	{"path changed", []Effect{Scale}},
}

// String returns the cause in words.
func (c Cause) String() string { return causes[c].word }

// MarshalText writes the words of the cause.
func (c Cause) MarshalText() ([]byte, error) { return []byte(c.String()), nil }

// UnmarshalText reads what MarshalText wrote.
func (c *Cause) UnmarshalText(b []byte) error {
	for i := range nCauses {
		if causes[i].word == string(b) {
			*c = i
			return nil
		}
	}
	return fmt.Errorf("no cause is called %q", b)
}

// directions returns what one unit of each effect adds to a spectrum that looks like mean, to first order: nEffects
// rows of p. An axis that is off by s shows A(λ−s) ≈ A(λ) − s·A′(λ).
func directions(axis *spectrum.Axis, mean []float64) [][]float64 {
	p := axis.Len()
	g := make([][]float64, nEffects)
	for e := range g {
		g[e] = make([]float64, p)
	}
	lo, hi := axis.Range()
	for j := range p {
		slope := derivative(axis, mean, j)
		along := (axis.At(j)-lo)/(hi-lo) - 0.5 // from −½ to ½
		g[Shift][j] = -slope
		g[Stretch][j] = -slope * along
		g[Offset][j] = 1
		g[Slope][j] = along
		g[Curve][j] = 4 * along * along
		g[Scale][j] = mean[j]
	}
	return g
}

// derivative is the slope through a channel and its two neighbours, by the parabola that goes through the three.
func derivative(axis *spectrum.Axis, y []float64, j int) float64 {
	j = min(max(j, 1), len(y)-2)
	a, b := axis.At(j)-axis.At(j-1), axis.At(j+1)-axis.At(j)
	return ((y[j]-y[j-1])/a*b + (y[j+1]-y[j])/b*a) / (a + b)
}
