package pages

import (
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"asusual/cmd/asusual/shift"
	"asusual/model"
	"asusual/model/finding"
	"asusual/monitor/history"
	"asusual/report"
	"asusual/report/chart"
)

// A bench is a history of Filler 3 that a test fills, and the reference that judges now.
type bench struct {
	t   testing.TB
	src Source
}

// newBench takes a reference that is kept to be read for ever.
func newBench(t testing.TB) *bench {
	t.Helper()
	f, err := os.Open(filepath.Join("..", "..", "..", "model", "testdata", "version-4.reference"))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	ref, err := model.Decode(f)
	if err != nil {
		t.Fatal(err)
	}
	db, err := history.Open(t.Context(), filepath.Join(t.TempDir(), "h"), "test")
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { db.Close() })
	return &bench{t, Source{History: db, Reference: ref, Line: "Filler 3", Zone: time.UTC}}
}

// keep puts a batch into the history, with a record a minute from the given minute of the shift on.
func (b *bench) keep(minute int, batch history.Batch, records ...history.Record) {
	b.t.Helper()
	for i := range records {
		r := &records[i]
		r.Line, r.File, r.Row, r.Mark = "Filler 3", "spectra.csv", minute+i+1, int64(minute+i+1)
		r.Time = start.Add(time.Duration(minute+i) * time.Minute)
		r.Inside = r.Distance <= 1 && r.Condition == "usual"
		if r.Reference == "" {
			r.Reference = b.src.Reference.Fingerprint()
		}
		if r.Instrument == "" {
			r.Instrument = "fit"
		}
	}
	batch.Line = "Filler 3"
	file := history.File{Name: "spectra.csv", Version: minute + 1, Modified: start, Received: start}
	batch.Files = append(batch.Files, history.Judged{File: file, Records: records})
	if err := b.src.History.Append(b.t.Context(), batch); err != nil {
		b.t.Fatal(err)
	}
}

// handover is the report of the first minutes of the shift.
func (b *bench) handover(minutes int) report.Handover {
	b.t.Helper()
	h, err := b.src.Handover(b.t.Context(), shift.Span{Name: "early", From: start, To: start.Add(time.Duration(minutes) * time.Minute)})
	if err != nil {
		b.t.Fatal(err)
	}
	if _, err := h.Render(); err != nil {
		b.t.Fatal(err)
	}
	return h
}

// several is the same record several times.
func several(n int, r history.Record) []history.Record { return slices.Repeat([]history.Record{r}, n) }

// dead is a spectrum that could not be judged, with what the watch said after it.
func dead(verdict, instrument string) history.Record {
	return history.Record{Condition: "unfit", Verdict: verdict, Instrument: instrument, Reasons: []finding.Finding{finding.Of(finding.Flat, "", 0)}}
}

// TestUsualThenUnfit: a shift that ends in spectra that could not be judged cannot be said to have been as usual until its end.
func TestUsualThenUnfit(t *testing.T) {
	b := newBench(t)
	b.keep(0, history.Batch{}, several(60, usual(0.5))...)
	b.keep(60, history.Batch{}, several(6, dead("as usual", "fit"))...)
	most := finding.Of(finding.MostUnfit, "")
	b.keep(66, history.Batch{Checks: []history.Check{{Time: start.Add(66 * time.Minute), Measure: "spectra of production", State: "unfit", Reasons: []finding.Finding{most}}}},
		several(54, dead("cannot say", "unfit"))...)
	h := b.handover(120)
	if h.Verdict != report.CannotSay || !h.Since.Equal(start.Add(66*time.Minute)) {
		t.Errorf("the verdict is %q since %v, want cannot say since 07:06", h.Verdict, h.Since)
	}
	if len(h.Reasons) != 1 || h.Reasons[0].Kind != finding.MostUnfit {
		t.Errorf("why = %v, want that most spectra could not be judged", h.Reasons)
	}
	if in := h.Instrument; in.State != "unfit" || !in.Since.Equal(start.Add(66*time.Minute)) {
		t.Errorf("the instrument is %s since %v, want unfit since 07:06", in.State, in.Since)
	}
	if got := b.handover(60); got.Verdict != report.AsUsual || got.Instrument.State != "fit" {
		t.Errorf("the hour before: %q, instrument %s, want as usual and fit", got.Verdict, got.Instrument.State)
	}
}

// TestReasonsOfAnEpisodeThatIsOver: why nothing can be said at the end of a shift is not what an episode of its morning looked like.
func TestReasonsOfAnEpisodeThatIsOver(t *testing.T) {
	b := newBench(t)
	changed := usual(3)
	changed.Condition, changed.Verdict = "uncharted", "the process has changed"
	episode := history.Episode{From: start, To: start.Add(19 * time.Minute), ChangedSince: start, Spectra: 20, Reasons: []finding.Finding{finding.Of(finding.LikePath, "", 12, 90)},
		Reference: b.src.Reference.Fingerprint()}
	b.keep(0, history.Batch{Episodes: []history.Episode{episode}}, several(20, changed)...)
	b.keep(20, history.Batch{}, several(10, usual(0.5))...)
	muted := usual(0.5)
	muted.Verdict = "cannot say"
	b.keep(30, history.Batch{}, several(5, muted)...)
	h := b.handover(60)
	if h.Verdict != report.CannotSay || len(h.Reasons) != 0 || !h.Since.Equal(start.Add(30*time.Minute)) {
		t.Errorf("the verdict is %q since %v for %v, want cannot say since 06:30, for no reason of the episode's", h.Verdict, h.Since, h.Reasons)
	}
}

