package pages

import (
	"math"
	"slices"
	"testing"
	"time"

	"asusual/model/finding"
	"asusual/monitor/history"
	"asusual/report"
	"asusual/report/chart"
)

var start = time.Date(2026, 11, 25, 6, 0, 0, 0, time.UTC)

// dayOf makes a day of one record a minute, each given as its condition and distance.
func dayOf(records ...history.Record) *day {
	d := &day{zone: time.UTC, verdict: report.CannotSay}
	for i, r := range records {
		r.Time = start.Add(time.Duration(i) * time.Minute)
		r.Inside = r.Distance <= 1 && r.Condition == "usual"
		d.add(r)
	}
	return d
}

func usual(distance float64) history.Record {
	return history.Record{Condition: "usual", Distance: distance, Verdict: "as usual", Scores: []float64{1, 2}}
}

func named(condition string) history.Record {
	return history.Record{Condition: condition, Distance: 40, Verdict: "cannot say", Scores: []float64{9, 9}}
}

func TestTheVerdictIsThatOfTheLastProduction(t *testing.T) {
	changed := usual(3)
	changed.Condition, changed.Verdict = "uncharted", "the process has changed"
	late := usual(0.5)
	late.Late = true
	muted := usual(0.5)
	muted.Verdict, muted.Instrument = "cannot say", "unfit"
	lost := dead("cannot say", "unfit")
	lost.Late = true
	for _, c := range []struct {
		what string
		day  *day
		want report.Verdict
	}{
		{"nothing", dayOf(), report.CannotSay},
		{"usual", dayOf(usual(0.5), usual(0.6)), report.AsUsual},
		{"changed", dayOf(usual(0.5), changed), report.Changed},
		{"changed, then a rinse", dayOf(usual(0.5), changed, named("rinse"), named("air")), report.Changed},
		{"changed, then one that came late", dayOf(usual(0.5), changed, late), report.Changed},
		{"unfit only", dayOf(named("unfit")), report.CannotSay},
		{"usual, then a few unfit", dayOf(usual(0.5), dead("as usual", "fit")), report.AsUsual},
		{"usual, then unfit", dayOf(usual(0.5), dead("as usual", "fit"), dead("cannot say", "unfit")), report.CannotSay},
		{"usual, then unfit, then usual", dayOf(usual(0.5), dead("cannot say", "unfit"), usual(0.5)), report.AsUsual},
		{"usual, then usual and unfit by turns", dayOf(usual(0.5), muted, dead("cannot say", "unfit"), muted), report.CannotSay},
		{"usual, then a rinse longer than a pause with one unfit in it", dayOf(usual(0.5), named("rinse"), dead("cannot say", "fit")), report.AsUsual},
		{"usual, then unfit ones that came late", dayOf(usual(0.5), lost), report.AsUsual},
	} {
		if c.day.verdict != c.want {
			t.Errorf("%s: verdict %q, want %q", c.what, c.day.verdict, c.want)
		}
	}
}

// TestTransitionsAreTimeOfTheirOwn: what passes from a condition to the next is neither uncharted nor a named condition.
func TestTransitionsAreTimeOfTheirOwn(t *testing.T) {
	passing := named("uncharted")
	passing.Reasons = []finding.Finding{finding.Of(finding.InTransition, "rinse")}
	d := dayOf(usual(0.5), named("rinse"), named("rinse"), passing, passing, named("uncharted"), usual(0.5))
	want := map[string]int{"usual": 2, "rinse": 2, "transition": 2, "uncharted": 1}
	for _, s := range d.stays(0) {
		if s.Spectra != want[s.Condition] {
			t.Errorf("%s: %d spectra, want %d", s.Condition, s.Spectra, want[s.Condition])
		}
		delete(want, s.Condition)
	}
	if len(want) > 0 {
		t.Errorf("no time in %v", want)
	}
	for _, s := range d.spans(0) {
		if s.Name != "rinse" {
			t.Errorf("the picture has a stretch of %s, want that of the rinse alone", s.Name)
		}
	}
	if d.expected != 3 {
		t.Errorf("%d spectra should have been usual, want 3: two that are and one that is uncharted", d.expected)
	}
}

