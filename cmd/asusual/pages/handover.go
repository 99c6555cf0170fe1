package pages

import (
	"cmp"
	"context"
	"errors"
	"slices"
	"time"

	"asusual/cmd/asusual/shift"
	"asusual/model"
	"asusual/model/verdict"
	"asusual/monitor/history"
	"asusual/report"
	"asusual/report/chart"
)

// A Source is what the reports of one line are made from.
type Source struct {
	History   *history.DB
	Reference *model.Reference // that judges now
	Line      string
	Zone      *time.Location
	Language  *report.Language // of the reports; nil: English
	Card      string           // where the card lies, relative to the report; "" for nowhere
	Now       time.Time        // when the report is written; zero: at the end of the shift
	Kept      time.Duration    // for how long history keeps spectra; zero: for ever
}

// ErrNothing says that history has nothing of a period.
var ErrNothing = errors.New("history has nothing of that time")

// maxFiles is how many files that could not be read are named on a page.
const maxFiles = 50

// Handover returns the report of one shift. ErrNothing is wrapped where neither a spectrum nor an unreadable file of the shift
// is known; the page then says so.
func (s Source) Handover(ctx context.Context, span shift.Span) (report.Handover, error) {
	h := report.Handover{Line: s.Line, Shift: span.Name, From: span.From.In(s.Zone), To: span.To.In(s.Zone), Zone: s.Zone, Language: s.Language, Typical: s.Reference.Picture.Typical}
	q := history.Query{Line: s.Line, From: span.From, To: span.To}
	s.timing(&h)
	day, err := s.read(ctx, q)
	if err != nil {
		return h, err
	}
	h.Reference = s.reference()
	day.name(s.Reference, &h)
	cut, err := s.cut(ctx, span)
	if err != nil {
		return h, err
	}
	if err := s.complete(ctx, q, day, cut, &h); err != nil {
		return h, err
	}
	if err := s.episodes(ctx, q, day, &h); err != nil {
		return h, err
	}
	day.tell(&h)
	if err := s.instrument(ctx, q, day, &h); err != nil {
		return h, err
	}
	if h.Verdict == report.CannotSay && len(h.Reasons) == 0 {
		h.Reasons = day.slow(s.Reference.Limits)
	}
	if err := s.acts(ctx, q, &h); err != nil {
		return h, err
	}
	h.Conditions, h.Findings = day.stays(s.Reference.Limits.Gap), slices.Concat(cut.told(s.Zone), day.oddities(), day.strangers())
	h.Distance = chart.DistancePlot{From: h.From, To: h.To, Readings: day.readings, Gaps: h.Complete.Gaps, Conditions: day.spans(s.Reference.Limits.Gap)}
	s.places(day, &h)
	if err := s.spectrum(ctx, q, &h); err != nil {
		return h, err
	}
	if h.Complete.Received == 0 {
		return h, ErrNothing
	}
	return h, s.against(ctx, span, &h)
}

// places fills in where the spectra lie, unless none was judged by a reference in whose plane usual can be drawn.
func (s Source) places(day *day, h *report.Handover) {
	if len(day.marks) == 0 && len(day.strangers()) > 0 {
		return
	}
	h.Scores = scorePlot(s.Reference, s.Language)
	h.Scores.Period, h.Scores.PeriodName, h.Scores.First, h.Scores.Last = day.marks, s.Language.Say("this.shift"), day.drawn.From, day.drawn.To
	if len(s.Reference.Conditions) > 0 {
		m := conditionMap(s.Reference, s.Language)
		m.Period, m.PeriodName, m.First, m.Last = day.places, s.Language.Say("this.shift"), day.drawn.From, day.drawn.To
		h.Map = &m
	}
}

// instrument fills in how the instrument stands, and why it leaves nothing to be said where it does.
func (s Source) instrument(ctx context.Context, q history.Query, day *day, h *report.Handover) (err error) {
	in, n := &h.Instrument, len(h.Episodes)
	lasts := n > 0 && h.Episodes[n-1].To.IsZero()
	in.State = cmp.Or(day.instrument, "fit")
	if in.State != "fit" && lasts {
		in.Findings = slices.Clone(h.Reasons)
	}
	if err := s.checks(ctx, q, in); err != nil {
		return err
	}
	if in.State != "fit" && len(in.Findings) == 0 { // the history of a version that kept none
		in.Findings = slices.Clone(h.Reasons)
	}
	if h.Verdict == report.CannotSay && !lasts { // of an episode that is over no reason holds
		if h.Reasons = nil; in.State == "unfit" {
			h.Reasons = in.Findings
		}
	}
	in.Since, err = s.since(ctx, day, in.State, in.Since)
	return err
}

