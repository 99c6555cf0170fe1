package monitor_test

import (
	"context"
	"errors"
	"fmt"
	"math"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"

	"asusual/model/check"
	"asusual/model/finding"
	"asusual/model/fitness"
	"asusual/model/intake"
	"asusual/model/light"
	"asusual/model/oatline"
	"asusual/model/spectrum"
	"asusual/monitor"
	"asusual/monitor/history"
)

var ownRules = check.Rules{{Role: check.Dark, Name: "dark*"}, {Role: check.Reference, Name: "white*"}, {Role: check.Standard, Name: "std*"}}

// A step is one file of a folder of raw intensities.
type step struct {
	name string
	at   time.Time
	text []byte
}

// counts is a file of raw counts of a spectrum under a lamp; nil absorbances are all of the light, no lamp is the dark.
func counts(name string, axis *spectrum.Axis, at time.Time, lamp float64, absorbance []float64) step {
	var b strings.Builder
	fmt.Fprintf(&b, "# time: %s\n# axis: nm\n# quantity: intensity\n", at.Format(time.RFC3339))
	for i := range axis.Len() {
		a := 0.0
		if absorbance != nil {
			a = absorbance[i]
		}
		noise := float64((i*7+at.Minute()*13)%5) / 4
		fmt.Fprintf(&b, "%g,%.2f\n", axis.At(i), 500+noise+lamp*40000*math.Pow(10, -a))
	}
	return step{name + at.Format("20060102-150405") + ".csv", at, []byte(b.String())}
}

// rawDay is a day of raw counts: a dark and a reference every twelve minutes, and after the first half a lamp that falls and a
// product that is diluted.
func rawDay(t testing.TB, n int) (steps []step, spectra []spectrum.Spectrum) {
	return rawOf(produced(t, n, oatline.Upset{Kind: oatline.Dilution, After: time.Duration(n/2) * time.Minute}))
}

// rawOf is a day of those spectra, whose lamp falls at half of it.
func rawOf(spectra []spectrum.Spectrum) (steps []step, _ []spectrum.Spectrum) {
	n, lamp := len(spectra), 1.0
	for i, s := range spectra {
		if i >= n/2 {
			lamp = 0.3
		}
		if i%12 == 0 {
			steps = append(steps, counts("dark", s.Axis, s.Time.Add(-20*time.Second), 0, nil), counts("white", s.Axis, s.Time.Add(-10*time.Second), lamp, nil))
		}
		steps = append(steps, counts("", s.Axis, s.Time, lamp, s.Values))
	}
	return steps, spectra
}

func (b *bench) withOwn() monitor.Line {
	l := b.line()
	l.Instrument = &monitor.Instrument{Options: intake.Options{Rules: ownRules, Check: check.Settings{First: 2}}}
	return l
}

func (b *bench) pass(line monitor.Line) {
	b.t.Helper()
	if err := monitor.CatchUp(b.t.Context(), line); err != nil {
		b.t.Fatalf("CatchUp = %v, want nil", err)
	}
}

func (b *bench) state() check.BookState {
	b.t.Helper()
	s, ok, err := monitor.Checks(context.Background(), b.db, "Filler 3")
	if err != nil || !ok {
		b.t.Fatalf("Checks = %v, %v, want the state", ok, err)
	}
	return s
}

