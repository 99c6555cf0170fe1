package monitor

import (
	"context"
	"encoding/json"
	"fmt"
	"maps"
	"slices"
	"strings"
	"time"

	"asusual/model"
	"asusual/model/condition"
	"asusual/model/finding"
	"asusual/model/fitness"
	"asusual/model/verdict"
	"asusual/monitor/history"
)

// A course is what the committer knows of the line over time, and what of it history does not know yet.
type course struct {
	*model.Course
	open       *history.Episode     // that lasts, as it was last told
	groups     map[string]time.Time // met in the batch, and the beginning of the episode that they were met in
	past       past                 // that history has
	moved      bool                 // the groups that go on are others than history has
	news       bool                 // the verdict is another one than history has
	told       verdict.Verdict      // that history has
	instrument fitness.State        // of the last spectrum
	opined     opined               // what production told of the instrument, as history has it
	untimely   string               // the condition outside its times that the log has been told of
}

// A past tells whether the closed groups are others than before: one is only ever added at the end.
type past struct {
	n    int
	last *condition.Group
}

func pastOf(closed []*condition.Group) past {
	if n := len(closed); n > 0 {
		return past{n, closed[n-1]}
	}
	return past{}
}

// kept notes that history has all of it.
func (c *course) kept() {
	clear(c.groups)
	c.news, c.moved = false, false
	c.told, c.past = c.State.Stands, pastOf(c.State.Groups.Closed)
}

// restore takes the course up where history has it.
func (c *committer) restore(ctx context.Context) error {
	ref, err := c.line.References.Current()
	if err != nil {
		return err
	}
	saved, err := c.line.History.State(ctx, c.line.Name)
	if err != nil {
		return err
	}
	var s model.CourseState
	for _, part := range []struct {
		text []byte
		into any
	}{{saved.Course, &s}, {saved.Groups, &s.Groups}, {saved.Past, &s.Groups.Closed}} {
		if part.text == nil {
			continue
		}
		if err := json.Unmarshal(part.text, part.into); err != nil {
			return fmt.Errorf("%s: the state of line %q: %w", c.line.History.Path(), c.line.Name, err)
		}
	}
	c.course.groups = map[string]time.Time{}
	c.begin(ref.Model, s)
	c.course.kept()
	c.course.moved = saved.Groups == nil // as an older version keeps them
	if c.own == nil {
		c.course.instrument = s.Opinion.State
	}
	c.course.opined.state, c.course.opined.why = s.Production()
	c.clock = resumed(saved.Newest, time.Now())
	if saved.Course == nil {
		return nil
	}
	// Only the name of it: judging goes on with the one in force.
	c.ref = &Reference{Fingerprint: saved.Reference, Basis: saved.Basis, Model: ref.Model}
	if s.Verdict.Open == nil {
		return nil
	}
	for e, err := range c.line.History.Episodes(ctx, history.Query{Line: c.line.Name, From: s.Verdict.Open.From}) {
		if err != nil {
			return err
		}
		if e.To.IsZero() {
			c.course.open = &e
		}
	}
	return nil
}

// begin follows the line over the reference from a state on.
func (c *committer) begin(ref *model.Reference, s model.CourseState) {
	c.course.Course = model.NewCourse(ref, s)
	c.course.Longest, c.course.Grace, c.course.Expected = c.line.Longest, c.line.Grace, c.line.Expected
	c.course.Zone = c.line.Read.Zone
	c.unborne(ref)
	c.stand()
}

// unborne warns of conditions of which something is stated, and which the reference does not know: a slip of the pen has no effect.
func (c *committer) unborne(ref *model.Reference) {
	var none, known []string
	for _, k := range ref.Conditions {
		known = append(known, k.Name)
	}
	for _, name := range slices.Concat(slices.Sorted(maps.Keys(c.line.Longest)), slices.Sorted(maps.Keys(c.line.Expected))) {
		if !slices.Contains(known, name) && !slices.Contains(none, name) {
			none = append(none, name)
		}
	}
	text := strings.Join(none, ", ")
	if text != "" && text != c.warned {
		c.line.Log.Warn("a condition of the configuration is not known to the reference, and what is stated of it has no effect", "conditions", text, "known", strings.Join(known, ", "))
	}
	c.warned = text
}

