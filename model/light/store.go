package light

import (
	"fmt"
	"math"
	"slices"
	"time"

	"asusual/model/finding"
	"asusual/model/spectrum"
)

// Options say how absorbances are made. The zero value is useful.
type Options struct {
	Full   float64       // counts at which a channel is full; 0: flat tops are taken for it
	NoDark bool          // the instrument has no dark signal, as one whose interferograms are taken about their mean
	Stale  time.Duration // a dark or reference further away in time is said to be stale; 0: a day
	Masked float64       // share of channels that may be masked before a spectrum cannot be used; 0: 0.05
	Keep   int           // darks that are kept, and references; 0: 64
	Since  time.Time     // when lamp or detector was changed: spectra of before and from then on do not go together; zero: never
}

const (
	// defaultStale: a reference a day is common practice on a line that is cleaned daily, no source.
	defaultStale = 24 * time.Hour
	// defaultMasked: one channel in twenty, taken from its neighbours, leaves the bands of liquids and powders, which are
	// wider than that, in place. Our own choice.
	defaultMasked = 0.05
	defaultKeep   = 64
	// sameExposure is how far two integration times may differ and count as one: settings are rounded as they are written.
	sameExposure = 0.001
)

// filled returns the options with what was left open.
func (o Options) filled() (Options, error) {
	switch {
	case math.IsNaN(o.Full) || math.IsInf(o.Full, 0) || o.Full < 0:
		return o, fmt.Errorf("a full channel at %g counts; a number above zero is needed, or 0 to find flat tops", o.Full)
	case !(o.Masked >= 0 && o.Masked < 1):
		return o, fmt.Errorf("a share of %g of the channels may be masked; it is from 0 to 1", o.Masked)
	case o.Stale < 0 || o.Keep < 0:
		return o, fmt.Errorf("stale after %v with %d kept; neither can be below zero", o.Stale, o.Keep)
	}
	if o.Stale == 0 {
		o.Stale = defaultStale
	}
	if o.Masked == 0 {
		o.Masked = defaultMasked
	}
	if o.Keep == 0 {
		o.Keep = defaultKeep
	}
	return o, nil
}

// A Store keeps dark and reference spectra and finds those nearest in time. It is bounded: beyond Options.Keep, the one
// measured longest ago goes, which may be the one that comes. It is not safe for concurrent use.
//
// Note: nearest in time, before or after, among those that were added so far. Whoever adds spectra as they arrive, as a watch does,
// uses none from the future; whoever adds a whole folder first, as learning does, has the nearest on either side.
type Store struct {
	opt         Options
	darks, refs []spectrum.Spectrum // in order of time; of equal times in order of their coming
}

// NewStore returns an empty store.
func NewStore(opt Options) (*Store, error) {
	opt, err := opt.filled()
	if err != nil {
		return nil, err
	}
	return &Store{opt: opt}, nil
}

// AddDark takes a dark spectrum: the detector without light. Its values are copied.
func (s *Store) AddDark(d spectrum.Spectrum) error { return s.add(&s.darks, d, "dark") }

// AddReference takes a reference spectrum: a white tile, or the empty light path. Its values are copied.
func (s *Store) AddReference(r spectrum.Spectrum) error { return s.add(&s.refs, r, "reference") }

func (s *Store) add(to *[]spectrum.Spectrum, x spectrum.Spectrum, what string) error {
	if err := intensities(x, what); err != nil {
		return err
	}
	list := *to
	i := len(list)
	for i > 0 && list[i-1].Time.After(x.Time) {
		i--
	}
	if i == 0 && len(list) >= s.opt.Keep {
		return nil
	}
	x.Values = slices.Clone(x.Values)
	list = slices.Insert(list, i, x)
	if len(list) > s.opt.Keep {
		list = slices.Delete(list, 0, len(list)-s.opt.Keep)
	}
	*to = list
	return nil
}

// Counts returns how many darks and references are kept.
func (s *Store) Counts() (darks, references int) { return len(s.darks), len(s.refs) }