// late is from when on after its shift a report is late. A watch writes it two minutes after the end.
const late = 15 * time.Minute

// timing says when the report was written, where that was not soon after the end of the shift.
func (s Source) timing(h *report.Handover) {
	switch {
	case s.Now.IsZero():
	case s.Now.Before(h.To):
		h.Early = s.Now
	case s.Now.Sub(h.To) > late:
		h.Late = s.Now
	}
}

// weekBefore is how far back a shift is compared.
const weekBefore = 7 * 24 * time.Hour

// against compares the shift with the week before it, where history has of both what this reference, or one with the same usual,
// judged.
func (s Source) against(ctx context.Context, span shift.Span, h *report.Handover) error {
	c, err := s.Compare(ctx, [2]string{s.Language.Say("this.shift"), s.Language.Say("period.before")},
		[2]shift.Period{{From: span.From, To: span.To}, {From: span.From.Add(-weekBefore), To: span.From}})
	if errors.Is(err, ErrNothing) {
		return nil
	}
	if err != nil {
		return err
	}
	if c.Verdict != report.CannotSay {
		h.Against = &c
	}
	return nil
}

// acts fills in what became of the alarm during the shift, and of that about its episodes also what came later.
func (s Source) acts(ctx context.Context, q history.Query, h *report.Handover) error {
	from := q.From
	for _, e := range h.Episodes {
		if e.From.Before(from) {
			from = e.From
		}
	}
	for a, err := range s.History.Acts(ctx, history.Query{Line: q.Line, From: from}) {
		if err != nil {
			return err
		}
		ours := slices.ContainsFunc(h.Episodes, func(e report.Episode) bool { return e.From.Equal(a.Episode) })
		if ours || !a.Time.Before(q.From) && a.Time.Before(q.To) {
			h.Acts = append(h.Acts, report.Act{Time: a.Time.In(s.Zone), What: a.Act, Who: a.Who, Why: a.Why, Until: local(a.Until, s.Zone), State: a.State, Refused: a.Refused})
		}
	}
	return nil
}

// local is a time by the clocks of the site; a zero time stays one.
func local(t time.Time, zone *time.Location) time.Time {
	if t.IsZero() {
		return t
	}
	return t.In(zone)
}

// reference says by what was judged.
func (s Source) reference() report.Reference {
	ref, fingerprint := s.Reference, s.Reference.Fingerprint()
	approved := approved(ref, fingerprint)
	return report.Reference{
		Approved: approved, Unapproved: len(approved) == 0,
		Name: ref.Name, Fingerprint: fingerprint, Learned: ref.Learned, Runs: len(ref.Learning.Runs), Hours: ref.Limits.Hours,
		Promise: ref.Limits.Promise.String(), Card: s.Card, Findings: ref.Limits.Findings,
	}
}

// complete fills in what came, what was judged and what was missing.
func (s Source) complete(ctx context.Context, q history.Query, day *day, cut cut, h *report.Handover) error {
	c, err := s.History.Counts(ctx, q, s.Reference.Limits.Gap)
	if err != nil {
		return err
	}
	h.Complete = report.Completeness{Received: c.Received, Judged: c.Judged - c.Unfit, Unfit: c.Unfit, Unreadable: c.Unreadable}
	roles, err := s.History.Roles(ctx, q)
	if err != nil {
		return err
	}
	if of, late, empty := roles[history.OfItem], roles[history.LateOfItem], roles[history.EmptyBelt]; of+late+empty > 0 {
		h.Complete.Items = &report.Items{Spectra: of + late, Empty: empty, Late: late}
	}
	from, end := h.From, h.To
	if !cut.at.IsZero() {
		from = cut.at
	}
	if !h.Early.IsZero() {
		end = h.Early
	}
	h.Complete.Gaps = day.gaps(from, end, c.Gaps, s.Reference.Limits.Gap)
	for u, err := range s.History.Unreadable(ctx, q) {
		if err != nil {
			return err
		}
		if len(h.Complete.Files) < maxFiles {
			h.Complete.Files = append(h.Complete.Files, report.Unreadable{File: u.File, Reason: u.Reason, Time: u.Time, Count: u.Count})
		}
	}
	return nil
}