// TestAStayTooLongIsNoNamedCondition: what lasts longer than its condition may is drawn, counted and told as what it is taken for, a
// change, until the end of the shift and on the calendar as well.
func TestAStayTooLongIsNoNamedCondition(t *testing.T) {
	over := named("rinse")
	over.Reasons, over.Verdict = []finding.Finding{finding.Of(finding.Overstays, "rinse", 3, 2)}, "the process has changed"
	d := dayOf(usual(0.5), named("rinse"), named("rinse"), over, over, over)
	if d.verdict != report.Changed {
		t.Errorf("the verdict at the end is %q, want that the process has changed", d.verdict)
	}
	var kinds []chart.Kind
	for _, r := range d.readings {
		kinds = append(kinds, r.Kind)
	}
	if want := []chart.Kind{chart.Inside, chart.Elsewhere, chart.Elsewhere, chart.Outside, chart.Outside, chart.Outside}; !slices.Equal(kinds, want) {
		t.Errorf("drawn as %v, want %v", kinds, want)
	}
	h := report.Handover{From: start, To: start.Add(6 * time.Minute), Distance: chart.DistancePlot{Readings: d.readings}}
	d.tell(&h)
	if h.Expected != 4 || h.Inside != 1 || h.Last != 40 {
		t.Errorf("tell = %d expected, %d inside, last %g, want 4, 1, 40", h.Expected, h.Inside, h.Last)
	}
	if s := strip(h); s[0] == nil || *s[0] != 0.5 || s[8] != nil || s[24] == nil || *s[24] != 40 {
		t.Errorf("the calendar's picture = %v, want 0.5 at first, nothing in the rinse, 40 once it lasts too long", s)
	}
	rinse := d.stays(time.Hour)[1]
	if rinse.Condition != "rinse" || rinse.Time != 4*time.Minute || rinse.Over != 2*time.Minute || rinse.Times != 1 {
		t.Errorf("the stay = %+v, want one rinse of 4 min, of which 2 are too long", rinse)
	}
	want := []chart.Span{{From: start.Add(time.Minute), To: start.Add(2 * time.Minute), Name: "rinse"}, {From: start.Add(3 * time.Minute), To: start.Add(5 * time.Minute), Name: "rinse", Over: true}}
	if got := d.spans(time.Hour); !slices.Equal(got, want) {
		t.Errorf("the band below the picture = %v, want %v", got, want)
	}
}

// TestAYoungChangeIsMeasuredByItself: a change of the last minutes is not said to lie within the limit because the hour before did.
func TestAYoungChangeIsMeasuredByItself(t *testing.T) {
	var all []history.Record
	for range 50 {
		all = append(all, usual(0.5))
	}
	for range 8 {
		r := usual(3)
		r.Condition, r.Verdict = "uncharted", "the process has changed"
		all = append(all, r)
	}
	began := start.Add(50 * time.Minute)
	h := report.Handover{Episodes: []report.Episode{{From: start.Add(52 * time.Minute), ChangedSince: began}}}
	dayOf(all...).tell(&h)
	if h.Last != 3 || !h.LastFrom.Equal(began) {
		t.Errorf("last = %g from %v, want 3 from %v", h.Last, h.LastFrom, began)
	}
	h.Episodes[0].ChangedSince = start.Add(-3 * time.Hour)
	h.LastFrom = time.Time{}
	if dayOf(all...).tell(&h); h.Last != 0.5 || !h.LastFrom.IsZero() {
		t.Errorf("of an older change: last = %g from %v, want that of the whole hour, 0.5", h.Last, h.LastFrom)
	}
}