// use puts the reference in force that judged what comes next. The course goes on where it describes usual as the one before
// did, as when a condition was named; with any other, it starts anew.
func (c *committer) use(ref *Reference, at time.Time) {
	before := c.ref
	c.ref = ref
	switch {
	case before == ref:
		return
	case before == nil:
		c.begin(ref.Model, model.CourseState{})
	case before.Fingerprint == ref.Fingerprint:
		c.begin(ref.Model, c.course.State)
		return
	case before.Basis == ref.Basis && ref.Basis != "":
		c.begin(ref.Model, c.course.State)
		c.line.Log.Info("the reference is a new version of the one before; the verdict goes on", "fingerprint", ref.Fingerprint)
	default:
		c.ref = before // whose spectra the groups hold
		c.cut()
		c.ref = ref
		// Groups of another reference lie elsewhere; only their names are not to be given again.
		names := condition.Groups{Day: c.course.State.Groups.Day, Letter: c.course.State.Groups.Letter}
		c.begin(ref.Model, model.CourseState{Groups: names})
		c.course.moved = true
	}
	if at.Before(c.clock.newest) { // it is a late spectrum that shows it
		at = c.clock.newest
	}
	c.batch.Reference = &history.Reference{Line: c.line.Name, Since: at, Fingerprint: ref.Fingerprint, Name: ref.Model.Name}
}

// cut ends the episode that lasts, since what comes next is judged by another reference.
func (c *committer) cut() {
	c.tellGroups()
	if c.course.open == nil {
		return
	}
	e := c.episode(*c.course.State.Verdict.SoFar())
	e.To = c.course.State.Verdict.Open.To
	c.batch.Episodes = append(c.batch.Episodes, e)
	c.line.Log.Info("the episode ends: another reference is in force", "from", e.From)
	c.course.open = nil
}

// follow lets a spectrum take part in the course, unless it is late.
func (c *committer) follow(p *placed, written time.Time) {
	r, o := &p.record, &c.course
	late, back := c.clock.take(r.Time, written, time.Now())
	if back > 0 {
		c.line.Log.Warn("the clock was put back; the verdict goes on from there", "to", r.Time, "by", back, "file", r.File)
	}
	if late {
		r.Late = true
		r.Verdict, r.Instrument = o.State.Stands.String(), string(o.instrument)
		return
	}
	turn := o.Add(r.Time, &p.judgement, p.absorbance)
	r.Verdict, r.Group, r.Instrument = turn.Verdict.String(), turn.Group, string(turn.Instrument)
	r.Reasons = append(r.Reasons, turn.Notes...)
	if turn.Closed != nil {
		e := c.episode(*turn.Closed)
		e.To = turn.Closed.To
		c.batch.Episodes = append(c.batch.Episodes, e)
		o.open = nil
		c.line.Log.Info("the episode is over", "from", e.From, "to", e.To, "spectra", e.Spectra)
	}
	if turn.Opened != nil {
		o.open = &history.Episode{Reference: r.Reference}
		what := "the process has changed"
		if turn.Verdict == verdict.CannotSay {
			what = "spectra are not as usual; whether the process has changed cannot be said"
		}
		c.line.Log.Warn(what, "since", turn.Opened.ChangedSince, "from", turn.Opened.From, "group", turn.Opened.Group, "file", r.File)
	}
	c.note(&turn)
	c.opine(r.Time)
	var episode time.Time
	if o.State.Verdict.Open != nil {
		episode = o.State.Verdict.Open.From
	}
	c.acted(c.alarm.observe(turn.Verdict, episode, c.line.Now()))
	if turn.Verdict != o.told {
		o.news = true
	}
}

