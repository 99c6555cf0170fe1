package pretreat

import (
	"encoding/json"
	"fmt"

	"asusual/model/spectrum"
)

// chainFile is what is kept of a chain: all the rest follows from it.
type chainFile struct {
	Axis       *spectrum.Axis `json:"axis"`
	Steps      []Step         `json:"steps"`
	References [][]float64    `json:"references,omitempty"` // of the msc steps, in order
}

// MarshalJSON writes the chain so that UnmarshalJSON gives one that computes the same.
func (c *Chain) MarshalJSON() ([]byte, error) {
	if c.in == nil {
		return nil, fmt.Errorf("a pretreatment chain that was never fitted cannot be written")
	}
	return json.Marshal(chainFile{c.in, c.steps, c.refs})
}

// UnmarshalJSON reads what MarshalJSON wrote and checks it as Fit does: a file that was altered gives an error that
// names the step, or a chain that could have been fitted; never one that fails later. Weights are not in the file but
// worked out anew, which gives the same ones to the last bit.
func (c *Chain) UnmarshalJSON(b []byte) error {
	var f chainFile
	if err := json.Unmarshal(b, &f); err != nil {
		return err
	}
	refs := f.References
	n, err := build(f.Axis, f.Steps, func(c *Chain) ([]float64, error) {
		if len(refs) == 0 {
			return nil, fmt.Errorf("msc: the reference spectrum is missing")
		}
		r := refs[0]
		refs = refs[1:]
		if len(r) != c.out.Len() {
			return nil, fmt.Errorf("msc: the reference spectrum has %d channels, %d are needed", len(r), c.out.Len())
		}
		return r, nil
	})
	if err != nil {
		return fmt.Errorf("pretreatment: %w", err)
	}
	if len(refs) > 0 {
		return fmt.Errorf("pretreatment: %d reference spectra belong to no msc step", len(refs))
	}
	*c = *n
	return nil
}