// episodes fills in the episodes that touch the shift, and the uncharted groups.
func (s Source) episodes(ctx context.Context, q history.Query, day *day, h *report.Handover) error {
	seen, err := s.groups(ctx, q, day, h)
	if err != nil {
		return err
	}
	for e, err := range s.History.Episodes(ctx, q) {
		if err != nil {
			return err
		}
		one := report.Episode{
			From: e.From, To: e.To, ChangedSince: e.ChangedSince, Spectra: e.Spectra, Peak: day.farthest(e.From, e.To), Group: e.Group, Seen: seen[e.Group],
		}
		if err := s.until(ctx, q, &one); err != nil {
			return err
		}
		h.Episodes = append(h.Episodes, one)
		h.Reasons = e.Reasons
	}
	return nil
}

// groups fills in the uncharted groups of the shift, and returns for each where it was seen before.
func (s Source) groups(ctx context.Context, q history.Query, day *day, h *report.Handover) (map[string][]report.Seen, error) {
	known := map[string]history.Group{}
	seen := map[string][]report.Seen{}
	for g, err := range s.History.Groups(ctx, history.Query{Line: q.Line, To: q.To}) {
		if err != nil {
			return nil, err
		}
		known[g.Name] = g
		if g.Seen != "" {
			before := known[g.Seen] // zero times where it is a condition's name
			seen[g.Name] = []report.Seen{{Where: g.Seen, From: before.From, To: before.To}}
		}
		if g.To.Before(q.From) {
			continue
		}
		one := report.Group{Name: g.Name, First: g.From, Last: g.To, Spectra: g.Spectra, Seen: seen[g.Name]}
		if err := s.untilGroup(ctx, q, &one, day.groups[g.Name]); err != nil {
			return nil, err
		}
		s.draw(h, &one, g)
		h.Groups = append(h.Groups, one)
	}
	return seen, nil
}

// spectrum fills in the mean spectrum: of the episodes where there were some, else of all production of the shift.
func (s Source) spectrum(ctx context.Context, q history.Query, h *report.Handover) (err error) {
	name := s.Language.Say("this.shift")
	mean, err := s.mean(ctx, q, nil)
	if err != nil {
		return err
	}
	if len(h.Episodes) > 0 {
		changed, err := s.mean(ctx, q, h.Episodes)
		if err != nil {
			return err
		}
		if changed != nil {
			mean, name = changed, s.Language.Say("while.changed")
		}
	}
	if h.Spectrum, err = spectrumPlot(s.Reference, s.Language, name, mean); err != nil || mean == nil {
		return err
	}
	if len(h.Episodes) > 0 {
		h.Instrument.Looks = looks(s.Reference, s.Language, mean)
	}
	return nil
}

// mean returns the mean absorbance of the spectra of the period that should have been usual, on the axis of the reference, in
// the stretches that touch one of the episodes, where any are given. It is nil where there are none.
func (s Source) mean(ctx context.Context, q history.Query, during []report.Episode) ([]float64, error) {
	var sum []float64
	n := 0
	for m, err := range s.History.Means(ctx, q) {
		if err != nil {
			return nil, err
		}
		if m.Condition != model.Usual && m.Condition != model.Uncharted || !m.Axis.Equal(s.Reference.Axis()) || !touches(m.From, during) {
			continue
		}
		if sum == nil {
			sum = make([]float64, len(m.Values))
		}
		for i, v := range m.Values {
			sum[i] += v * float64(m.Count)
		}
		n += m.Count
	}
	for i := range sum {
		sum[i] /= float64(n)
	}
	return sum, nil
}

func touches(at time.Time, during []report.Episode) bool {
	return len(during) == 0 || slices.ContainsFunc(during, func(e report.Episode) bool {
		return !at.Before(e.From) && (e.To.IsZero() || !at.After(e.To))
	})
}

// ofVerdict turns the word that history keeps into that of reports.
func ofVerdict(word string) report.Verdict {
	v, err := verdict.Parse(word)
	if err != nil {
		return report.CannotSay
	}
	return report.Verdict(v.String())
}
