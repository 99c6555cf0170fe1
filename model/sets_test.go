package model_test

import (
	"bytes"
	"slices"
	"strings"
	"testing"
	"time"

	"asusual/model"
	"asusual/model/finding"
	"asusual/model/limits"
	"asusual/model/oatline"
	"asusual/model/pretreat"
	"asusual/model/spectrum"
	"asusual/model/verdict"
)

// days returns good days of each spectra.
func days(t testing.TB, l *oatline.Line, from, n, each int) (all []spectrum.Spectrum) {
	t.Helper()
	for day := range n {
		all = append(all, stretch(t, l, from+day, oatline.InUse, each)...)
	}
	return all
}

// TestLearnDespiteAWrongClock: one spectrum that an instrument dated years back, before somebody set its clock, makes no years of production.
func TestLearnDespiteAWrongClock(t *testing.T) {
	l := line(t, 1)
	right := days(t, l, 0, 8, 120)
	wrong := days(t, l, 0, 8, 120)
	wrong[500].Time = time.Date(2000, 1, 1, 0, 0, 0, 0, time.UTC)
	want := learn(t, right, model.Options{}).Limits
	r := learn(t, wrong, model.Options{})
	if got := r.Limits; got.Hours > 1.01*want.Hours || !got.Extrapolated {
		t.Errorf("with a wrong clock: %.2f hours of production, extrapolated %v; want %.2f and true", got.Hours, got.Extrapolated, want.Hours)
	}
	again := days(t, l, 0, 8, 120)
	for day := range 8 { // each morning the instrument begins with the date that it was made with
		for i := range 3 {
			again[120*day+i].Time = time.Date(2000, 1, 1, 0, 0, 20*i, 0, time.UTC)
		}
	}
	for name, got := range map[string]*limits.Limits{"once": r.Limits, "each morning": learn(t, again, model.Options{}).Limits} {
		untold := slices.ContainsFunc(got.Findings, func(f finding.Finding) bool { return f.Kind == finding.RunsNotTold })
		if got.Gap != want.Gap || untold {
			t.Errorf("a wrong clock %s: a pause of %v ends a run, runs not told apart %v; want %v and false", name, got.Gap, untold, want.Gap)
		}
	}
	for day := range 10 {
		for _, turn := range play(r, stretch(t, l, 20+day, oatline.InUse, 120), nil) {
			if turn.Verdict == verdict.Changed {
				t.Errorf("after a wrong clock, good day %d: changed, %v", day, turn.Reasons)
				break
			}
		}
	}
}

// TestLearnWithAShortRun: a run of a few spectra among long ones, of which none is looked at while components are chosen, is no hindrance.
func TestLearnWithAShortRun(t *testing.T) {
	l := line(t, 1)
	for _, runs := range [][]int{{352, 339, 1, 340, 340, 341}, {340, 340, 340, 340, 340, 1}} {
		var all []spectrum.Spectrum
		for day, n := range runs {
			all = append(all, stretch(t, l, day, oatline.InUse, n)...)
		}
		r := learn(t, all, model.Options{KeepAll: true})
		if got := r.Learning; len(got.Runs) != len(runs) || got.Components.K < 1 || got.Components.Table[0].Ratio >= 1 {
			t.Errorf("runs of %d spectra: %d runs learned from, %+v", runs, len(got.Runs), got.Components)
		}
	}
}

// TestLearnOfFewChannels: whatever pretreatment instruments of few channels are given, there is a reference that can be written and read,
// or an error that says what is too little. What learning chooses by itself can be learned.
func TestLearnOfFewChannels(t *testing.T) {
	l := line(t, 5)
	for _, p := range []int{8, 10, 12, 16, 18} {
		all := few(t, days(t, l, 0, 2, 30), p)
		for _, c := range append(pretreat.Candidates(all[0].Axis), pretreat.Named{Name: "auto"}) {
			r, err := model.Learn(gather(all), model.Options{Pretreat: c.Steps, Auto: c.Name == "auto"})
			if err != nil {
				if c.Name == "auto" || !strings.Contains(err.Error(), "channels") {
					t.Errorf("%d channels, %s: %v", p, c.Name, err)
				}
				continue
			}
			if _, err := model.Decode(bytes.NewReader(encode(t, r))); err != nil {
				t.Errorf("%d channels, %s: reading the reference back: %v", p, c.Name, err)
			}
		}
	}
}

