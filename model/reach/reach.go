package reach

import (
	"encoding/json"
	"fmt"
	"math"
	"slices"
	"time"

	"asusual/model/holdout"
	"asusual/model/limits"
	"asusual/model/runner"
	"asusual/model/spectrum"
)

// A Size is how large a change has to be to be seen, in the unit of its kind; Never where none is large enough.
// It marshals to a number, or to null for Never.
type Size float64

// Never is the size of a change that is not seen however large it is, such as one that the pretreatment takes out.
var Never = Size(math.Inf(1))

// Seen reports whether there is a size that is seen.
func (s Size) Seen() bool { return !math.IsInf(float64(s), 1) }

// MarshalJSON writes a number, or null for Never.
func (s Size) MarshalJSON() ([]byte, error) {
	if !s.Seen() {
		return []byte("null"), nil
	}
	return json.Marshal(float64(s))
}

// UnmarshalJSON reads what MarshalJSON wrote.
func (s *Size) UnmarshalJSON(b []byte) error {
	if string(b) == "null" {
		*s = Never
		return nil
	}
	var v float64
	if err := json.Unmarshal(b, &v); err != nil {
		return err
	}
	if v < 0 {
		return fmt.Errorf("a size of %g is below zero", v)
	}
	*s = Size(v)
	return nil
}

// A Reach says what a reference can see within a number of spectra.
type Reach struct {
	Within int           `json:"within"` // spectra
	Time   time.Duration `json:"time"`   // how long that is at the usual pace; 0 where spectra carry no times
	Share  float64       `json:"share"`  // of the moments at which a change begins, how many it is seen at
	Starts int           `json:"starts"` // moments that it was tried at

	Unit  spectrum.Unit `json:"unit"`
	At    []float64     `json:"at"`    // places of the bands on the axis
	Bands []Curve       `json:"bands"` // from the narrowest on

	Offset Size `json:"offset"` // absorbance, everywhere the same
	Slope  Size `json:"slope"`  // absorbance, at either end of the axis, the other way at the other end
	Scale  Size `json:"scale"`  // share by which all absorbances grow or shrink
	Shift  Size `json:"shift"`  // axis units by which the axis is off
	Noise  Size `json:"noise"`  // absorbance, standard deviation of noise added to every channel
}

// A Curve is the height of the smallest Gaussian band that is seen, at each place.
type Curve struct {
	Width float64 `json:"width"` // full width at half height, in axis units
	Size  []Size  `json:"size"`  // absorbance at the top of the band
}

// Options says what is sought. Its zero value takes the usual.
type Options struct {
	Within int           // spectra; 0: what the slow memory needs, at most half a run
	Share  float64       // 0: 0.9
	Starts int           // moments; 0: 64
	Places int           // places of bands; 0: 40
	Widths []float64     // full widths at half height, in axis units; nil: about a 40th, a 16th and a 6th of the axis
	Each   runner.Runner // nil: one after another
	Seed   uint64        // of the noise
}

func (o Options) filled(axis *spectrum.Axis) (Options, error) {
	if o.Share == 0 {
		o.Share = 0.9
	}
	if o.Starts == 0 {
		o.Starts = 64
	}
	if o.Places == 0 {
		o.Places = 40
	}
	if o.Widths == nil {
		lo, hi := axis.Range()
		for _, part := range []float64{40, 16, 6} {
			o.Widths = append(o.Widths, roundly((hi-lo)/part))
		}
	}
	if !(o.Share > 0 && o.Share < 1) || o.Within < 0 || o.Starts < 1 || o.Places < 1 {
		return o, fmt.Errorf("reach: a share of %g within %d spectra at %d moments and %d places cannot be sought", o.Share, o.Within, o.Starts, o.Places)
	}
	for _, w := range o.Widths {
		if !(w > 0) || math.IsInf(w, 0) {
			return o, fmt.Errorf("reach: a band %g wide cannot be sought", w)
		}
	}
	return o, nil
}

// roundly rounds to one or two digits that people say: 1, 1.5, 2, 3, 5, 7 times a power of ten.
func roundly(v float64) float64 {
	ten := math.Pow(10, math.Floor(math.Log10(v)))
	best := 10 * ten
	for _, d := range []float64{1, 1.5, 2, 3, 5, 7} {
		if math.Abs(math.Log(d*ten/v)) < math.Abs(math.Log(best/v)) {
			best = d * ten
		}
	}
	return best
}

// Measure measures the reach of a reference: s are the known-good spectra, p how holdout placed them, l the limits that were
// learned from p.Tracks. The answer depends on opt.Seed only, not on the runner.
//
// The error says that no run is long enough for a change to begin in it and be seen, or that a changed spectrum
// cannot be pretreated.
func Measure(s holdout.Set, p *holdout.Placed, l *limits.Limits, opt Options) (*Reach, error) {
	opt, err := opt.filled(s.Axis)
	if err != nil {
		return nil, err
	}
	w, err := newWatch(s, p, l, opt)
	if err != nil {
		return nil, err
	}
	r := &Reach{
		Within: w.within, Time: time.Duration(w.within) * l.Every, Share: opt.Share, Starts: len(w.starts),
		Unit: s.Axis.Unit(), At: places(s.Axis, opt.Places),
	}
	changes := r.changes(s.Axis, w.mean, opt)
	if err := w.prepare(changes); err != nil {
		return nil, err
	}
	groups := grouped(changes)
	slices.Reverse(groups) // the changes that are no bands, which take longest, come first
	err = opt.Each.Try(len(groups), func(i int) error {
		t := newTrail(w)
		for _, c := range groups[i] {
			if err := w.seek(c, opt.Share, t); err != nil {
				return err
			}
		}
		return nil
	})
	if err != nil {
		return nil, err
	}
	r.collect(changes)
	return r, nil
}
