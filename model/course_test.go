package model_test

import (
	"encoding/json"
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"asusual/model"
	"asusual/model/finding"
	"asusual/model/fitness"
	"asusual/model/oatline"
	"asusual/model/pretreat"
	"asusual/model/spectrum"
	"asusual/model/verdict"
)

// play judges spectra in order and returns the turns that they led to.
func play(r *model.Reference, spectra []spectrum.Spectrum, each func(c *model.Course)) []model.Turn {
	j, c := model.NewJudger(r), model.NewCourse(r, model.CourseState{})
	var d model.Judgement
	var turns []model.Turn
	for _, s := range spectra {
		j.Judge(&d, s)
		turns = append(turns, c.Add(s.Time, &d, j.Absorbance()))
		if each != nil {
			each(c)
		}
	}
	return turns
}

func TestCourseTellsProcessFromInstrument(t *testing.T) {
	l, r := line(t, 1), reference(t)
	half := func(u oatline.Upset) []spectrum.Spectrum {
		u.After = 50 * oatlineEvery
		return stretch(t, l, 20, oatline.InUse, 150, u)
	}
	tests := []struct {
		name       string
		spectra    []spectrum.Spectrum
		want       verdict.Verdict
		instrument fitness.State
		reason     finding.Kind
	}{
		{"a usual day", stretch(t, l, 20, oatline.InUse, 150), verdict.AsUsual, fitness.Fit, ""},
		{"a leak of rinse water", half(oatline.Upset{Kind: oatline.Dilution, Size: 0.15}), verdict.Changed, fitness.Fit, ""},
		{"a new band", half(oatline.Upset{Kind: oatline.NewBand, Size: 0.02}), verdict.Changed, fitness.Fit, ""},
		{"an axis shift", half(oatline.Upset{Kind: oatline.AxisShift, Size: 2}), verdict.CannotSay, fitness.Bad, finding.LikeAxis},
	}
	for _, tt := range tests {
		turns := play(r, tt.spectra, nil)
		last := turns[len(turns)-1]
		if last.Verdict != tt.want || last.Instrument != tt.instrument {
			t.Errorf("after %s: %v, instrument %s, reasons %v; want %v, %s", tt.name, last.Verdict, last.Instrument, last.Reasons, tt.want, tt.instrument)
		}
		kinds := ""
		for _, f := range last.Reasons {
			kinds += string(f.Kind) + " "
		}
		if !strings.Contains(kinds, string(tt.reason)) {
			t.Errorf("after %s: reasons %q, want %q", tt.name, kinds, tt.reason)
		}
		if tt.want != verdict.AsUsual {
			begins := tt.spectra[50].Time
			if late := last.Since.Sub(begins); late < 0 || late > 30*oatlineEvery {
				t.Errorf("after %s: since %v after it began, want within 30 spectra", tt.name, late)
			}
		}
	}
}

// TestCourseOfOneSpectrumAgainAndAgain: of an instrument that gives one usual spectrum for ever, with new times, nothing can be said after
// a while, whatever the memories made of it, until another comes.
func TestCourseOfOneSpectrumAgainAndAgain(t *testing.T) {
	l, r := line(t, 1), reference(t)
	day := stretch(t, l, 20, oatline.InUse, 300)
	for i := 50; i < 250; i++ {
		day[i].Values = day[49].Values
	}
	turns := play(r, day, nil)
	for i, want := range map[int]bool{45: false, 140: false, 165: true, 249: true, 270: false} {
		got := turns[i]
		repeats := slices.ContainsFunc(got.Reasons, func(f finding.Finding) bool { return f.Kind == finding.Repeating })
		if (got.Verdict == verdict.CannotSay) != want || (got.Instrument == fitness.Bad) != want || repeats != want {
			t.Errorf("spectrum %d, where 50 to 250 are the same: %v, instrument %s, reasons %v; want that it cannot be said: %v", i+1, got.Verdict, got.Instrument, got.Reasons, want)
		}
	}
}

const oatlineEvery = 20e9 // time.Duration: an oat-drink spectrum every 20 s

