package model

import (
	"slices"
	"time"

	"asusual/model/condition"
	"asusual/model/finding"
	"asusual/model/fitness"
	"asusual/model/verdict"
)

// A Course follows a line through time: it takes the judgements of its spectra one after another and says what they
// come to. It is what a watch and a judgement of a folder have in common. It is not safe for concurrent use.
type Course struct {
	State   CourseState
	Longest map[string]time.Duration // stays that the user allows; a condition without one: half as long again as the longest known
	// Grace is how long the line may be on its way out of a named condition: uncharted spectra until then are a transition
	// and no sign of a change. Zero: none are.
	Grace time.Duration
	// Expected says of a condition whether it is expected at a time; one that is not listed may come at any time.
	Expected map[string]func(time.Time) bool
	// Zone has the days that groups are named after; nil: that of the spectra's times.
	Zone *time.Location

	ref    *Reference
	doctor *fitness.Doctor
}

// A CourseState is all that a course remembers: kept as JSON, it goes on after a restart as if nothing had happened.
type CourseState struct {
	Verdict    verdict.State    `json:"verdict"`
	Groups     condition.Groups `json:"groups"`
	Instrument fitness.Trend    `json:"instrument"`
	Stay       Stay             `json:"stay"`
	Transition Transition       `json:"transition"`
	Opinion    fitness.Opinion  `json:"opinion"` // of the instrument, as it was last looked at
	Looked     int              `json:"looked"`  // spectra of production since then

	Checked    fitness.State     `json:"checked,omitempty"` // of the instrument by checks of its own, "" for none
	CheckedWhy []finding.Finding `json:"checked_why,omitempty"`

	Fit      fitness.State     `json:"fit,omitempty"`      // how the instrument stands, by its checks and by spectra of production; "" for not known yet
	FitSince time.Time         `json:"fit_since,omitzero"` // zero: it has been fit from the start
	FitWhy   []finding.Finding `json:"fit_why,omitempty"`  // why it is not fit

	Stands  verdict.Verdict   `json:"stands"` // the verdict, the instrument considered
	Since   time.Time         `json:"since"`
	Reasons []finding.Finding `json:"reasons,omitempty"`
	Group   string            `json:"group,omitempty"` // of the open episode
}

// NewCourse returns a course over the reference that begins in the given state; the zero state is the start of a watch.
func NewCourse(r *Reference, s CourseState) *Course {
	return &Course{State: s, ref: r, doctor: fitness.NewDoctor(r.Instrument, r.Axis())}
}

// A Turn is what one spectrum led to.
type Turn struct {
	Verdict    verdict.Verdict   // as it stands, the instrument considered
	Since      time.Time         // when this verdict began to stand
	Reasons    []finding.Finding // why it cannot be said, or what the change looks like
	Instrument fitness.State
	Named      bool              // the spectrum was in a named condition, and not longer than it lasts, or in transition
	Notes      []finding.Finding // of this spectrum: in transition, in a condition outside its times, or in one that has lasted too long
	Group      string            // the uncharted group that it is of, or ""
	Grouped    bool              // it changed the groups or the spectra that may become one
	Begun      *condition.Group  // the group that this spectrum made, if it did, without its spots and mean
	Ended      []condition.Group // the groups that had ended before it, complete: what they were is not kept
	Opened     *verdict.Episode  // the episode that it opened, if it did
	Closed     *verdict.Episode  // the episode that ended before it, if one did
}

// lookEvery is how many spectra of production go by between two looks at the instrument while all is as usual; a
// look costs more than a judgement, and an instrument does not change from one spectrum to the next.
const lookEvery = 10

// Add takes the judgement of the next spectrum, in order of time. raw is its absorbance on the axis of the reference,
// as Judger.Absorbance gives it; it is not kept.
func (c *Course) Add(at time.Time, d *Judgement, raw []float64) Turn {
	s := &c.State
	s.Stay.follow(d.Condition, at, c.ref.Limits.Gap)
	known, over := s.Stay.over(c.ref.Conditions, c.Longest)
	place := d.Condition
	var notes []finding.Finding
	if over {
		s.Transition = Transition{} // what does not pass is not passing
		if place == s.Stay.Condition {
			place = Uncharted
			notes = []finding.Finding{s.Stay.overstays(known)}
		}
	}
	if s.Stay.untimely(place, at, c.Expected) {
		notes = []finding.Finding{finding.Of(finding.Untimely, place)}
	}
	if s.Transition.follow(place, &s.Stay, at, c.Grace) {
		place = InTransition
		notes = []finding.Finding{finding.Of(finding.InTransition, s.Transition.From)}
	}
	step := s.Verdict.Add(c.ref.Limits, verdict.Observation{Time: at, Features: d.Features, Distance: d.Distance, Condition: place})
	t := Turn{Named: step.Named, Notes: notes, Opened: step.Opened, Closed: step.Closed}
	if t.Closed != nil {
		t.Closed.Group, s.Group = s.Group, ""
	}
	if place == Uncharted {
		in := ""
		if over {
			in = d.Condition
		}
		c.group(&t, d.Signature, raw, at, in)
	}
	if t.Opened != nil {
		t.Opened.Group = s.Group
		if over {
			t.Opened.ChangedSince = s.Stay.From
			s.Verdict.Open.ChangedSince = s.Stay.From
		}
	}
	if place == Usual || place == Uncharted {
		c.doctor.Add(&s.Instrument, raw)
		s.Looked++
	}
	c.look(step.Verdict == verdict.Changed, t.Opened != nil || t.Closed != nil)
	c.stand(&t, step, at)
	if over {
		t.Reasons = append(slices.Clone(t.Reasons), s.Stay.overstays(known))
		s.Reasons = t.Reasons
	}
	return t
}