// TestOwnSpectra: darks and references are checked and are no production, samples are judged as absorbances, and an instrument that
// is unfit cannot tell that the process has changed. A watch that stops after every few files comes to the very same.
func TestOwnSpectra(t *testing.T) {
	const n = 240
	steps, spectra := rawDay(t, n)
	whole, parts := newBench(t), newBench(t)
	for _, s := range steps {
		whole.put(s.name, s.text, s.at)
	}
	whole.pass(whole.withOwn())
	for part := range slices.Chunk(steps, 17) {
		for _, s := range part {
			parts.put(s.name, s.text, s.at)
		}
		parts.pass(parts.withOwn())
	}
	whole.expect("after one pass", spectra)
	records := whole.records()
	c := whole.counts()
	if c.Own != 2*n/12 || c.Unreadable != 0 || c.Judged != n {
		t.Errorf("Counts = %+v, want %d of the instrument's own and %d judged", c, 2*n/12, n)
	}
	if r := records[n/2-1]; r.Verdict != "as usual" || r.Instrument != "fit" {
		t.Errorf("before the lamp fell: %s, instrument %s, want as usual and fit", r.Verdict, r.Instrument)
	}
	if r := records[n-1]; r.Verdict != "cannot say" || r.Instrument != "unfit" {
		t.Errorf("after the lamp fell: %s, instrument %s, want cannot say and unfit", r.Verdict, r.Instrument)
	}
	if e := all(t, whole.db.Episodes(t.Context(), everything)); len(e) != 1 || len(e[0].Reasons) == 0 || e[0].Reasons[0].Kind != finding.LightLevel {
		t.Errorf("Episodes = %+v, want one with the lamp as its reason", e)
	}
	own := all(t, whole.db.Own(t.Context(), everything))
	if own[0].Role != "dark" || own[1].Role != "reference" || own[1].File != steps[1].name || own[1].Late {
		t.Errorf("Own = %+v, %+v, want a dark and its reference", own[0], own[1])
	}
	if s := whole.state(); s.Stands != fitness.Bad || !s.Since.Equal(spectra[n/2].Time.Add(-10*time.Second)) {
		t.Errorf("Checks = %s since %v, want unfit since the first reference of the lamp that fell", s.Stands, s.Since)
	}
	whole.same(parts)
	// A folder that is gone through again gives nothing new.
	whole.put("copy of "+steps[1].name, steps[1].text, steps[1].at)
	whole.pass(whole.withOwn())
	if again := whole.counts(); again.Own != c.Own || again.Judged != c.Judged || again.Copies != 1 {
		t.Errorf("Counts with a copy of a reference = %+v, want as before and 1 copy", again)
	}
}

// TestTheLampFallsOnAUsualDay: with a third of its light left the spectra look as usual, but nobody can say so: each from then on, the state and
// its reason. No episode is told.
func TestTheLampFallsOnAUsualDay(t *testing.T) {
	const n = 120
	steps, _ := rawOf(produced(t, n))
	b := newBench(t)
	for _, s := range steps {
		b.put(s.name, s.text, s.at)
	}
	b.pass(b.withOwn())
	for i, r := range b.records() {
		want, state := "as usual", "fit"
		if i >= n/2 {
			want, state = "cannot say", "unfit"
		}
		if i >= n/4 && (r.Verdict != want || r.Instrument != state) {
			t.Fatalf("spectrum %d: %s, instrument %s, want %s and %s", i, r.Verdict, r.Instrument, want, state)
		}
	}
	if e := all(t, b.db.Episodes(t.Context(), everything)); len(e) != 0 {
		t.Errorf("Episodes = %+v, want none", e)
	}
}

// same compares all that two histories hold.
func (b *bench) same(o *bench) {
	b.t.Helper()
	got, want := o.records(), b.records()
	if len(got) != len(want) {
		b.t.Fatalf("%d records, want %d", len(got), len(want))
	}
	for i := range got {
		got[i].Received = want[i].Received
		if !reflect.DeepEqual(got[i], want[i]) {
			b.t.Fatalf("record %d = %+v, want %+v", i, got[i], want[i])
		}
	}
	x, y := all(b.t, o.db.Checks(b.t.Context(), everything)), all(b.t, b.db.Checks(b.t.Context(), everything))
	if fmt.Sprint(x) != fmt.Sprint(y) || len(x) == 0 { // NaN is not equal to itself
		b.t.Errorf("Checks = %v, want %v", x, y)
	}
	if s, w := o.state(), b.state(); !reflect.DeepEqual(s, w) {
		b.t.Errorf("state of the checks = %+v, want %+v", s, w)
	}
}

