package monitor

import (
	"context"
	"encoding/json"
	"fmt"
	"math"
	"slices"
	"time"

	"asusual/model/check"
	"asusual/model/finding"
	"asusual/model/fitness"
	"asusual/model/intake"
	"asusual/model/spectrum"
	"asusual/monitor/history"
)

// An Instrument says what is made of spectra as an instrument gives them, which are its own, and how single items are gathered.
type Instrument struct {
	Options      intake.Options
	ByBelt       bool               // items are told from the empty belt by the reference's model of it; Options.Empty is then not looked at
	Dark, Bright *spectrum.Spectrum // used for all, without a check; nil: none
	// Before gives the darks, references and standards from elsewhere than the watched folder that are newer than that time, in order
	// of time. It is asked once, at the start, for those that are newer than all that were checked; nil: there are none.
	Before func(ctx context.Context, after time.Time) ([]spectrum.Spectrum, error)
	// Folders are where further ones arrive besides the watched folder while it is watched; none: nowhere.
	Folders []string
}

// keepLights is how many darks and references are at hand where the options do not say: a day of one each quarter of an hour,
// and a state that is written within a moment.
const keepLights = 96

// An own is what the committer knows of the instrument's own spectra.
type own struct {
	in    *intake.Intake
	rules check.Rules
	keeps int // darks and references at hand, at most
	clock clock
	news  bool // the book is another one than history has
	judge Judge
	ref   *Reference // of judge
	items *gathering // nil: every spectrum stands for itself
}

// A book is what history keeps of the checks.
type book struct {
	Newest time.Time       `json:"newest"` // of all that were checked
	State  check.BookState `json:"state"`
}

func loadBook(ctx context.Context, db *history.DB, line string) (b book, ok bool, err error) {
	text, err := db.Book(ctx, line)
	if err != nil || text == nil {
		return b, false, err
	}
	if err := json.Unmarshal(text, &b); err != nil {
		return book{}, false, fmt.Errorf("%s: the checks of line %q: %w", db.Path(), line, err)
	}
	return b, true, nil
}

// Checks returns where the checks of the line's instrument stand; ok is false where history has none.
func Checks(ctx context.Context, db *history.DB, line string) (s check.BookState, ok bool, err error) {
	b, ok, err := loadBook(ctx, db, line)
	return b.State, ok, err
}

// loadOwn takes the checks up where history has them.
func (c *committer) loadOwn(ctx context.Context) error {
	i := c.line.Instrument
	if i == nil {
		return nil
	}
	saved, _, err := loadBook(ctx, c.line.History, c.line.Name)
	if err != nil {
		return err
	}
	pieces, err := savedItems(ctx, c.line)
	if err != nil {
		return err
	}
	opt := i.Options
	if opt.Check.Light.Keep == 0 {
		opt.Check.Light.Keep = keepLights
	}
	if since := opt.Check.Since; since.After(time.Now()) { // a slip, or the lamp is yet to be changed: a baseline that was dropped would not come back
		c.line.Log.Warn("since of the instrument is still to come: its checks go on as before, and begin anew at the first start after it", "since", since)
		opt.Check.Since = saved.State.Began
	}
	k := &own{rules: opt.Rules, items: newGathering(c.line), keeps: opt.Check.Light.Keep}
	if i.ByBelt {
		opt.Empty = k.empty
	}
	if k.items != nil && pieces.Open != nil {
		k.items.last, k.items.written = pieces.Open.To, pieces.Open.To
	}
	if k.in, err = intake.Resume(opt, check.BookState{}, pieces); err != nil {
		return err
	}
	if kept, err := intake.Resume(opt, saved.State, pieces); err == nil {
		k.in = kept
	} else { // as where other regions were set
		c.line.Log.Warn("the instrument's checks begin anew: those of before do not go with the settings", "reason", err)
		saved = book{}
	}
	if now := k.in.Checks().State; !now.Began.Equal(saved.State.Began) {
		k.news = true
		if saved.State.Axis != nil && (now.Axis == nil || !now.From.Equal(saved.State.From)) {
			c.line.Log.Info("the instrument's checks begin anew: lamp or detector was changed, and those of before count no more", "at", now.Began)
		}
	}
	k.clock = resumed(saved.Newest, time.Now())
	for role, s := range map[check.Role]*spectrum.Spectrum{check.Dark: i.Dark, check.Reference: i.Bright} {
		if s == nil || k.has(role, s) {
			continue
		}
		if err := k.in.Keep(role, *s); err != nil {
			return err
		}
	}
	c.own = k
	return nil
}

// atHand returns the darks at hand, or the references.
func (k *own) atHand(role check.Role) []spectrum.Spectrum {
	darks, references := k.in.Checks().Store().Spectra()
	if role == check.Reference {
		return references
	}
	return darks
}

// has reports whether the spectrum is at hand.
func (k *own) has(role check.Role, s *spectrum.Spectrum) bool {
	return slices.ContainsFunc(k.atHand(role), func(o spectrum.Spectrum) bool { return o.Name() == s.Name() && o.Time.Equal(s.Time) })
}

// wants reports whether the spectrum is not at hand and there is room for it: where as many are as may be, none is for an older one.
func (k *own) wants(role check.Role, s *spectrum.Spectrum) bool {
	list := k.atHand(role)
	full := len(list) >= k.keeps && s.Time.Before(list[0].Time)
	return !full && !k.has(role, s)
}