// Check takes what the instrument's own checks say of it, by dark, reference and standard spectra, since when, and why. It stands until
// the next: by an instrument that is unfit by its checks nothing can be said of the process.
func (c *Course) Check(state fitness.State, since time.Time, why []finding.Finding) {
	s := &c.State
	s.Checked, s.CheckedWhy = state, why
	if now := s.worse(s.Opinion.State); now != "" {
		s.fits(now, since, nil)
	}
}

// worse is the worse one of two: how the instrument stands by its checks, and by another measure.
func (s *CourseState) worse(other fitness.State) fitness.State {
	if s.Checked == fitness.Bad || s.Checked != "" && other != fitness.Bad && other != fitness.Ageing {
		return s.Checked
	}
	return other
}

// fits notes how the instrument stands from now on, and one more reason than checks and production gave.
func (s *CourseState) fits(now fitness.State, at time.Time, more []finding.Finding) {
	if now != s.Fit && (s.Fit != "" || now != fitness.Fit) {
		s.FitSince = at
	}
	s.Fit, s.FitWhy = now, nil
	if s.Checked == fitness.Bad || s.Checked == fitness.Ageing {
		s.FitWhy = slices.Clone(s.CheckedWhy)
	}
	s.FitWhy = append(append(s.FitWhy, s.Opinion.Reasons...), more...)
}

// Production says how the instrument stands by the spectra of production alone, and why.
func (s *CourseState) Production() (fitness.State, []finding.Finding) {
	for _, f := range s.FitWhy {
		if f.Kind == finding.MostUnfit {
			return fitness.Bad, append(slices.Clone(s.Opinion.Reasons), f)
		}
	}
	return s.Opinion.State, s.Opinion.Reasons
}

// group finds out which group an uncharted spectrum is of, and notes the condition that a new group lies in, where a stay
// there has lasted too long. While an episode is open, its group is the latest one.
func (c *Course) group(t *Turn, signature, raw []float64, at time.Time, in string) {
	if c.Zone != nil {
		at = at.In(c.Zone)
	}
	t.Grouped, t.Ended = true, c.State.Groups.Close(at)
	g, begun := c.State.Groups.Add(signature, raw, at)
	if g == nil {
		return
	}
	t.Group, c.State.Group = g.Name, g.Name
	if begun {
		if g.Seen == "" && in != Uncharted {
			g.Seen = in
		}
		now := *g // the group itself goes on growing
		now.Spots, now.Mean = nil, nil
		t.Begun = &now
	}
}

// look has the instrument looked at where it is time.
func (c *Course) look(changed, now bool) {
	s := &c.State
	if !now && s.Looked < lookEvery && s.Opinion.State != "" {
		return
	}
	s.Looked = 0
	s.Opinion = c.doctor.Look(&s.Instrument, changed)
}

// slow says that spectra come more slowly than the reference knows runs to go on, where they do.
func (c *Course) slow() []finding.Finding {
	pause, ok := c.State.Verdict.TooSlow()
	if !ok {
		return nil
	}
	l := c.ref.Limits
	return []finding.Finding{finding.Of(finding.TooSlow, "", pause.Seconds(), l.Gap.Seconds(), l.Every.Seconds())}
}

// stand says the verdict. What an unfit instrument shows is no sign of anything: neither that the process has changed, nor that it has not.
func (c *Course) stand(t *Turn, step verdict.Step, at time.Time) {
	s := &c.State
	if at.IsZero() {
		at = s.Verdict.Last
	}
	v, since := step.Verdict, step.Since
	t.Instrument, t.Reasons = s.worse(s.Opinion.State), s.Opinion.Hint
	var more []finding.Finding
	switch {
	case v == verdict.CannotSay && s.Verdict.Unfit > 0.5:
		more = []finding.Finding{finding.Of(finding.MostUnfit, "")}
		t.Instrument, t.Reasons = fitness.Bad, more
	case s.Checked == fitness.Bad:
		v, since, t.Reasons = verdict.CannotSay, time.Time{}, s.CheckedWhy
	case s.Opinion.State == fitness.Bad:
		v, since, t.Reasons = verdict.CannotSay, time.Time{}, s.Opinion.Reasons
	case v == verdict.CannotSay:
		t.Reasons = append(slices.Clone(t.Reasons), c.slow()...)
	}
	if t.Instrument != "" {
		s.fits(t.Instrument, at, more)
	}
	if v != s.Stands || s.Since.IsZero() {
		s.Stands, s.Since = v, at
		if !since.IsZero() && v != verdict.AsUsual { // which it may have been before the instrument could tell
			s.Since = since
		}
	}
	s.Reasons = t.Reasons
	t.Verdict, t.Since = s.Stands, s.Since
}