// TestOwnLate: a reference that comes after a newer one serves absorbances and is not checked; samples without any are told, stale
// ones are said with the judgement.
func TestOwnLate(t *testing.T) {
	b := newBench(t)
	steps, spectra := rawDay(t, 24)
	line := b.withOwn()
	line.Instrument.Options.Check.Light = light.Options{Stale: 5 * time.Minute}
	b.put(steps[2].name, steps[2].text, steps[2].at)
	b.pass(line)
	if c := b.counts(); c.Unreadable != 1 || c.Judged != 0 {
		t.Errorf("Counts of a sample before any dark = %+v, want it unreadable", c)
	}
	for _, s := range steps[14:17] { // the second dark, reference and sample
		b.put(s.name, s.text, s.at)
		b.pass(line)
	}
	before := len(all(t, b.db.Checks(t.Context(), everything)))
	for _, s := range []step{steps[0], steps[1], steps[3]} {
		b.put(s.name, s.text, s.at.Add(time.Hour)) // copied in later
		b.pass(line)
	}
	own := all(t, b.db.Own(t.Context(), everything))
	if len(own) != 4 || !own[0].Late || !own[1].Late || own[2].Late {
		t.Errorf("Own = %+v, want four, the first two late", own)
	}
	if n := len(all(t, b.db.Checks(t.Context(), everything))); n != before {
		t.Errorf("%d checks after late spectra, want %d as before", n, before)
	}
	if rs := b.records(); len(rs) != 2 || len(rs[0].Reasons) > 0 {
		t.Errorf("records = %+v, want two, the first with its own reference and nothing to say", rs)
	}
	last := counts("", spectra[0].Axis, monday.Add(40*time.Minute), 0.3, spectra[0].Values)
	b.put(last.name, last.text, last.at)
	b.pass(line)
	rs := b.records()
	if r := rs[len(rs)-1]; !slices.ContainsFunc(r.Reasons, func(f finding.Finding) bool { return f.Kind == finding.StaleReference }) {
		t.Errorf("reasons of a sample half an hour after the last reference = %v, want that it is stale", r.Reasons)
	}
}

// TestOwnFromElsewhere: checks of before and from another folder are taken once, also over a restart.
func TestOwnFromElsewhere(t *testing.T) {
	b := newBench(t)
	_, spectra := rawDay(t, 1)
	of := func(name string, at time.Time, level float64) spectrum.Spectrum {
		v := make([]float64, channels)
		for i := range v {
			v[i] = level + float64((i*3+at.Minute())%4)
		}
		return spectrum.Spectrum{Axis: spectra[0].Axis, Values: v, Quantity: spectrum.Intensity, File: name, Time: at}
	}
	line := b.withOwn()
	line.Instrument.Before = func(context.Context, time.Time) ([]spectrum.Spectrum, error) {
		return []spectrum.Spectrum{of("dark1.csv", monday.Add(-2*time.Hour), 500), of("white1.csv", monday.Add(-time.Hour), 40000)}, nil
	}
	b.pass(line)
	first := all(t, b.db.Checks(t.Context(), everything))
	b.pass(line)
	if again := all(t, b.db.Checks(t.Context(), everything)); len(first) == 0 || len(again) != len(first) {
		t.Errorf("%d checks, after a restart %d, want the same and some", len(first), len(again))
	}
	fixed := b.line()
	dark, bright := of("d", monday, 500), of("w", monday, 40000)
	fixed.Name, fixed.Instrument = "Filler 4", &monitor.Instrument{Dark: &dark, Bright: &bright}
	s := counts("", spectra[0].Axis, spectra[0].Time, 1, spectra[0].Values)
	b.put(s.name, s.text, s.at)
	b.pass(fixed)
	if rs := all(t, b.db.Spectra(t.Context(), history.Query{Line: "Filler 4"})); len(rs) != 1 || rs[0].Condition == "unfit" {
		t.Errorf("with a dark and a reference for all: %+v, want it judged", rs)
	}
}

// The line is watched though one of the darks from elsewhere cannot be used, and though they cannot be read at all: the log says so.
func TestOwnFromElsewhereThatCannotBeUsed(t *testing.T) {
	b := newBench(t)
	_, spectra := rawDay(t, 1)
	good := spectrum.Spectrum{Axis: spectra[0].Axis, Values: make([]float64, channels), Quantity: spectrum.Intensity, File: "dark2.csv", Time: monday.Add(-time.Hour)}
	bad := good
	bad.File, bad.Quantity, bad.Time = "dark1.csv", spectrum.Interferogram, monday.Add(-2*time.Hour)
	line := b.withOwn()
	line.Instrument.Before = func(context.Context, time.Time) ([]spectrum.Spectrum, error) {
		return []spectrum.Spectrum{bad, good}, errors.New("the share is away")
	}
	b.pass(line)
	if got := b.saved(); len(got) != 1 || got[0].File != "dark2.csv" {
		t.Errorf("%d darks at hand, want dark2.csv", len(got))
	}
	for _, want := range []string{"dark1.csv", "the share is away"} {
		if !strings.Contains(b.logged(), want) {
			t.Errorf("the log does not name %s:\n%s", want, b.logged())
		}
	}
}