// TestSpectraThatCameLateAreCounted: they have no part in the verdict, and the report can say so.
func TestSpectraThatCameLateAreCounted(t *testing.T) {
	late := usual(0.5)
	late.Late = true
	var h report.Handover
	dayOf(late, late, usual(0.5)).tell(&h)
	if h.Overtaken != 2 || h.Expected != 3 || h.Verdict != report.AsUsual {
		t.Errorf("tell = %d overtaken of %d, %q; want 2 of 3, as usual", h.Overtaken, h.Expected, h.Verdict)
	}
}

func TestTellLeavesAStrayOut(t *testing.T) {
	d := dayOf(usual(0.5), usual(0.6), usual(9), usual(0.7), usual(0.6), named("rinse"))
	var h report.Handover
	d.tell(&h)
	if h.Expected != 5 || h.Inside != 4 || h.Last != 0.6 {
		t.Errorf("tell = %d expected, %d inside, last %g, want 5, 4, 0.6", h.Expected, h.Inside, h.Last)
	}
	if h.Peak != 0.7 || !h.PeakAt.Equal(start.Add(2*time.Minute)) {
		t.Errorf("tell: peak %g at %v, want 0.7, the stray at 06:02 left out", h.Peak, h.PeakAt)
	}
}

func TestStaysAndSpans(t *testing.T) {
	d := dayOf(named("rinse"), named("rinse"), usual(0.5), usual(0.5), named("air"), usual(0.5), named("rinse"), named("rinse"), named("rinse"))
	got := d.stays(time.Hour)
	want := []report.Stay{
		{Condition: "usual", Spectra: 3, Times: 2, Time: 3 * time.Minute},
		{Condition: "rinse", Spectra: 5, Times: 2, Time: 4 * time.Minute}, // nothing follows the last spectrum
		{Condition: "air", Spectra: 1, Times: 1, Time: time.Minute},
	}
	if !slices.Equal(got, want) {
		t.Errorf("stays = %+v, want %+v", got, want)
	}
	spans := d.spans(time.Hour)
	if len(spans) != 2 || spans[0].Name != "rinse" || spans[1].From != start.Add(6*time.Minute) || spans[1].To != start.Add(8*time.Minute) {
		t.Errorf("spans = %+v, want the two rinses", spans)
	}
	if pause := d.stays(30 * time.Second); pause[0].Time != 0 {
		t.Errorf("stays with a pause of 30 s = %+v, want no time between spectra a minute apart", pause)
	}
}

func TestStrip(t *testing.T) {
	h := report.Handover{From: start, To: start.Add(48 * time.Minute)}
	h.Distance.Readings = dayOf(usual(0.25), usual(0.123456), named("rinse")).readings
	got := strip(h)
	if len(got) != strips || *got[0] != 0.25 || *got[1] != 0.1235 || got[2] != nil || got[47] != nil {
		t.Errorf("strip = %v, want 0.25, 0.1235 and nothing after it", got[:3])
	}
}

func TestSummaryOfAShiftKeepsWhatIsNotKnown(t *testing.T) {
	one := 0.5
	e := Shelf{Folder: "reports"}.entry("reports/2026-11-25/day/shift.json", summary{Shift: "day", Strip: []*float64{&one, nil}})
	if e.Href != "2026-11-25/day/handover.html" || e.Strip[0] != 0.5 || !math.IsNaN(e.Strip[1]) {
		t.Errorf("entry = %+v, want the page's place, 0.5 and nothing", e)
	}
}

func TestMarksAreDrawnByCondition(t *testing.T) {
	d := dayOf(usual(0.5), usual(1.5), named("rinse"), named("unfit"))
	var kinds []chart.Kind
	for _, m := range d.marks {
		kinds = append(kinds, m.Kind)
	}
	if !slices.Equal(kinds, []chart.Kind{chart.Inside, chart.Outside, chart.Elsewhere}) {
		t.Errorf("marks = %v, want inside, outside, elsewhere, and none for the unfit one", kinds)
	}
}

