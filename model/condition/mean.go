package condition

import (
	"encoding/base64"
	"encoding/binary"
	"encoding/json"
	"fmt"
	"math"
)

// A Mean is the mean of spectra that came one after another:
//
//	x̄ₙ = x̄ₙ₋₁ + (xₙ − x̄ₙ₋₁)/n
//
// Its zero value is that of none.
type Mean struct {
	Spectra int
	Values  []float64 // p absorbances; nil where there are no spectra
}

// add takes in one spectrum, which is not kept. One that was not handed on, or is of another length, counts for nothing.
func (m *Mean) add(x []float64) {
	if len(x) == 0 || m.Spectra > 0 && len(x) != len(m.Values) {
		return
	}
	if m.Spectra == 0 {
		m.Values = make([]float64, len(x))
	}
	m.Spectra++
	for i, v := range x {
		m.Values[i] += (v - m.Values[i]) / float64(m.Spectra)
	}
}

// merge takes in the spectra that another mean stands for.
func (m *Mean) merge(o Mean) {
	switch {
	case o.Spectra == 0 || m.Spectra > 0 && len(o.Values) != len(m.Values):
		return
	case m.Spectra == 0:
		m.Values = make([]float64, len(o.Values))
	}
	m.Spectra += o.Spectra
	for i, v := range o.Values {
		m.Values[i] += (v - m.Values[i]) * float64(o.Spectra) / float64(m.Spectra)
	}
}

// packed is how a mean stands in JSON: a state is written often, and figures of sixteen digits would take twice the room.
type packed struct {
	Spectra int    `json:"spectra"`
	Values  string `json:"values"` // base64 of the values, each as eight bytes, the least significant first
}

// MarshalJSON writes the mean so that UnmarshalJSON reads it back exactly.
func (m Mean) MarshalJSON() ([]byte, error) {
	b := make([]byte, 0, 8*len(m.Values))
	for _, v := range m.Values {
		b = binary.LittleEndian.AppendUint64(b, math.Float64bits(v))
	}
	return json.Marshal(packed{m.Spectra, base64.StdEncoding.EncodeToString(b)})
}

// UnmarshalJSON reads a mean. One that is not whole is an error.
func (m *Mean) UnmarshalJSON(text []byte) error {
	var p packed
	if err := json.Unmarshal(text, &p); err != nil {
		return err
	}
	b, err := base64.StdEncoding.DecodeString(p.Values)
	if err != nil || len(b)%8 != 0 || (p.Spectra > 0) != (len(b) > 0) || p.Spectra < 0 {
		return fmt.Errorf("a mean of %d spectra in %d letters is damaged", p.Spectra, len(p.Values))
	}
	*m = Mean{Spectra: p.Spectra}
	for i := 0; i < len(b); i += 8 {
		v := math.Float64frombits(binary.LittleEndian.Uint64(b[i:]))
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return fmt.Errorf("a mean of %d spectra holds %g", p.Spectra, v)
		}
		m.Values = append(m.Values, v)
	}
	return nil
}