// A reference that is first used for a spectrum of last month is not in use since then.
func TestAReferenceThatALateSpectrumShows(t *testing.T) {
	b := newBench(t)
	spectra := produced(t, 3)
	b.putAll(spectra[1:2])
	b.catchUp()
	next := *reference(t)
	next.Name = "another version"
	line := b.line()
	line.References = monitor.Always{Reference: monitor.Of(&next)}
	b.putAll(spectra[:1])
	b.pass(line)
	refs := all(t, b.db.References(t.Context(), everything))
	if len(refs) == 0 || refs[len(refs)-1].Fingerprint != next.Fingerprint() || refs[len(refs)-1].Since.Before(spectra[1].Time) {
		t.Errorf("References = %+v, want the second since %v at the earliest", refs, spectra[1].Time)
	}
}

// TestANewLamp: after the lamp was changed the checks begin anew where that is set, and what can be said of the process can be said again.
func TestANewLamp(t *testing.T) {
	const n = 240
	spectra := produced(t, n)
	steps, _ := rawOf(spectra) // its lamp falls at half of it, and is let be: a lamp of another kind
	b := newBench(t)
	for _, s := range steps {
		b.put(s.name, s.text, s.at)
	}
	changed := spectra[n/2].Time.Add(-30 * time.Second)
	half := slices.IndexFunc(steps, func(s step) bool { return s.at.After(changed) })
	b.pass(b.withOwn())
	if s := b.state(); s.Stands != fitness.Bad {
		t.Fatalf("Checks = %s, want unfit by the light of the first lamp", s.Stands)
	}
	again := newBench(t)
	for _, s := range steps[:half] {
		again.put(s.name, s.text, s.at)
	}
	again.pass(again.withOwn())
	began := again.state()
	anew := again.withOwn()
	anew.Instrument.Options.Check.Since = changed
	for range 2 { // a second start goes on
		for _, s := range steps[half:] {
			again.put(s.name, s.text, s.at)
		}
		again.pass(anew)
	}
	if s := again.state(); s.Stands == fitness.Bad || !s.Began.Equal(changed) || s.Light.N != 2 || reflect.DeepEqual(s.Light.Mean, began.Light.Mean) {
		t.Errorf("Checks of the new lamp = %s, began %v, %d first references, want no trouble, %v, 2 of its own", s.Stands, s.Began, s.Light.N, changed)
	}
	records := again.records()
	if r := records[n-1]; len(records) != n || r.Verdict != "as usual" || r.Instrument == "unfit" {
		t.Errorf("%d records, the last %s, instrument %s, want %d, as usual", len(records), r.Verdict, r.Instrument, n)
	}
	if n := strings.Count(again.logged(), "begin anew: lamp or detector was changed"); n != 1 {
		t.Errorf("the log says %d times that the checks begin anew, want once", n)
	}
}

// TestANewLampStillToCome: a date that is still to come, by a slip or because the lamp is ordered, takes nothing from what the checks know,
// and can be taken back.
func TestANewLampStillToCome(t *testing.T) {
	steps, _ := rawOf(produced(t, 240)) // its lamp falls
	b := newBench(t)
	put := func(steps []step) {
		for _, s := range steps {
			b.put(s.name, s.text, s.at)
		}
	}
	n := len(steps)
	put(steps[:n-20])
	b.pass(b.withOwn())
	want := b.state()
	if want.Stands != fitness.Bad || want.Light.N == 0 {
		t.Fatalf("Checks = %s, of %d first references, want unfit", want.Stands, want.Light.N)
	}
	for i, since := range []time.Time{time.Now().AddDate(1, 0, 0), {}} {
		put(steps[n-20+10*i : n-10+10*i])
		line := b.withOwn()
		line.Instrument.Options.Check.Since = since
		b.pass(line)
		if s := b.state(); s.Stands != fitness.Bad || !s.Began.IsZero() || !reflect.DeepEqual(s.Light.Mean, want.Light.Mean) {
			t.Errorf("started with since %v: %s, began %v, %d first references; want unfit by the %d of before", since, s.Stands, s.Began, s.Light.N, want.Light.N)
		}
	}
	if n := strings.Count(b.logged(), "still to come"); n != 1 {
		t.Errorf("the log says %d times that since is still to come, want once", n)
	}
}