// Two stays in a rinse at a time at which none is expected are two findings; spectra on the way out of it are no production.
func TestOddities(t *testing.T) {
	odd, passing := named("rinse"), named("uncharted")
	odd.Reasons = []finding.Finding{finding.Of(finding.AboveT2, "", 40, 9), finding.Of(finding.Untimely, "rinse")}
	passing.Reasons = []finding.Finding{finding.Of(finding.InTransition, "rinse")}
	d := dayOf(usual(0.5), named("rinse"), odd, odd, passing, usual(0.5), odd)
	var got []string
	for _, f := range d.oddities() {
		got = append(got, f.String())
	}
	if want := []string{"rinse, 06:02–06:03, outside its times", "rinse, 06:06–06:06, outside its times"}; !slices.Equal(got, want) {
		t.Errorf("oddities = %q, want %q", got, want)
	}
	if d.expected != 2 || d.inside != 2 {
		t.Errorf("%d of %d spectra of production within the limits, want 2 of 2", d.inside, d.expected)
	}
}

func TestGapsAtTheEnds(t *testing.T) {
	at := func(min int) time.Time { return start.Add(time.Duration(min) * time.Minute) }
	d := dayOf(usual(0.5), usual(0.5)) // at 06:00 and 06:01
	for _, c := range []struct {
		what     string
		from, to time.Time
		between  []history.Gap
		want     []chart.Span
	}{
		{"none", start, at(5), nil, nil},
		{"after the last", start, at(60), nil, []chart.Span{{From: at(1), To: at(60)}}},
		{"before the first, and between", at(-30), at(5), []history.Gap{{From: at(2), To: at(40)}}, []chart.Span{{From: at(-30), To: at(0)}, {From: at(2), To: at(40)}}},
	} {
		if got := d.gaps(c.from, c.to, c.between, 10*time.Minute); !slices.Equal(got, c.want) {
			t.Errorf("gaps %s = %v, want %v", c.what, got, c.want)
		}
	}
	if got := dayOf().gaps(start, at(60), nil, 10*time.Minute); len(got) != 1 || got[0].To != at(60) {
		t.Errorf("gaps of nothing = %v, want the whole shift", got)
	}
}

func TestTiming(t *testing.T) {
	end := start.Add(8 * time.Hour)
	for _, c := range []struct {
		now, early, late time.Time
	}{
		{time.Time{}, time.Time{}, time.Time{}},
		{end.Add(2 * time.Minute), time.Time{}, time.Time{}},
		{end.Add(time.Hour), time.Time{}, end.Add(time.Hour)},
		{end.Add(-time.Hour), end.Add(-time.Hour), time.Time{}},
	} {
		h := report.Handover{From: start, To: end}
		Source{Now: c.now}.timing(&h)
		if !h.Early.Equal(c.early) || !h.Late.Equal(c.late) {
			t.Errorf("written at %v: early %v, late %v; want %v, %v", c.now, h.Early, h.Late, c.early, c.late)
		}
	}
}

// A period of many spectra is drawn by some of them, evenly, and counted whole.
func TestManyAreDrawnByFew(t *testing.T) {
	var s side
	for i := range 5 * drawn {
		s.add(history.Record{Condition: "usual", Distance: float64(i) / float64(5*drawn), Inside: true, Time: start.Add(time.Duration(i) * time.Second), Scores: []float64{1, 2}})
	}
	if n := len(s.distances); n < drawn || n > 2*drawn || len(s.marks) != n {
		t.Errorf("%d distances and %d marks are drawn, want %d to %d of both", n, len(s.marks), drawn, 2*drawn)
	}
	if s.produced != 5*drawn || s.inside != s.produced {
		t.Errorf("%d counted, %d of them inside, want all of %d", s.produced, s.inside, 5*drawn)
	}
	if m := median(slices.Clone(s.distances)); !(math.Abs(m-0.5) <= 0.01) {
		t.Errorf("the median of those drawn is %g, want 0.5", m)
	}
}
