package model

import (
	"fmt"

	"asusual/model/condition"
	"asusual/model/spectrum"
)

// A Belt tells the empty belt from an item on it, where that is told by a named condition: by a model of the spectra of that
// condition alone, as absorbances without pretreatment, since a level counts here. It comes before everything else: a spectrum of
// the empty belt takes part in nothing.
type Belt struct {
	Axis  *spectrum.Axis   `json:"axis"`
	Class *condition.Class `json:"class"`
}

// NewBelt learns the empty belt from the spectra of the condition that the training holds. As for Learn, a training serves once.
// gap ends a run, as in Options.
func NewBelt(t *Training, name string, opt Options) (*Belt, error) {
	opt.fill()
	axis := t.axisOf(name)
	if axis == nil {
		return nil, t.errNoSpectra(name)
	}
	b := t.gather(name, axis, opt.Gap)
	s := condition.Sample{Name: name, Set: b.set()}
	for i := range b.rows {
		s.Looks = append(s.Looks, condition.LookOf(s.Set.X.RawRowView(i)))
	}
	f, err := condition.Fit(s, opt.Each)
	if err != nil {
		return nil, err
	}
	return &Belt{Axis: axis, Class: f.Class}, nil
}

// beltWide is how far out, in distances of the belt's own limits, a spectrum still shows the empty belt: one in a hundred lies beyond the
// limits by design, and none of those is an item, which lies much further away. Chosen so that TestBelt finds no stray.
const beltWide = 2

// Empty reports whether a spectrum shows the empty belt. One of which no absorbance can be made shows something. It is an error if its
// axis does not cover the belt's. It is safe for concurrent use.
func (b *Belt) Empty(s spectrum.Spectrum) (bool, error) {
	a, err := s.Absorbance()
	if err != nil {
		return false, nil // whoever judges it says why
	}
	x := a.Values
	if !a.Axis.Equal(b.Axis) {
		to, err := spectrum.NewResampler(a.Axis, b.Axis)
		if err != nil {
			return false, fmt.Errorf("telling it from the condition %s: %w", b.Class.Name, err)
		}
		x = make([]float64, b.Axis.Len())
		to.Apply(x, a.Values)
	}
	return b.Class.Match(x, condition.LookOf(x), make([]float64, b.Class.PCA.K)).Distance <= beltWide, nil
}

func (b *Belt) validate() error {
	if b.Axis == nil || b.Class == nil {
		return fmt.Errorf("the empty belt: a part is missing")
	}
	return b.Class.Validate(b.Axis.Len())
}