// keep keeps a dark or reference for absorbances, without a check.
func (k *own) keep(role check.Role, s spectrum.Spectrum) error {
	err := k.in.Keep(role, s)
	st := &k.in.Checks().State
	st.Darks, st.References = k.in.Checks().Store().Spectra()
	k.news = true
	return err
}

// before checks what came from elsewhere than the watched folder since the last check. The line is watched without what cannot be read
// or used of it.
func (c *committer) before(ctx context.Context) error {
	if c.own == nil || c.line.Instrument.Before == nil {
		return nil
	}
	newest := c.own.clock.newest
	list, err := c.line.Instrument.Before(ctx, newest)
	if ctx.Err() != nil {
		return ctx.Err()
	}
	if err != nil {
		c.line.Log.Warn("the instrument's own spectra of before cannot be read; the line is watched without them", "reason", err)
	}
	for _, s := range list {
		role := c.own.rules.Of(s)
		if role == check.Sample || !s.Time.After(newest) {
			continue
		}
		if _, err := c.check(role, s, s.Time); err != nil {
			c.line.Log.Warn(cannotBeUsed, "file", s.Name(), "reason", err)
		}
	}
	return nil
}

const cannotBeUsed = "a spectrum of the instrument's own cannot be used"

// check takes a dark, a reference or a standard to its checks, in order of time. One that came after a newer one is only kept for
// absorbances.
func (c *committer) check(role check.Role, s spectrum.Spectrum, written time.Time) (late bool, err error) {
	k := c.own
	late, back := k.clock.take(s.Time, written, time.Now())
	if back > 0 {
		c.line.Log.Warn("the clock was put back; the instrument's checks go on from there", "to", s.Time, "by", back, "file", s.File)
	}
	k.news = true
	if late {
		if role != check.Standard {
			err = k.keep(role, s)
		}
		return true, err
	}
	got, err := k.in.Take(s)
	if err != nil {
		return false, err
	}
	for _, r := range got.Results {
		h := history.Check{Line: c.line.Name, Time: r.Time, Measure: string(r.Measure), About: r.About, Value: r.Value, Unit: r.Unit,
			Ageing: r.Limit.Ageing, Unfit: r.Limit.Unfit, State: string(r.State)}
		if r.State == "" {
			h.Value = math.NaN() // there is none yet
		}
		if r.Finding.Kind != "" {
			h.Reasons = []finding.Finding{r.Finding}
		}
		c.batch.Checks = append(c.batch.Checks, h)
	}
	c.stand()
	return false, nil
}

// stand tells the course how the instrument stands by its checks.
func (c *committer) stand() {
	o := &c.course
	if c.own == nil {
		o.Check("", time.Time{}, nil) // of a configuration that had some
		return
	}
	state, since, why := c.own.in.Checks().Instrument()
	o.Check(state, since, why)
	if len(c.own.in.Checks().State.Latest) == 0 {
		return
	}
	if now := check.Worst(state, o.State.Opinion.State); now != o.instrument {
		switch {
		case o.instrument == "":
		case now == fitness.Fit:
			c.line.Log.Info("the instrument is fit again by its checks", "before", o.instrument, "since", since)
		default:
			c.line.Log.Warn("the instrument is "+string(now)+" by its checks", "before", o.instrument, "since", since, "reasons", said(why))
		}
		o.instrument = now
	}
}

// ready judges a spectrum as the instrument gave it. ok is false for one that is not to be judged: it is noted in the file's entry.
func (t *taking) ready(ctx context.Context, j *history.Judged, p *placed) (ok bool, err error) {
	c, k, s := t.c, t.c.own, *p.raw
	p.raw = nil
	role := k.rules.Of(s)
	if role != check.Sample {
		late, err := c.check(role, s, t.job.written())
		if err != nil {
			c.unusable(j, s, t.job.written(), err.Error())
			return false, nil
		}
		j.Own = append(j.Own, history.Own{Line: c.line.Name, File: s.File, Row: s.Row, Time: s.Time, Received: p.record.Received,
			Role: role.String(), Late: late, Mark: p.record.Mark})
		if s.Time.After(c.newest) {
			c.newest = s.Time
		}
		c.spectra++
		c.status.own++
		return false, nil
	}
	k.by(t.job.ref)
	got, err := k.in.Take(s)
	if err != nil {
		c.unusable(j, s, t.job.written(), err.Error())
		return false, nil
	}
	if k.items != nil {
		return false, t.gathered(ctx, s, p, got)
	}
	*p = place(c.line, k.ref, k.judge, got.Sample, p.record.Mark)
	p.record.Reasons = slices.Concat(p.record.Reasons, got.Findings)
	return true, nil
}

// unusable notes a spectrum that could be read, and of which nothing can be made, among what came then.
func (c *committer) unusable(j *history.Judged, s spectrum.Spectrum, at time.Time, reason string) {
	u := history.Unreadable{Row: s.Row, Reason: reason, Time: at, Received: time.Now()}
	j.Unreadable = append(j.Unreadable, u)
	c.status.unreadable++
	if c.flood.lets(u.Received, s.File, 1) {
		c.line.Log.Warn("unreadable", "file", s.File, "row", u.Row, "reason", u.Reason)
	}
}

// tellOwn adds to the batch where the checks stand.
func (c *committer) tellOwn() (err error) {
	if c.own == nil || !c.own.news {
		return nil
	}
	if c.batch.Book, err = json.Marshal(book{c.own.clock.newest, c.own.in.Checks().State}); err != nil {
		return fmt.Errorf("the instrument's checks: %w", err)
	}
	return nil
}
