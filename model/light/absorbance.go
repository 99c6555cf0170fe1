package light

import (
	"fmt"
	"math"

	"asusual/model/finding"
	"asusual/model/spectrum"
)

// A Made is an absorbance and what it was made with.
type Made struct {
	Spectrum  spectrum.Spectrum // the sample with its absorbance as values
	Masked    []int             // channels, from 0, without an absorbance of their own, which have their neighbours'
	Saturated int               // how many of those are masked because the detector was full
	Reference string            // the reference that was used
	Dark      string            // the dark of the sample, or the two that it was taken from
	Findings  []finding.Finding // a stale reference, masked channels and the like: reasons beside a judgement
}

// Absorbance returns A = −log₁₀(I_sample/I_reference) of a sample's raw intensities, with the reference nearest in time on
// its axis and the darks that fit each of the two.
//
// A channel is masked where sample or reference gives no light above the dark, or where the detector was full. It then
// has the absorbance on the straight line between the nearest channels that have one, at an end that of the last one, so that
// every step that follows finds p finite values, and it is told with its count. Where more than Options.Masked of the
// channels are masked the spectrum cannot be used, which is an error that says how many and where.
//
// It is an error if no reference or dark fits.
func (s *Store) Absorbance(sample spectrum.Spectrum) (Made, error) {
	lit, err := s.Light(sample)
	if err != nil {
		return Made{}, err
	}
	r, findings, err := s.reference(sample)
	if err != nil {
		return Made{}, err
	}
	white, err := s.Light(r)
	if err != nil {
		return Made{}, fmt.Errorf("the reference %s: %w", r.Name(), err)
	}
	if lit.PerMS != white.PerMS { // only one says its integration time: both are taken as counts
		which, counts := "the reference", &lit
		if white.PerMS {
			which, counts = "the sample", &white
		}
		ms := milliseconds(max(sample.Exposure, r.Exposure))
		for i := range counts.Values {
			counts.Values[i] *= ms
		}
		findings = append(findings, finding.Of(finding.ExposureNotTold, which))
	}
	out := Made{Spectrum: sample, Reference: r.Name(), Dark: lit.Dark, Findings: merged(lit.Findings, white.Findings, findings)}
	out.Spectrum.Quantity = spectrum.Absorbance
	if err := out.fill(lit, white, s.opt.Masked); err != nil {
		return Made{}, err
	}
	return out, nil
}

// reference finds the reference nearest in time.
func (s *Store) reference(sample spectrum.Spectrum) (spectrum.Spectrum, []finding.Finding, error) {
	i := s.nearest(s.refs, sample, func(spectrum.Spectrum) bool { return true })
	switch {
	case i >= 0:
		return s.refs[i], s.stale(finding.StaleReference, sample, s.refs[i]), nil
	case len(s.refs) == 0:
		return spectrum.Spectrum{}, nil, fmt.Errorf("no reference spectrum is there; measure the white tile or the empty light path")
	}
	if err := s.changed(s.refs, sample, "reference", "measure the white tile or the empty light path"); err != nil {
		return spectrum.Spectrum{}, nil, err
	}
	return spectrum.Spectrum{}, nil, fmt.Errorf("no reference spectrum has its axis (%v); measure one with the same settings", sample.Axis)
}

// fill computes the absorbances and masks what has none.
func (m *Made) fill(lit, white Lit, most float64) error {
	p := len(lit.Values)
	full := make([]bool, p)
	for _, l := range [...]Lit{lit, white} {
		for _, i := range l.Full {
			full[i] = true
		}
	}
	a := make([]float64, p)
	for i := range a {
		y := lit.Values[i] / white.Values[i]
		if full[i] || !(lit.Values[i] > 0) || !(white.Values[i] > 0) || !(y > 0) || math.IsInf(y, 1) {
			m.Masked = append(m.Masked, i)
			if full[i] {
				m.Saturated++
			}
			continue
		}
		a[i] = -math.Log10(y)
	}
	m.Spectrum.Values = a
	if len(m.Masked) == 0 {
		return nil
	}
	axis, first := m.Spectrum.Axis, m.Masked[0]
	if float64(len(m.Masked)) > most*float64(p) || len(m.Masked) == p {
		return fmt.Errorf("%d of %d channels have no absorbance, %d of them saturated and the others without light, more than %.3g %%; the first lies at %.6g %s", len(m.Masked), p, m.Saturated, 100*most, axis.At(first), axis.Unit().Symbol())
	}
	bridge(axis, a, m.Masked)
	m.Findings = append(m.Findings, finding.Of(finding.Masked, axis.Unit().Symbol(), float64(len(m.Masked)), float64(m.Saturated), float64(p), axis.At(first)))
	return nil
}

// bridge fills the masked channels of y from those beside them. At least one channel is not masked.
func bridge(axis *spectrum.Axis, y []float64, masked []int) {
	for k := 0; k < len(masked); {
		from := masked[k]
		to := from
		for k < len(masked) && masked[k] == to {
			k, to = k+1, to+1
		}
		for i := from; i < to; i++ { // channels from to to-1 are masked
			switch {
			case from == 0:
				y[i] = y[to]
			case to == len(y):
				y[i] = y[from-1]
			default:
				w := (axis.At(i) - axis.At(from-1)) / (axis.At(to) - axis.At(from-1))
				y[i] = y[from-1] + w*(y[to]-y[from-1])
			}
		}
	}
}

// merged puts lists of findings together; what is said twice is said once.
func merged(lists ...[]finding.Finding) []finding.Finding {
	var out []finding.Finding
	seen := map[string]bool{}
	for _, l := range lists {
		for _, f := range l {
			if key := string(f.Kind) + f.String(); !seen[key] {
				seen[key] = true
				out = append(out, f)
			}
		}
	}
	return out
}