// TestCourseGroupsAndRemembers: the same upset on two days is one place, and the second time it was seen before.
func TestCourseGroupsAndRemembers(t *testing.T) {
	l, r := line(t, 1), reference(t)
	leak := oatline.Upset{Kind: oatline.Dilution, Size: 0.15, After: 40 * oatlineEvery}
	var days []spectrum.Spectrum
	for day := 20; day < 22; day++ {
		days = append(days, stretch(t, l, day, oatline.InUse, 90, leak)...)
	}
	var groups []string
	var seen []string
	for _, turn := range play(r, days, nil) {
		if turn.Group != "" && !slices.Contains(groups, turn.Group) {
			groups = append(groups, turn.Group)
		}
		if turn.Begun != nil {
			seen = append(seen, turn.Begun.Seen)
		}
	}
	want := []string{"group 2026-12-06 A", "group 2026-12-07 A"}
	if !slices.Equal(groups, want) || !slices.Equal(seen, []string{"", want[0]}) {
		t.Errorf("groups %q, seen %q; want %q, the second seen as the first", groups, seen, want)
	}
}

// TestGroupsAreNamedByTheZonesDay: what is found at one in the morning of the site has the day of the site, whatever zone the
// spectra's times are in.
func TestGroupsAreNamedByTheZonesDay(t *testing.T) {
	l, r := line(t, 1), reference(t)
	leak := oatline.Upset{Kind: oatline.Dilution, Size: 0.15}
	for zone, want := range map[int]string{0: "group 2026-12-06 A", 20: "group 2026-12-07 A", -7: "group 2026-12-05 A"} {
		j, c := model.NewJudger(r), model.NewCourse(r, model.CourseState{})
		c.Zone = time.FixedZone("", zone*3600)
		got := ""
		var d model.Judgement
		for _, s := range stretch(t, l, 20, oatline.InUse, 40, leak) { // from 06:00 UTC
			j.Judge(&d, s)
			if turn := c.Add(s.Time, &d, j.Absorbance()); turn.Begun != nil {
				got = turn.Begun.Name
			}
		}
		if got != want {
			t.Errorf("%d h from UTC: %q, want %q", zone, got, want)
		}
	}
}

// TestCourseOverstay: rinse water that leaks in lies where a start-up lies. It is told once it lasts longer than a start-up
// does, and the change is then known to have begun with it.
func TestCourseOverstay(t *testing.T) {
	l := line(t, 1)
	good := training(t, l)
	for day := range 5 {
		good = append(good, stretch(t, l, day, oatline.StartUp, 15)...) // 5 minutes
	}
	r := learn(t, good, model.Options{})
	day := stretch(t, l, 20, oatline.StartUp, 15)
	for _, turn := range play(r, day, nil) {
		if turn.Verdict == verdict.Changed {
			t.Fatalf("a start-up of 5 minutes: %v, %v", turn.Verdict, turn.Reasons)
		}
	}
	leak := stretch(t, l, 21, oatline.InUse, 150, oatline.Upset{Kind: oatline.Dilution, Size: 0.18, After: 60 * oatlineEvery})
	turns := play(r, leak, nil)
	last := turns[len(turns)-1]
	if last.Verdict != verdict.Changed {
		t.Fatalf("a leak of 30 minutes: %v, want the process has changed", last.Verdict)
	}
	if got := noted(turns, finding.Overstays); len(got) == 0 || got[len(got)-1] != len(turns)-1 || got[0] < 70 {
		t.Errorf("spectra %v are said to be in a condition for too long, want those from soon after the 60th to the last", got)
	}
	for i, turn := range turns {
		if turn.Opened == nil {
			continue
		}
		if late := turn.Opened.ChangedSince.Sub(leak[60].Time); late < -5*oatlineEvery || late > 5*oatlineEvery {
			t.Errorf("told at spectrum %d that it changed %v after it did, want within 5 spectra", i, late)
		}
	}
}

