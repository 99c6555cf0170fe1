package model_test

import (
	"iter"
	"slices"
	"strings"
	"testing"
	"time"

	"asusual/model"
	"asusual/model/condition"
	"asusual/model/oatline"
	"asusual/model/spectrum"
)

// TestDemoDay follows the day of the demonstration: rinse water leaks in twice, and between the two the oil pump drifts. Rinses
// and start-ups are no changes. The second leak lies where the first lay, and both where a start-up lies, which is what
// told them: they stay.
func TestDemoDay(t *testing.T) {
	l := line(t, 1)
	plan := oatline.Demo(oatline.PlanOptions{Days: 4, Every: 40 * time.Second})
	var tr model.Training
	for _, one := range plan.Learn {
		for s := range series(t, l, one) {
			tr.Add(s.Label, s)
		}
	}
	r, err := model.Learn(&tr, model.Options{Pretreat: snv, Now: monday})
	if err != nil {
		t.Fatal(err)
	}
	j, c := model.NewJudger(r), model.NewCourse(r, model.CourseState{})
	var d model.Judgement
	var opened []time.Time
	var begun []condition.Group
	rinses, called := 0, 0
	for _, one := range plan.Watch {
		for s := range series(t, l, one) {
			j.Judge(&d, s)
			turn := c.Add(s.Time, &d, j.Absorbance())
			if one.Condition == oatline.Rinse {
				rinses++
				if d.Condition == oatline.Rinse {
					called++
				}
			}
			if turn.Opened != nil {
				opened = append(opened, turn.Opened.ChangedSince)
				if len(one.Upsets) == 0 {
					t.Errorf("%s at %s: %v, %v; want no change without an upset", one.Run, s.Time.Format("15:04"), turn.Verdict, turn.Reasons)
				}
			}
			if turn.Begun != nil {
				begun = append(begun, *turn.Begun)
			}
		}
	}
	if called < rinses*9/10 {
		t.Errorf("%d of %d spectra of a rinse are called so, want nine tenths", called, rinses)
	}
	began := upsets(plan.Watch)
	if len(opened) != len(began) {
		t.Fatalf("changes since %v, want one for each upset since %v", opened, began)
	}
	for i, since := range opened {
		slack := 3 * time.Minute
		if i == 1 {
			slack = 40 * time.Minute // a drift begins with nothing
		}
		if d := since.Sub(began[i]); d < -3*time.Minute || d > slack {
			t.Errorf("change %d since %s, began %s", i+1, since.Format("15:04:05"), began[i].Format("15:04:05"))
		}
	}
	var seen []string
	for _, g := range begun {
		seen = append(seen, g.Name[strings.LastIndex(g.Name, " ")+1:]+": "+g.Seen)
	}
	want := []string{"A: " + oatline.StartUp, "B: ", "C: " + begun[0].Name}
	if !slices.Equal(seen, want) {
		t.Errorf("groups, and where they were seen before: %q, want %q", seen, want)
	}
}

// series yields the spectra of a stretch.
func series(t *testing.T, l *oatline.Line, one oatline.Stretch) iter.Seq[spectrum.Spectrum] {
	t.Helper()
	s, err := l.Series(one)
	if err != nil {
		t.Fatal(err)
	}
	return s.All()
}

// upsets returns when they begin.
func upsets(ss []oatline.Stretch) (at []time.Time) {
	for _, s := range ss {
		for _, u := range s.Upsets {
			at = append(at, s.From.Add(u.After))
		}
	}
	return at
}
