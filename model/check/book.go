package check

import (
	"fmt"
	"slices"
	"time"

	"asusual/model/finding"
	"asusual/model/fitness"
	"asusual/model/light"
	"asusual/model/spectrum"
)

// Settings say how a Book checks. The zero value is useful.
type Settings struct {
	Limits   Limits
	Light    light.Options // of the store of darks and references; Keep 0 is 8
	Regions  []Region      // of the 100 % line and the light level; none: Regions of the axis
	Standard *Certificate  // what the standard's certificate says; nil: only repeats are compared
	First    int           // spectra of a role that make its baseline; 0: 5
	Since    time.Time     // when lamp or detector was changed: the checks begin anew with what was measured from then on; zero: never
	Pause    time.Duration // standards further apart than this are no repeats of each other; 0: 15 min
}

const (
	defaultFirst = 5
	defaultPause = 15 * time.Minute
	mostRepeats  = 20
	mostDarks    = 8 // integration times with a baseline of their own
	bookKeep     = 8
)

// A Book follows an instrument through its checks. The first spectra of each role make a baseline, as an instrument is best
// compared with its own past (ASTM E1944 does so); later ones are held against it. It is not safe for concurrent use.
type Book struct {
	State BookState

	set   Settings
	store *light.Store
}

// A BookState is all that a book remembers: kept as JSON, it goes on after a restart as if nothing had happened. The
// zero state is the start.
type BookState struct {
	Began      time.Time           `json:"began,omitzero"` // Settings.Since of the checks; zero: there was none
	From       time.Time           `json:"from,omitzero"`  // of the earliest check since they began; zero: not known, or none yet
	Axis       *spectrum.Axis      `json:"axis,omitempty"` // that all checks so far are on
	Darks      []spectrum.Spectrum `json:"darks,omitempty"`
	References []spectrum.Spectrum `json:"references,omitempty"`
	Dark       []DarkPast          `json:"dark,omitempty"`
	Light      LightPast           `json:"light"`
	Repeats    [][]float64         `json:"repeats,omitempty"` // absorbances of the standard of late
	Repeated   time.Time           `json:"repeated,omitzero"` // when the last one was measured
	Latest     []Result            `json:"latest,omitempty"`  // of every measure, the last
	Stands     fitness.State       `json:"stands,omitempty"`
	Since      time.Time           `json:"since,omitzero"`
}

// A DarkPast is the past of the darks of one integration time.
type DarkPast struct {
	Exposure time.Duration `json:"exposure"`
	N        int           `json:"n"`     // of the first ones
	Level    float64       `json:"level"` // their mean
	Pairs    int           `json:"pairs"`
	Noise    float64       `json:"noise"` // mean square of their noise
	Hot      []int         `json:"hot,omitempty"`
	Last     []float64     `json:"last"`
}

// A LightPast is the past of the references.
type LightPast struct {
	N     int         `json:"n"`
	PerMS bool        `json:"per_ms"`
	Mean  []float64   `json:"mean,omitempty"` // of the first ones, p
	Pairs int         `json:"pairs"`
	Noise []float64   `json:"noise,omitempty"` // mean square of the noise of the first ones, a region
	Dead  []int       `json:"dead,omitempty"`
	Stuck []int       `json:"stuck,omitempty"`
	Last  []float64   `json:"last,omitempty"`
	Rows  [][]float64 `json:"rows,omitempty"` // raw values of late
}

