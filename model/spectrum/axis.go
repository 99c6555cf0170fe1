package spectrum

import (
	"encoding/json"
	"fmt"
	"math"
	"slices"
)

// An Axis says where the channels of a spectrum lie: p positions in one unit, strictly rising or strictly
// falling. It does not change after NewAxis, and all spectra on one grid share one Axis.
type Axis struct {
	unit Unit
	at   []float64
}

// NewAxis returns the axis of the given positions, which it copies. It needs at least two positions, all finite,
// strictly rising or strictly falling, and above zero where the unit is one of light.
func NewAxis(unit Unit, at []float64) (*Axis, error) {
	if len(at) < 2 {
		return nil, fmt.Errorf("an axis needs at least 2 channels, found %d", len(at))
	}
	rising := at[1] > at[0]
	for i, v := range at {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return nil, fmt.Errorf("axis position %d is %v", i+1, v)
		}
		if v <= 0 && unit != Channel && unit != UnknownUnit && unit != Retardation {
			return nil, fmt.Errorf("axis position %d is %g %s; positions in %s are above zero", i+1, v, unit.Symbol(), unit.Symbol())
		}
		if i > 0 && (v == at[i-1] || v > at[i-1] != rising) {
			return nil, fmt.Errorf("axis position %d (%g) does not go on from position %d (%g); an axis only rises or only falls", i+1, v, i, at[i-1])
		}
	}
	return &Axis{unit: unit, at: slices.Clone(at)}, nil
}

// Unit returns the unit of the axis.
func (a *Axis) Unit() Unit { return a.unit }

// Len returns the number of channels p.
func (a *Axis) Len() int { return len(a.at) }

// At returns the position of channel i.
func (a *Axis) At(i int) float64 { return a.at[i] }

// Values returns a copy of the p positions.
func (a *Axis) Values() []float64 { return slices.Clone(a.at) }

// Rising reports whether the positions rise with the channel.
func (a *Axis) Rising() bool { return a.at[1] > a.at[0] }

// Range returns the lowest and the highest position.
func (a *Axis) Range() (lo, hi float64) {
	lo, hi = a.at[0], a.at[len(a.at)-1]
	return min(lo, hi), max(lo, hi)
}

// Equal reports whether a and b have the same unit and the same positions.
func (a *Axis) Equal(b *Axis) bool {
	return a == b || a != nil && b != nil && a.unit == b.unit && slices.Equal(a.at, b.at)
}

// String says the axis in words, such as "512 channels, 900–1700 nm".
func (a *Axis) String() string {
	lo, hi := a.Range()
	return fmt.Sprintf("%d channels, %.6g–%.6g %s", a.Len(), lo, hi, a.unit.Symbol())
}

type axisFile struct {
	Unit Unit      `json:"unit"`
	At   []float64 `json:"at"`
}

// MarshalJSON writes the axis as {"unit":…,"at":[…]}.
func (a *Axis) MarshalJSON() ([]byte, error) { return json.Marshal(axisFile{a.unit, a.at}) }

// UnmarshalJSON reads what MarshalJSON wrote and checks it as NewAxis does.
func (a *Axis) UnmarshalJSON(b []byte) error {
	var f axisFile
	if err := json.Unmarshal(b, &f); err != nil {
		return err
	}
	n, err := NewAxis(f.Unit, f.At)
	if err != nil {
		return err
	}
	*a = *n
	return nil
}