// note keeps what a turn says of the open episode, of groups and of the instrument.
func (c *committer) note(turn *model.Turn) {
	o := &c.course
	if o.open != nil {
		o.open.Instrument = string(turn.Instrument)
		if len(turn.Reasons) > 0 {
			o.open.Reasons = turn.Reasons
		}
	}
	o.moved = o.moved || turn.Grouped
	for _, g := range turn.Ended {
		if episode, met := o.groups[g.Name]; met { // in this batch: history does not know all of it
			c.batch.Groups = append(c.batch.Groups, c.groupOf(&g, episode))
			delete(o.groups, g.Name)
		}
	}
	if turn.Opened != nil && turn.Opened.Group != "" {
		o.groups[turn.Opened.Group] = turn.Opened.From
	}
	if turn.Group != "" {
		var episode time.Time
		if open := o.State.Verdict.Open; open != nil {
			episode = open.From
		}
		if was := o.groups[turn.Group]; episode.After(was) || was.IsZero() {
			o.groups[turn.Group] = episode
		}
	}
	if turn.Begun != nil {
		c.line.Log.Warn("uncharted spectra lie together", "group", turn.Begun.Name, "since", turn.Begun.From, "seen before", turn.Begun.Seen)
	}
	untimely := ""
	for _, f := range turn.Notes {
		if f.Kind == finding.Untimely {
			untimely = f.About
		}
	}
	if untimely != "" && untimely != o.untimely {
		c.line.Log.Warn("a condition outside its times", "condition", untimely, "at", o.State.Stay.Last)
	}
	o.untimely = untimely
	switch {
	case turn.Instrument == o.instrument || o.instrument == "":
	case turn.Instrument == fitness.Fit:
		c.line.Log.Info("the instrument is fit again", "before", o.instrument)
	default:
		c.line.Log.Warn("the instrument is "+string(turn.Instrument), "before", o.instrument, "reasons", said(o.State.FitWhy))
	}
	o.instrument = turn.Instrument
}

// said returns findings in words, for the log.
func said(fs []finding.Finding) string {
	text := ""
	for i, f := range fs {
		if i > 0 {
			text += "; "
		}
		text += f.String()
	}
	return text
}

// episode returns what history is told of an episode, the open one or that which just ended.
func (c *committer) episode(e verdict.Episode) history.Episode {
	h := history.Episode{Line: c.line.Name, From: e.From, ChangedSince: e.ChangedSince, Spectra: e.Spectra, Peak: e.Peak, Group: e.Group}
	if c.course.open != nil {
		h.Instrument, h.Reasons, h.Reference = c.course.open.Instrument, c.course.open.Reasons, c.course.open.Reference
	}
	return h
}

// tellCourse adds to the batch where the course stands.
func (c *committer) tellCourse() error {
	o := &c.course
	if open := o.State.Verdict.SoFar(); o.open != nil && open != nil {
		e := c.episode(*open)
		e.Group = o.State.Group
		c.batch.Episodes = append(c.batch.Episodes, e)
	}
	c.tellGroups()
	s := o.State
	groups, closed := s.Groups, s.Groups.Closed
	s.Groups, groups.Closed = condition.Groups{}, nil
	text, err := json.Marshal(courseState{&s, c.items()})
	if err != nil {
		return fmt.Errorf("the state of the course: %w", err)
	}
	c.batch.State = history.State{Course: text, Reference: c.ref.Fingerprint, Basis: c.ref.Basis, Newest: c.clock.newest}
	if o.moved {
		if c.batch.State.Groups, err = json.Marshal(&groups); err != nil {
			return fmt.Errorf("the groups of the course: %w", err)
		}
	}
	if pastOf(closed) != o.past {
		if c.batch.State.Past, err = json.Marshal(closed); err != nil {
			return fmt.Errorf("the groups of the course: %w", err)
		}
	}
	return nil
}

// tellGroups adds to the batch the groups that were met in it and go on.
func (c *committer) tellGroups() {
	for _, name := range slices.Sorted(maps.Keys(c.course.groups)) {
		for _, g := range c.course.State.Groups.Open {
			if g.Name == name {
				c.batch.Groups = append(c.batch.Groups, c.groupOf(g, c.course.groups[name]))
			}
		}
	}
	clear(c.course.groups)
}

// groupOf returns what history is told of a group that was met in the episode that begins then.
func (c *committer) groupOf(g *condition.Group, episode time.Time) history.Group {
	h := history.Group{Line: c.line.Name, Name: g.Name, From: g.From, To: g.To, Spectra: g.Spectra, Seen: g.Seen, Episode: episode}
	if m := g.Mean; m != nil && m.Spectra > 0 {
		h.Mean = &history.Mean{Axis: c.ref.Model.Axis(), Count: m.Spectra, Values: slices.Clone(m.Values)}
	}
	return h
}