// NewBook returns a book that goes on from a state.
func NewBook(set Settings, state BookState) (*Book, error) {
	var err error
	if set.Limits, err = set.Limits.filled(); err != nil {
		return nil, err
	}
	if set.Standard != nil {
		if err := set.Standard.Validate(); err != nil {
			return nil, err
		}
	}
	for _, r := range set.Regions {
		if !(r.From < r.To) {
			return nil, fmt.Errorf("a region from %g to %g is empty", r.From, r.To)
		}
	}
	if set.First < 0 || set.Pause < 0 {
		return nil, fmt.Errorf("%d first spectra and a pause of %v; neither can be below zero", set.First, set.Pause)
	}
	if set.First == 0 {
		set.First = defaultFirst
	}
	if set.Pause == 0 {
		set.Pause = defaultPause
	}
	if set.Light.Keep == 0 {
		set.Light.Keep = bookKeep
	}
	set.Light.Since = set.Since
	state, measured := state.since(set.Since)
	b := &Book{State: state, set: set}
	if b.store, err = light.NewStore(set.Light); err != nil {
		return nil, err
	}
	if err := b.restore(); err != nil {
		return nil, err
	}
	b.dropBands()
	for _, m := range measured {
		b.Add(m.role, m.spectrum)
	}
	return b, nil
}

// A measured is a spectrum that a book still has from after its checks begin anew.
type measured struct {
	role     Role
	spectrum spectrum.Spectrum
}

// since returns the state of checks that begin anew at a moment, and what of the darks and references at hand they begin with, in order of
// time: a baseline of another lamp or detector says nothing of this one. Where all checks are from after it, they go on.
func (s BookState) since(t time.Time) (BookState, []measured) {
	if t.IsZero() || t.Equal(s.Began) {
		return s, nil
	}
	if !s.From.IsZero() && !t.After(s.From) {
		s.Began = t
		return s, nil
	}
	anew := BookState{Began: t}
	var later []measured
	part := func(role Role, all []spectrum.Spectrum, before *[]spectrum.Spectrum) {
		for _, x := range all {
			if x.Time.Before(t) {
				*before = append(*before, x)
			} else {
				later = append(later, measured{role, x})
			}
		}
	}
	part(Dark, s.Darks, &anew.Darks)
	part(Reference, s.References, &anew.References)
	slices.SortStableFunc(later, func(a, b measured) int { return a.spectrum.Time.Compare(b.spectrum.Time) })
	return anew, later
}

// dropBands drops results of bands that the certificate states no longer: nobody measures them anew.
func (b *Book) dropBands() {
	s := &b.State
	var last time.Time
	s.Latest = slices.DeleteFunc(slices.Clone(s.Latest), func(r Result) bool {
		if r.Time.After(last) {
			last = r.Time
		}
		return r.Measure == BandAt && (b.set.Standard == nil || !slices.ContainsFunc(b.set.Standard.Bands, func(band Band) bool {
			return b.set.Standard.about(band) == r.About
		}))
	})
	if now := b.worst(); now != s.Stands && s.Stands != "" {
		s.Stands, s.Since = now, last
	}
}

// restore fills the store from the state, and checks that the state fits together.
func (b *Book) restore() error {
	s := &b.State
	for _, d := range s.Darks {
		if err := b.store.AddDark(d); err != nil {
			return fmt.Errorf("the state of the checks: %w", err)
		}
	}
	for _, r := range s.References {
		if err := b.store.AddReference(r); err != nil {
			return fmt.Errorf("the state of the checks: %w", err)
		}
	}
	p := 0
	if s.Axis != nil {
		p = s.Axis.Len()
	}
	lengths := append(slices.Clone(s.Repeats), s.Light.Rows...)
	for _, v := range [...][]float64{s.Light.Mean, s.Light.Last} {
		if v != nil {
			lengths = append(lengths, v)
		}
	}
	for _, d := range s.Dark {
		lengths = append(lengths, d.Last)
	}
	for _, v := range lengths {
		if len(v) != p {
			return fmt.Errorf("the state of the checks holds %d values for an axis of %d channels", len(v), p)
		}
	}
	if n := len(s.Light.Noise); s.Axis != nil && n > 0 && n != len(b.regions()) {
		return fmt.Errorf("the state of the checks holds the noise of %d regions, the settings have %d", n, len(b.regions()))
	}
	return nil
}