// intensities checks that x is a spectrum of raw intensities that can be computed with.
func intensities(x spectrum.Spectrum, what string) error {
	switch {
	case x.Axis == nil || len(x.Values) != x.Axis.Len():
		return fmt.Errorf("the %s %s has %d values and no axis of as many channels", what, x.Name(), len(x.Values))
	case x.Quantity != spectrum.Intensity:
		return fmt.Errorf("the %s %s holds %s; raw intensities are needed", what, x.Name(), x.Quantity)
	case x.Exposure < 0:
		return fmt.Errorf("the %s %s has an integration time of %v", what, x.Name(), x.Exposure)
	}
	if i := OutOfRange(x.Values); i >= 0 {
		return fmt.Errorf("the %s %s: channel %d holds %.6g, which cannot be computed with", what, x.Name(), i+1, x.Values[i])
	}
	return nil
}

// mostLight is the largest value either way that is computed with: above what a counter of 64 bits holds, below what instruments write
// for no value at all, whose squares would leave the range of numbers.
const mostLight = 1e20

// OutOfRange returns the first channel whose value is no number or too large to compute with, or -1.
func OutOfRange(values []float64) int {
	return slices.IndexFunc(values, func(v float64) bool { return !(math.Abs(v) <= mostLight) })
}

// goes reports whether c can be used for x: they have one axis, and no change of lamp or detector lies between them.
func (s *Store) goes(c, x spectrum.Spectrum) bool { return c.Axis.Equal(x.Axis) && !s.parted(c, x) }

// parted reports whether a change of lamp or detector lies between the two.
func (s *Store) parted(c, x spectrum.Spectrum) bool {
	t := s.opt.Since
	return !t.IsZero() && !c.Time.IsZero() && !x.Time.IsZero() && c.Time.Before(t) != x.Time.Before(t)
}

// changed says that none of list, which has some on the axis of x, is of its lamp and detector; nil where that is not the reason.
func (s *Store) changed(list []spectrum.Spectrum, x spectrum.Spectrum, what, measure string) error {
	if !slices.ContainsFunc(list, func(c spectrum.Spectrum) bool { return c.Axis.Equal(x.Axis) && s.parted(c, x) }) {
		return nil
	}
	return fmt.Errorf("no %s spectrum was measured with its lamp and detector, which were changed at %s (since); %s", what,
		s.opt.Since.Format("2006-01-02 15:04 -07:00"), measure)
}

// nearest returns the spectrum of list nearest to x in time for which fits holds, or -1. Of two equally near, the earlier
// one is taken; where x or all others carry no time, the last.
func (s *Store) nearest(list []spectrum.Spectrum, x spectrum.Spectrum, fits func(spectrum.Spectrum) bool) int {
	best, least := -1, time.Duration(math.MaxInt64)
	for i, c := range list {
		if !s.goes(c, x) || !fits(c) {
			continue
		}
		if x.Time.IsZero() || c.Time.IsZero() {
			if least == math.MaxInt64 {
				best = i
			}
			continue
		}
		if d := x.Time.Sub(c.Time).Abs(); d < least {
			best, least = i, d
		}
	}
	return best
}

// stale says so where c was measured too far from x.
func (s *Store) stale(kind finding.Kind, x, c spectrum.Spectrum) []finding.Finding {
	if x.Time.IsZero() || c.Time.IsZero() {
		return nil
	}
	if d := x.Time.Sub(c.Time).Abs(); d > s.opt.Stale {
		return []finding.Finding{finding.Of(kind, c.Name(), d.Hours(), s.opt.Stale.Hours())}
	}
	return nil
}

// Spectra returns what is kept, in order of time, so that it can be kept over a restart and added again. The values are
// the store's own: they are not to be changed.
func (s *Store) Spectra() (darks, references []spectrum.Spectrum) {
	return slices.Clone(s.darks), slices.Clone(s.refs)
}