// TestTwoReferences: what another reference judged is not drawn over the plane of this one, is counted, and both are named.
func TestTwoReferences(t *testing.T) {
	b := newBench(t)
	now := b.src.Reference.Fingerprint()
	older := usual(0.4)
	older.Reference = "0123456789ab"
	b.keep(0, history.Batch{}, several(30, older)...)
	b.keep(30, history.Batch{}, several(20, usual(0.5))...)
	h := b.handover(60)
	if n := len(h.Scores.Period); n != 20 || len(h.Map.Period) != 20 || h.Scores.First != start.Add(30*time.Minute) {
		t.Errorf("%d marks in the score plot, %d on the map, from %v; want the 20 of this reference, from 06:30", n, len(h.Map.Period), h.Scores.First)
	}
	if len(h.Distance.Readings) != 50 || h.Expected != 50 {
		t.Errorf("%d readings, %d expected, want all 50", len(h.Distance.Readings), h.Expected)
	}
	if r := h.Reference; r.Fingerprint != now || !slices.Equal(r.Before, []string{older.Reference}) || r.Runs == 0 {
		t.Errorf("judged by %+v, want %s and before it %s", r, now, older.Reference)
	}
	want := finding.Of(finding.OtherPlane, older.Reference, 30)
	if len(h.Findings) != 1 || h.Findings[0].String() != want.String() {
		t.Errorf("findings = %v, want %v", h.Findings, want)
	}
	// The part before it: nothing is known of its reference but the fingerprint.
	h = b.handover(30)
	if r := h.Reference; r.Fingerprint != older.Reference || len(r.Before) != 0 || r.Runs != 0 || r.Unapproved || h.Typical != 0 {
		t.Errorf("judged by %+v, typical %g; want %s alone", r, h.Typical, older.Reference)
	}
	if len(h.Scores.Usual) != 0 || h.Map != nil {
		t.Error("usual of another reference is drawn, want no picture")
	}
}

// TestApprovalsOfTheVersionThatJudged: of an earlier version the report says who approved that one, and not who approved, or did not, the
// version of now; of one that was learned anew, whose plane is another, likewise.
func TestApprovalsOfTheVersionThatJudged(t *testing.T) {
	for _, c := range []struct {
		name     string
		known    bool // the version before has the same usual
		who, now string
		want     string
	}{
		{"the one before was approved", true, "Ada", "", "Ada"},
		{"the one of now was approved", true, "", "Bob", ""},
		{"both were", true, "Ada", "Bob", "Ada"},
		{"the one before is a stranger, and was approved", false, "Ada", "Bob", "Ada"},
	} {
		b := newBench(t)
		before := b.src.Reference
		approve := func(r *model.Reference, who string) *model.Reference {
			if who == "" {
				return r
			}
			next, err := r.Approve(who, "seen", start)
			if err != nil {
				t.Fatal(err)
			}
			return next
		}
		next := *approve(before, c.who)
		next.Revisions = append(slices.Clone(next.Revisions), model.Revision{At: start, What: "a version more", Of: before.Fingerprint(), Anew: !c.known})
		b.src.Reference, b.src.Card = approve(&next, c.now), "line-card.html"
		old := usual(0.4)
		old.Reference = before.Fingerprint()
		b.keep(0, history.Batch{}, several(30, old)...)
		b.keep(30, history.Batch{}, several(20, usual(0.5))...)
		r := b.handover(30).Reference
		if got := approvers(r); r.Fingerprint != before.Fingerprint() || got != c.want || r.Unapproved {
			t.Errorf("%s: of %s the report says it was approved by %q, by nobody: %t; want %s, %q, and false", c.name, r.Fingerprint, got, r.Unapproved, before.Fingerprint(), c.want)
		}
		if now := b.handover(60).Reference; r.Card != "" || now.Card != b.src.Card {
			t.Errorf("%s: the card is %q for the version before and %q for that of now; want none and %q, its own", c.name, r.Card, now.Card, b.src.Card)
		}
		if r := b.handover(60).Reference; approvers(r) != c.now || r.Unapproved != (c.now == "") {
			t.Errorf("%s: of the version of now the report says it was approved by %q, by nobody: %t; want %q", c.name, approvers(r), r.Unapproved, c.now)
		}
	}
}

func approvers(r report.Reference) (all string) {
	for _, a := range r.Approved {
		all += a.By
	}
	return all
}

