package model_test

import (
	"encoding/json"
	"strings"
	"testing"
	"time"

	"asusual/model"
	"asusual/model/finding"
	"asusual/model/fitness"
	"asusual/model/oatline"
	"asusual/model/verdict"
)

// TestCourseMindsTheChecks: an instrument that its own checks call unfit cannot tell that the process has changed; once they call
// it fit again, it can. An ageing one can, and says so.
func TestCourseMindsTheChecks(t *testing.T) {
	l, r := line(t, 1), reference(t)
	leak := stretch(t, l, 20, oatline.InUse, 150, oatline.Upset{Kind: oatline.Dilution, Size: 0.15, After: 30 * oatlineEvery})
	why := []finding.Finding{finding.Of(finding.LightLevel, "all channels", 30, 50)}
	j, c := model.NewJudger(r), model.NewCourse(r, model.CourseState{})
	var d model.Judgement
	var last model.Turn
	for i, s := range leak {
		switch i {
		case 90:
			c.Check(fitness.Bad, time.Time{}, why)
		case 110:
			c.Check(fitness.Ageing, time.Time{}, nil)
		case 130:
			c.Check(fitness.Fit, time.Time{}, nil)
		}
		j.Judge(&d, s)
		last = c.Add(s.Time, &d, j.Absorbance())
		want, state := verdict.Changed, fitness.Fit
		switch {
		case i >= 90 && i < 110:
			want, state = verdict.CannotSay, fitness.Bad
		case i >= 110 && i < 130:
			state = fitness.Ageing
		}
		if i > 80 && (last.Verdict != want || last.Instrument != state) {
			t.Fatalf("spectrum %d: %v, instrument %s; want %v, %s", i, last.Verdict, last.Instrument, want, state)
		}
		if i == 95 {
			if len(last.Reasons) != 1 || !strings.Contains(last.Reasons[0].String(), "stands at 30 % of its first level") {
				t.Errorf("reasons %v, want the lamp's", last.Reasons)
			}
			b, err := json.Marshal(c.State)
			if err != nil {
				t.Fatal(err)
			}
			var s model.CourseState
			if err := json.Unmarshal(b, &s); err != nil || s.Checked != fitness.Bad || len(s.CheckedWhy) != 1 {
				t.Errorf("the state reads back with %q, %v, %v", s.Checked, s.CheckedWhy, err)
			}
		}
	}
}

// TestUnfitCannotSayAsUsual: a lamp that lost two thirds of its light tells as little that all is as usual as that it has changed, however
// usual the spectra look; once it is mended, the verdict is what the spectra say, since then.
func TestUnfitCannotSayAsUsual(t *testing.T) {
	l, r := line(t, 1), reference(t)
	why := []finding.Finding{finding.Of(finding.LightLevel, "all channels", 33, 50)}
	day := stretch(t, l, 20, oatline.InUse, 120)
	j, c := model.NewJudger(r), model.NewCourse(r, model.CourseState{})
	var d model.Judgement
	for i, s := range day {
		switch i {
		case 0, 60: // before the first spectrum, when there are too few to say anything, and in the midst
			c.Check(fitness.Bad, time.Time{}, why)
		case 40, 80:
			c.Check(fitness.Fit, time.Time{}, nil)
		}
		j.Judge(&d, s)
		turn := c.Add(s.Time, &d, j.Absorbance())
		want, state := verdict.AsUsual, fitness.Fit
		since := day[i/40*40].Time
		if i < 40 || i >= 60 && i < 80 {
			want, state = verdict.CannotSay, fitness.Bad
			if since = day[0].Time; i >= 60 {
				since = day[60].Time
			}
			if len(turn.Reasons) != 1 || turn.Reasons[0].Kind != finding.LightLevel {
				t.Fatalf("spectrum %d: reasons %v, want the lamp's", i, turn.Reasons)
			}
		}
		if turn.Verdict != want || turn.Instrument != state || !turn.Since.Equal(since) {
			t.Fatalf("spectrum %d: %v since %v, instrument %s; want %v since %v, %s", i, turn.Verdict, turn.Since, turn.Instrument, want, since, state)
		}
		if turn.Opened != nil || turn.Closed != nil {
			t.Errorf("spectrum %d: an episode begins or ends, want none: the checks are no part of episodes", i)
		}
	}
}

// TestUnfitWhileRinsing: a verdict that turns while a rinse feeds no memory turns then, whether a watch begins in it or a check comes in it.
func TestUnfitWhileRinsing(t *testing.T) {
	l, r := line(t, 1), reference(t)
	why := []finding.Finding{finding.Of(finding.LightLevel, "all channels", 33, 50)}
	j, c := model.NewJudger(r), model.NewCourse(r, model.CourseState{})
	var d model.Judgement
	for i, s := range inOrder(stretch(t, l, 20, oatline.Rinse, 3), stretch(t, l, 20, oatline.InUse, 40), stretch(t, l, 21, oatline.Rinse, 9)) {
		switch i {
		case 0, 46:
			c.Check(fitness.Bad, s.Time, why)
		case 20, 49:
			c.Check(fitness.Fit, s.Time, nil)
		}
		j.Judge(&d, s)
		turn := c.Add(s.Time, &d, j.Absorbance())
		want, since := verdict.CannotSay, monday.AddDate(0, 0, 20)
		switch {
		case i >= 49:
			want, since = verdict.AsUsual, since.Add(49*oatlineEvery)
		case i >= 46:
			since = since.Add(46 * oatlineEvery)
		case i >= 20:
			want, since = verdict.AsUsual, since.Add(20*oatlineEvery)
		}
		if named := i < 3 || i >= 43; turn.Named != named || turn.Verdict != want || !turn.Since.Equal(since) {
			t.Errorf("spectrum %d: %v since %v, in a named condition %v; want %v since %v, %v", i, turn.Verdict, turn.Since, turn.Named, want, since, named)
		}
	}
}
