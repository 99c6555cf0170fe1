package main

import (
	"context"
	"errors"
	"slices"
	"sync"
	"time"

	"asusual/cmd/asusual/pages"
	"asusual/model"
	"asusual/model/spectrum"
	"asusual/monitor"
	"asusual/monitor/history"
	"asusual/report/live"
)

// A feed hands what the watch of a line finds to its page. It stands before the references of the line, so that it sees the
// newest spectrum, of which history keeps only means.
type feed struct {
	ctx   context.Context
	page  *livePage
	line  *live.Line
	name  string
	inner monitor.References

	groups []history.Group // these three are of kept alone, which is called once at a time
	asked  time.Time       // for the groups
	group  string          // of the open episode then

	mu         sync.Mutex
	ref, own   *monitor.Reference // as it came, and the same with judges that are listened to
	same       []string           // fingerprints of the versions that have its usual
	last       time.Time          // of the spectra that took part in the verdict
	newest     time.Time          // of the spectra judged
	absorbance []float64          // of the newest
}

var _ monitor.References = (*feed)(nil)

// Current returns the reference in force, and tells the page of a new one.
func (f *feed) Current() (*monitor.Reference, error) {
	ref, err := f.inner.Current()
	if err != nil {
		return nil, err
	}
	f.mu.Lock()
	defer f.mu.Unlock()
	if ref != f.ref {
		own := *ref
		own.NewJudge = func() monitor.Judge { return &overheard{ref.NewJudge(), f} }
		f.ref, f.own, f.absorbance, f.same = ref, &own, nil, ref.Model.SameUsual()
		f.line.Know(pages.Usual(ref.Model))
	}
	return f.own, nil
}

// An overheard is a judge whose newest spectrum the feed keeps.
type overheard struct {
	judge monitor.Judge
	feed  *feed
}

// Judge has the spectrum judged.
func (o *overheard) Judge(d *model.Judgement, s spectrum.Spectrum) {
	o.judge.Judge(d, s)
	o.feed.mu.Lock()
	defer o.feed.mu.Unlock()
	if d.Condition != model.Unfit && !s.Time.Before(o.feed.newest) {
		o.feed.newest, o.feed.absorbance = s.Time, append(o.feed.absorbance[:0:0], o.judge.Absorbance()...)
	}
}

// Absorbance returns that of the last spectrum judged.
func (o *overheard) Absorbance() []float64 { return o.judge.Absorbance() }

// judged tells the page of a spectrum. One that an earlier reference judged lies in another plane.
func (f *feed) judged(r history.Record) {
	f.mu.Lock()
	var absorbance []float64
	if r.Time.Equal(f.newest) {
		absorbance = f.absorbance
	}
	if !r.Late {
		if r.Time.Before(f.last) { // the clock was put back: the next is the newest
			f.newest = r.Time
		}
		f.last = r.Time
	}
	same := slices.Contains(f.same, r.Reference)
	f.mu.Unlock()
	if same {
		f.line.Add(pages.Reading(r, absorbance))
	}
}

// groupsEvery is how often the groups of a line are looked up, and groupsSince how far back.
const (
	groupsEvery = 15 * time.Second
	groupsSince = 7 * 24 * time.Hour
)

// kept tells the page how the line stands. No lock is held meanwhile: judging goes on while history is asked.
func (f *feed) kept(s monitor.Status) {
	if now := time.Now(); now.Sub(f.asked) >= groupsEvery || s.Group != f.group {
		f.asked, f.group, f.groups = now, s.Group, nil
		for g, err := range f.page.db.Groups(f.ctx, history.Query{Line: f.name, From: s.LastSpectrum.Add(-groupsSince)}) {
			if err != nil {
				if !errors.Is(err, context.Canceled) {
					f.page.log.Warn("the live page cannot show the groups", "line", f.name, "reason", err)
				}
				break
			}
			f.groups = append(f.groups, g)
		}
	}
	f.line.Set(pages.Standing(s.At(time.Now()), f.groups))
}