// TestWrittenLate: a report that is written long after its shift counts of an episode and of a group what was of it by then.
func TestWrittenLate(t *testing.T) {
	b := newBench(t)
	changed := usual(3)
	changed.Condition, changed.Verdict, changed.Group = "uncharted", "the process has changed", "group 2026-11-25 A"
	end := start.Add(119 * time.Minute)
	b.keep(0, history.Batch{}, several(30, usual(0.5))...)
	b.keep(30, history.Batch{
		Episodes: []history.Episode{{From: start.Add(30 * time.Minute), To: end, ChangedSince: start.Add(28 * time.Minute), Spectra: 90, Group: changed.Group, Reference: b.src.Reference.Fingerprint()}},
		Groups:   []history.Group{{Name: changed.Group, From: start.Add(30 * time.Minute), To: end, Spectra: 90}},
	}, several(90, changed)...)
	b.keep(120, history.Batch{}, several(30, usual(0.5))...)
	late := usual(0.5)
	late.Late = true
	b.keep(100, history.Batch{}, several(5, late)...) // which the watch did not count
	for _, c := range []struct {
		minutes, spectra int
		to, last         time.Time
	}{
		{60, 30, time.Time{}, start.Add(59 * time.Minute)},
		{150, 90, end, end},
	} {
		h := b.handover(c.minutes)
		if e := h.Episodes[0]; e.Spectra != c.spectra || !e.To.Equal(c.to) {
			t.Errorf("the first %d minutes: the episode has %d spectra and ends at %v, want %d, %v", c.minutes, e.Spectra, e.To, c.spectra, c.to)
		}
		if g := h.Groups[0]; g.Spectra != c.spectra || !g.Last.Equal(c.last) {
			t.Errorf("the first %d minutes: the group has %d spectra, the last at %v, want %d, %v", c.minutes, g.Spectra, g.Last, c.spectra, c.last)
		}
	}
}

// TestUnfitIsNotDrawn: a spectrum that could not be judged lies nowhere, not on the most usual place.
func TestUnfitIsNotDrawn(t *testing.T) {
	d := dayOf(usual(0.5), dead("as usual", "fit"), named("rinse"))
	if got := d.readings[1].Kind; got != chart.Unplaced {
		t.Errorf("the unfit spectrum is of the kind %v, want unplaced", got)
	}
	if s := strip(report.Handover{From: start, To: start.Add(48 * time.Minute), Distance: chart.DistancePlot{Readings: d.readings}}); s[1] != nil {
		t.Errorf("the index shows a distance of %g for it, want none", *s[1])
	}
	if len(d.production()) != 1 {
		t.Errorf("%d spectra of production, want 1", len(d.production()))
	}
}

// TestTooSlowForTheReference: where spectra come so slowly that each is a run of its own, that is why nothing can be said of the shift.
func TestTooSlowForTheReference(t *testing.T) {
	mute := usual(0.5)
	mute.Verdict = "cannot say"
	for _, c := range []struct {
		name    string
		gap     time.Duration
		records []history.Record
		slow    bool
	}{
		{"a spectrum a minute", 40 * time.Second, several(60, mute), true},
		{"at the pace of the reference", 2 * time.Minute, several(8, mute), false},
		{"two spectra", 40 * time.Second, several(2, mute), false},
		{"a rinse between all", 40 * time.Second, slices.Repeat([]history.Record{mute, named("rinse")}, 30), false},
		{"as usual in the end", 40 * time.Second, append(several(30, mute), usual(0.5)), false},
	} {
		b := newBench(t)
		b.src.Reference.Limits.Gap, b.src.Reference.Limits.Every = c.gap, 2*time.Second
		b.keep(0, history.Batch{}, c.records...)
		h := b.handover(60)
		if told := slices.ContainsFunc(h.Reasons, func(f finding.Finding) bool {
			return f.Kind == finding.TooSlow && slices.Equal(f.Values, []float64{60, 40, 2})
		}); told != c.slow || !told && len(h.Reasons) > 0 {
			t.Errorf("%s: %v, told as too slow %v, want %v; %v", c.name, h.Verdict, told, c.slow, h.Reasons)
		}
	}
}

// TestTooSlowInWords: the page tells the pace, in its language.
func TestTooSlowInWords(t *testing.T) {
	for _, c := range []struct {
		language *report.Language
		want     string
	}{{nil, "pauses of 60 s"}, {report.German(), "Pausen von 60 s"}} {
		b := newBench(t)
		b.src.Language = c.language
		b.src.Reference.Limits.Gap, b.src.Reference.Limits.Every = 40*time.Second, 2*time.Second
		mute := usual(0.5)
		mute.Verdict = "cannot say"
		b.keep(0, history.Batch{}, several(60, mute)...)
		page, err := b.handover(60).Render()
		if err != nil {
			t.Fatal(err)
		}
		if !strings.Contains(string(page.HTML), c.want) {
			t.Errorf("the page does not say %q", c.want)
		}
	}
}