// TestWatchSlowerThanItsReference: where spectra come so slowly that each is a run of its own, nothing can be said, and why is told.
func TestWatchSlowerThanItsReference(t *testing.T) {
	l := line(t, 1)
	all := days(t, l, 0, 3, 80)
	for i := range all {
		all[i].Time = all[0].Time.AddDate(0, 0, i/80).Add(time.Duration(i%80) * 2 * time.Second)
	}
	r := learn(t, all, model.Options{})
	for _, pace := range []time.Duration{2 * time.Second, time.Minute} {
		day := stretch(t, l, 20, oatline.InUse, 60)
		for i := range day {
			day[i].Time = day[0].Time.Add(time.Duration(i) * pace)
		}
		turns := play(r, day, nil)
		last := turns[len(turns)-1]
		told := slices.ContainsFunc(last.Reasons, func(f finding.Finding) bool {
			return f.Kind == finding.TooSlow && slices.Equal(f.Values, []float64{60, r.Limits.Gap.Seconds(), 2})
		})
		if slow := pace > r.Limits.Gap; slow != (last.Verdict == verdict.CannotSay) || told != slow {
			t.Errorf("one in %v, runs end after %v: %v, %v", pace, r.Limits.Gap, last.Verdict, last.Reasons)
		}
	}
}

// TestWatchSetsOfSpectra: of sets of three, one an hour, that were learned from two days, something can be said of such days.
func TestWatchSetsOfSpectra(t *testing.T) {
	l := line(t, 1)
	day := func(i int) []spectrum.Spectrum {
		all := stretch(t, l, i, oatline.InUse, 72)
		for j := range all {
			all[j].Time = all[0].Time.Add(time.Duration(j/3)*time.Hour + time.Duration(j%3)*5*time.Second)
		}
		return all
	}
	r := learn(t, slices.Concat(day(0), day(2)), model.Options{})
	turns := play(r, day(20), nil)
	if last := turns[len(turns)-1]; last.Verdict != verdict.AsUsual {
		t.Errorf("a day of three an hour: %v, %v; want as usual (a run is warm after %d spectra, and ends after %v)", last.Verdict, last.Reasons, r.Limits.Warm, r.Limits.Gap)
	}
	if r.Limits.Often != time.Hour-10*time.Second {
		t.Errorf("of three an hour nine in ten pauses do not pass %v, want 59 min 50 s", r.Limits.Often)
	}
}

// TestLearnAsksForOneNumber: of one run, or of two, it is never said that so many spectra are needed, and then that more are.
func TestLearnAsksForOneNumber(t *testing.T) {
	l := line(t, 1)
	for n := 2; n <= 15; n++ {
		_, err := model.Learn(gather(slices.Concat(stretch(t, l, 0, oatline.InUse, (n+1)/2), stretch(t, l, 1, oatline.InUse, n/2))), model.Options{Pretreat: snv})
		if n < 15 && (err == nil || !strings.Contains(err.Error(), "15 are needed")) {
			t.Errorf("%d good spectra of two runs: %v; want 15 asked for", n, err)
		}
		if n == 15 && err != nil {
			t.Errorf("15 good spectra of two runs: %v; want a reference, for so many were asked for", err)
		}
	}
	for n := 1; n <= 13; n++ {
		_, err := model.Learn(gather(stretch(t, l, 0, oatline.InUse, n)), model.Options{Pretreat: snv})
		if n < 13 && (err == nil || !strings.Contains(err.Error(), "13 are needed")) {
			t.Errorf("%d good spectra of one run: %v; want 13 asked for", n, err)
		}
		if n == 13 && err != nil {
			t.Errorf("13 good spectra of one run: %v; want a reference, for so many were asked for", err)
		}
	}
}