// Store returns the store of darks and references, from which absorbances of samples are made.
func (b *Book) Store() *light.Store { return b.store }

func (b *Book) regions() []Region {
	if len(b.set.Regions) > 0 {
		return b.set.Regions
	}
	return Regions(b.State.Axis)
}

// Add takes the next spectrum of a role, in order of time, and returns what it tells; nothing of a sample. What cannot be
// checked is a Result that says why.
func (b *Book) Add(role Role, s spectrum.Spectrum) []Result {
	if role == Sample {
		return nil
	}
	if !s.Time.IsZero() && s.Time.Before(b.set.Since) { // for absorbances of then
		_ = b.hold(role, s) // which say what they lack
		return nil
	}
	rs := b.check(role, s)
	for i := range rs {
		rs[i].Time = s.Time
	}
	b.remember(rs, s.Time)
	return rs
}

func (b *Book) check(role Role, s spectrum.Spectrum) []Result {
	st := &b.State
	if s.Axis == nil || len(s.Values) != s.Axis.Len() {
		return []Result{cannot(role.String(), fmt.Sprintf("the %s spectrum has %d values and no axis of as many channels", role, len(s.Values)))}
	}
	if err := b.hold(role, s); err != nil { // also where nothing can be said of the instrument by it
		return []Result{cannot(role.String(), err.Error())}
	}
	if st.Axis == nil {
		st.Axis, st.From = s.Axis, s.Time
	}
	if !st.Axis.Equal(s.Axis) {
		return []Result{cannot(role.String(), fmt.Sprintf("the %s spectrum has %v, the checks so far %v; where its lamp, detector or settings were changed, since under [line.instrument] has the checks begin anew", role, s.Axis, st.Axis))}
	}
	if s.Time.Before(st.From) && !s.Time.IsZero() { // of another folder, such as the morning's darks after the afternoon's references
		st.From = s.Time
	}
	switch role {
	case Dark:
		return b.dark(s)
	case Reference:
		return b.reference(s)
	}
	return b.standard(s)
}

// hold keeps a dark or reference of raw intensities for absorbances.
func (b *Book) hold(role Role, s spectrum.Spectrum) (err error) {
	switch {
	case role == Dark:
		err = b.store.AddDark(s)
	case role == Reference && s.Quantity == spectrum.Intensity:
		err = b.store.AddReference(s)
	}
	b.State.Darks, b.State.References = b.store.Spectra()
	return err
}

// remember keeps the latest result of each measure, and since when the instrument stands as it does.
func (b *Book) remember(rs []Result, at time.Time) {
	s := &b.State
	measured := slices.ContainsFunc(rs, func(r Result) bool { return r.Measure != NotMeasured })
	for _, r := range rs {
		if i := slices.IndexFunc(s.Latest, r.same); i >= 0 {
			s.Latest[i] = r
		} else {
			s.Latest = append(s.Latest, r)
		}
	}
	if measured { // what hindered that check before does so no longer
		s.Latest = slices.DeleteFunc(s.Latest, func(o Result) bool { return o.Measure == NotMeasured && o.Time.Before(at) })
	}
	if now := b.worst(); now != s.Stands {
		s.Stands, s.Since = now, at
	}
}

func (b *Book) worst() fitness.State {
	states := make([]fitness.State, 0, len(b.State.Latest))
	for _, r := range b.State.Latest {
		states = append(states, r.State)
	}
	return Worst(states...)
}

// Instrument says how the instrument stands by its latest checks, since when, and why it is not fit. Without any check it
// is fit, since no time.
func (b *Book) Instrument() (state fitness.State, since time.Time, reasons []finding.Finding) {
	state = b.worst()
	for _, want := range [...]fitness.State{fitness.Bad, fitness.Ageing, ""} {
		for _, r := range b.State.Latest {
			if r.State == want && r.Finding.Kind != "" {
				reasons = append(reasons, r.Finding)
			}
		}
	}
	return state, b.State.Since, reasons
}