// TestCourseResumes: the state written and read back after every spectrum goes on as if nothing had happened.
func TestCourseResumes(t *testing.T) {
	l, r := line(t, 1), reference(t)
	day := stretch(t, l, 20, oatline.InUse, 90, oatline.Upset{Kind: oatline.Dilution, Size: 0.15, After: 30 * oatlineEvery, For: 30 * oatlineEvery})
	day = append(day, stretch(t, l, 21, oatline.Rinse, 10)...)
	plain := play(r, day, nil)
	again := play(r, day, func(c *model.Course) {
		b, err := json.Marshal(c.State)
		if err != nil {
			t.Fatal(err)
		}
		var s model.CourseState
		if err := json.Unmarshal(b, &s); err != nil {
			t.Fatal(err)
		}
		*c = *model.NewCourse(r, s)
	})
	for i := range plain {
		got, want := turnJSON(t, again[i]), turnJSON(t, plain[i])
		if got != want {
			t.Fatalf("spectrum %d after restarts: %s, want %s", i, got, want)
		}
	}
}

func turnJSON(t *testing.T, turn model.Turn) string {
	t.Helper()
	b, err := json.Marshal(turn)
	if err != nil {
		t.Fatal(err)
	}
	return string(b)
}

func ExampleCourse() {
	// An invented oat-drink line: ten good days, then one on which rinse water leaks into the product.
	line, _ := oatline.New(oatline.Settings{Seed: 1, Channels: 64})
	var good model.Training
	for day := range 10 {
		run, _ := line.Series(oatline.Stretch{Run: fmt.Sprint("day ", day), From: monday.AddDate(0, 0, day), N: 60})
		for s := range run.All() {
			good.Add(model.Usual, s)
		}
	}
	reference, err := model.Learn(&good, model.Options{Name: "Filler 3", Pretreat: []pretreat.Step{{Name: "snv"}}})
	if err != nil {
		fmt.Println(err)
		return
	}
	leak := oatline.Upset{Kind: oatline.Dilution, Size: 0.15, After: 50 * oatlineEvery}
	today, _ := line.Series(oatline.Stretch{Run: "today", From: monday.AddDate(0, 0, 20), N: 150, Upsets: []oatline.Upset{leak}})

	judger, course := model.NewJudger(reference), model.NewCourse(reference, model.CourseState{})
	var d model.Judgement
	for s := range today.All() {
		judger.Judge(&d, s)
		turn := course.Add(s.Time, &d, judger.Absorbance())
		if turn.Opened != nil {
			fmt.Println(turn.Verdict, "since", turn.Opened.ChangedSince.Format("15:04"))
		}
	}
	// Output:
	// the process has changed since 06:16
}

// TestCourseAfterABubble: one spectrum, or three in a row, that are off as light is, and that pretreatment takes out, hide no change that
// follows them, nor do they make the instrument ageing.
func TestCourseAfterABubble(t *testing.T) {
	l, r := line(t, 1), reference(t)
	for _, strays := range []int{0, 1, 3} {
		for _, size := range []float64{0.005, 0.02} {
			spectra := stretch(t, l, 20, oatline.InUse, 150, oatline.Upset{Kind: oatline.NewBand, Size: size, After: 70 * oatlineEvery})
			for i := 60 - strays; i < 60; i++ {
				for j := range spectra[i].Values {
					spectra[i].Values[j] += 2
				}
			}
			for i, turn := range play(r, spectra, nil) {
				if i == 69 && turn.Instrument != fitness.Fit {
					t.Errorf("ten spectra after %d strays: the instrument is %s", strays, turn.Instrument)
				}
				if turn.Opened != nil && (i < 70 || turn.Verdict != verdict.Changed || turn.Instrument != fitness.Fit) {
					t.Errorf("%d strays before a band of %g: at %d %s, instrument %s, %v", strays, size, i, turn.Verdict, turn.Instrument, turn.Reasons)
				}
				if i == 149 && turn.Verdict != verdict.Changed {
					t.Errorf("%d strays before a band of %g: in the end %s", strays, size, turn.Verdict)
				}
			}
		}
	}
}
