package light

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
	"time"

	"asusual/model/finding"
	"asusual/model/spectrum"
)

// A Lit is the light of one spectrum, without the darkness.
type Lit struct {
	Values    []float64         // counts a millisecond, or counts where no integration time is said; p
	Full      []int             // channels, from 0, at which the detector was full
	Dark      string            // the dark that was taken off, or the two; "" for none
	PerMS     bool              // Values are a millisecond
	Findings  []finding.Finding // what is doubtful about it
	Saturated float64           // the value that the full channels share; 0 where there is none
}

// Light takes the dark off a spectrum of raw intensities. It is an error if there is no dark that fits.
func (s *Store) Light(x spectrum.Spectrum) (Lit, error) {
	var out Lit
	if err := intensities(x, "spectrum"); err != nil {
		return out, err
	}
	out.Values = slices.Clone(x.Values)
	out.Full, out.Saturated = Full(x.Values, s.opt.Full)
	if !s.opt.NoDark {
		if err := s.takeDark(&out, x); err != nil {
			return Lit{}, err
		}
	}
	if x.Exposure > 0 {
		out.PerMS = true
		ms := milliseconds(x.Exposure)
		for i := range out.Values {
			out.Values[i] /= ms
		}
	}
	return out, nil
}

// takeDark subtracts the dark of x's integration time, or what lies between a shorter and a longer one.
func (s *Store) takeDark(out *Lit, x spectrum.Spectrum) error {
	i := s.nearest(s.darks, x, func(d spectrum.Spectrum) bool { return same(d.Exposure, x.Exposure) })
	if i < 0 { // one that does not say its time, or any, where x does not
		i = s.nearest(s.darks, x, func(d spectrum.Spectrum) bool { return d.Exposure == 0 || x.Exposure == 0 })
		if i >= 0 {
			who := "the dark spectrum"
			if x.Exposure == 0 {
				who = "the spectrum"
			}
			out.Findings = append(out.Findings, finding.Of(finding.ExposureNotTold, who))
		}
	}
	if i >= 0 {
		d := s.darks[i]
		for j, v := range d.Values {
			out.Values[j] -= v
		}
		out.Dark = d.Name()
		out.Findings = append(out.Findings, s.stale(finding.StaleDark, x, d)...)
		return nil
	}
	return s.takeBetween(out, x)
}

// takeBetween subtracts D = D₁ + (t−t₁)/(t₂−t₁)·(D₂−D₁), of darks with t₁ < t < t₂: the closest times there are, and of those
// the nearest in time. Nothing is extrapolated.
func (s *Store) takeBetween(out *Lit, x spectrum.Spectrum) error {
	var t1, t2 time.Duration
	for _, d := range s.darks {
		if !s.goes(d, x) {
			continue
		}
		if d.Exposure < x.Exposure {
			t1 = max(t1, d.Exposure)
		} else if t2 == 0 || d.Exposure < t2 {
			t2 = d.Exposure
		}
	}
	if t1 == 0 || t2 == 0 {
		return s.noDark(x)
	}
	d1 := s.darks[s.nearest(s.darks, x, func(d spectrum.Spectrum) bool { return d.Exposure == t1 })]
	d2 := s.darks[s.nearest(s.darks, x, func(d spectrum.Spectrum) bool { return d.Exposure == t2 })]
	w := float64(x.Exposure-t1) / float64(t2-t1)
	for j := range out.Values {
		out.Values[j] -= d1.Values[j] + w*(d2.Values[j]-d1.Values[j])
	}
	out.Dark = d1.Name() + ", " + d2.Name()
	out.Findings = append(out.Findings, finding.Of(finding.DarkBetween, "", milliseconds(x.Exposure), milliseconds(t1), milliseconds(t2)))
	out.Findings = append(out.Findings, s.stale(finding.StaleDark, x, d1)...)
	out.Findings = append(out.Findings, s.stale(finding.StaleDark, x, d2)...)
	return nil
}

// noDark says which darks there are where none fits.
func (s *Store) noDark(x spectrum.Spectrum) error {
	var times []string
	for _, d := range s.darks {
		if t := fmt.Sprintf("%g ms", milliseconds(d.Exposure)); s.goes(d, x) && !slices.Contains(times, t) {
			times = append(times, t)
		}
	}
	slices.SortFunc(times, func(a, b string) int { return cmp.Or(cmp.Compare(len(a), len(b)), strings.Compare(a, b)) })
	switch {
	case len(s.darks) == 0:
		return fmt.Errorf("no dark spectrum is there; measure one with the light off")
	case len(times) == 0:
		if err := s.changed(s.darks, x, "dark", "measure one with the light off"); err != nil {
			return err
		}
		return fmt.Errorf("no dark spectrum has its axis (%v); measure one with the same settings", x.Axis)
	}
	return fmt.Errorf("no dark spectrum has its integration time of %g ms; there are those of %s; measure one of %g ms", milliseconds(x.Exposure), strings.Join(times, ", "), milliseconds(x.Exposure))
}

func milliseconds(d time.Duration) float64 { return float64(d) / float64(time.Millisecond) }

// same reports whether two integration times are the same setting, or both unknown.
func same(a, b time.Duration) bool {
	return float64((a - b).Abs()) <= sameExposure*float64(max(a, b))
}

// flatTop is how many channels in a row must share the highest value to be taken for a full detector. Counts are whole
// numbers, so that two neighbours on a maximum share theirs now and then; four do so hardly ever. Our own choice.
const flatTop = 4

// Full returns the channels, from 0, at which a detector was full, and the value that they share, or 0: those that reach full counts,
// or, where full is 0, flatTop or more in a row at the highest value of all.
func Full(counts []float64, full float64) (channels []int, at float64) {
	if full > 0 {
		for i, v := range counts {
			if v >= full {
				channels = append(channels, i)
			}
		}
		if len(channels) > 0 {
			at = full
		}
		return channels, at
	}
	if len(counts) == 0 {
		return nil, 0
	}
	top := slices.Max(counts)
	if top == slices.Min(counts) { // nothing but one value: a dead detector, not a full one
		return nil, 0
	}
	for i := 0; i < len(counts); i++ {
		k := i
		for k < len(counts) && counts[k] == top {
			k++
		}
		if k-i >= flatTop {
			for j := i; j < k; j++ {
				channels = append(channels, j)
			}
			at = top
		}
		i = max(i, k)
	}
	return channels, at
}
