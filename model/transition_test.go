package model_test

import (
	"encoding/json"
	"slices"
	"testing"
	"time"

	"asusual/model"
	"asusual/model/finding"
	"asusual/model/oatline"
	"asusual/model/spectrum"
	"asusual/model/verdict"
)

// inOrder lays the stretches one after another from the beginning of a day, a spectrum every 20 s.
func inOrder(stretches ...[]spectrum.Spectrum) []spectrum.Spectrum {
	var all []spectrum.Spectrum
	for _, s := range stretches {
		for _, one := range s {
			one.Time = monday.AddDate(0, 0, 20).Add(time.Duration(len(all)) * oatlineEvery)
			all = append(all, one)
		}
	}
	return all
}

// at gives all spectra one time, as a clock of whole minutes may.
func at(when time.Time, spectra []spectrum.Spectrum) []spectrum.Spectrum {
	for i := range spectra {
		spectra[i].Time = when
	}
	return spectra
}

// follow judges spectra in order over a course that was set up.
func follow(c *model.Course, r *model.Reference, spectra []spectrum.Spectrum) []model.Turn {
	j := model.NewJudger(r)
	var d model.Judgement
	var turns []model.Turn
	for _, s := range spectra {
		j.Judge(&d, s)
		turns = append(turns, c.Add(s.Time, &d, j.Absorbance()))
	}
	return turns
}

func noted(turns []model.Turn, kind finding.Kind) []int {
	var at []int
	for i, t := range turns {
		if slices.ContainsFunc(t.Notes, func(f finding.Finding) bool { return f.Kind == kind }) {
			at = append(at, i)
		}
	}
	return at
}

func from(first, last int) []int {
	var all []int
	for i := first; i <= last; i++ {
		all = append(all, i)
	}
	return all
}

// After a rinse the product is still thinned for a while. Within the grace that is a transition: it is counted as none of the
// usual spectra, feeds no memory and makes no group; beyond it, it is a change like any other.
func TestCourseTransition(t *testing.T) {
	l, r := line(t, 1), reference(t)
	thinned := oatline.Upset{Kind: oatline.Dilution, Size: 0.15}
	usual, rinse := stretch(t, l, 20, oatline.InUse, 30), stretch(t, l, 20, oatline.Rinse, 6)
	thin := func(n int) []spectrum.Spectrum { return stretch(t, l, 21, oatline.InUse, n, thinned) }
	const minute = time.Minute
	tests := []struct {
		name    string
		grace   time.Duration
		spectra []spectrum.Spectrum
		notes   []int // spectra in transition
		changed bool
	}{
		// 36 to 41: 20 s to 2 min after the last spectrum of the rinse.
		{"short", 2 * minute, inOrder(usual, rinse, thin(6), usual), from(36, 41), false},
		{"no grace", 0, inOrder(usual, rinse, thin(6), usual), nil, true},
		{"no grace, all at the same time", 0, at(monday.AddDate(0, 0, 20), inOrder(usual, rinse, thin(6))), nil, true},
		{"too long", 2 * minute, inOrder(usual, rinse, thin(40)), from(36, 41), true},
		{"before the rinse", 2 * minute, inOrder(usual, thin(20), rinse, usual), nil, true},
		{"after usual spectra", 2 * minute, inOrder(usual, rinse, usual[:2], thin(20)), nil, true},
		{"after a single spectrum of rinse", 2 * minute, inOrder(usual, rinse[:1], thin(20)), nil, true},
		{"after two", 2 * minute, inOrder(usual, rinse[:2], thin(20)), nil, true},
		{"with another condition on the way", 2 * minute, inOrder(usual, rinse, thin(2), stretch(t, l, 20, oatline.Air, 1), thin(3), usual), []int{36, 37, 39, 40, 41}, false},
	}
	for _, tt := range tests {
		c := model.NewCourse(r, model.CourseState{})
		c.Grace = tt.grace
		turns := follow(c, r, tt.spectra)
		if got := noted(turns, finding.InTransition); !slices.Equal(got, tt.notes) {
			t.Errorf("%s: in transition are %v, want %v", tt.name, got, tt.notes)
		}
		changed := slices.ContainsFunc(turns, func(t model.Turn) bool { return t.Verdict == verdict.Changed })
		if changed != tt.changed {
			t.Errorf("%s: the process has changed: %v, want %v", tt.name, changed, tt.changed)
		}
		for _, i := range tt.notes {
			if !turns[i].Named || turns[i].Group != "" {
				t.Errorf("%s: spectrum %d in transition is taken for production (group %q), want it set aside", tt.name, i, turns[i].Group)
			}
		}
	}
}

// A change that lies where every fourth spectrum falls into a condition must not hide behind the grace.
func TestCourseTransitionHidesNoChange(t *testing.T) {
	l, r := line(t, 1), reference(t)
	thin := stretch(t, l, 21, oatline.InUse, 60, oatline.Upset{Kind: oatline.Dilution, Size: 0.15})
	for i, one := range stretch(t, l, 20, oatline.Rinse, 15) {
		thin[4*i] = one
	}
	c := model.NewCourse(r, model.CourseState{})
	c.Grace = time.Hour
	turns := follow(c, r, inOrder(stretch(t, l, 20, oatline.InUse, 30), thin))
	if at := noted(turns, finding.InTransition); at != nil || turns[len(turns)-1].Verdict != verdict.Changed {
		t.Errorf("with single spectra of rinse among them: in transition %v, verdict %v; want none, the process has changed", at, turns[len(turns)-1].Verdict)
	}
}

// What overstays its condition is no transition on the way out of it.
func TestCourseOverstayIsNoTransition(t *testing.T) {
	l, r := line(t, 1), reference(t)
	c := model.NewCourse(r, model.CourseState{})
	c.Grace, c.Longest = time.Hour, map[string]time.Duration{oatline.Rinse: 5 * time.Minute}
	turns := follow(c, r, inOrder(stretch(t, l, 20, oatline.InUse, 30), stretch(t, l, 20, oatline.Rinse, 60)))
	if at := noted(turns, finding.InTransition); at != nil || turns[len(turns)-1].Verdict != verdict.Changed {
		t.Errorf("a rinse of 20 min where 5 are allowed: in transition %v, verdict %v; want none, the process has changed", at, turns[len(turns)-1].Verdict)
	}
}

// Two rinses with nothing between them but a night are two stays, not one that lasts too long.
func TestCourseStayEndsWithTheRun(t *testing.T) {
	l, r := line(t, 1), reference(t)
	day := inOrder(stretch(t, l, 20, oatline.InUse, 30), stretch(t, l, 20, oatline.Rinse, 6), stretch(t, l, 21, oatline.Rinse, 6))
	for i := 36; i < len(day); i++ {
		day[i].Time = day[i].Time.Add(8 * time.Hour)
	}
	c := model.NewCourse(r, model.CourseState{})
	c.Longest = map[string]time.Duration{oatline.Rinse: 5 * time.Minute}
	for i, turn := range follow(c, r, day) {
		if slices.ContainsFunc(turn.Reasons, func(f finding.Finding) bool { return f.Kind == finding.Overstays }) || turn.Verdict == verdict.Changed {
			t.Fatalf("spectrum %d, after a night without spectra: %v, %v; want no stay too long", i, turn.Verdict, turn.Reasons)
		}
	}
}

// A condition outside its times is told, from when the line is settled in it, and is no change.
func TestCourseUntimely(t *testing.T) {
	l, r := line(t, 1), reference(t)
	spectra := inOrder(stretch(t, l, 20, oatline.InUse, 20), stretch(t, l, 20, oatline.Rinse, 10), stretch(t, l, 20, oatline.Air, 5))
	fromFifth := spectra[25].Time
	for _, tt := range []struct {
		name     string
		expected map[string]func(time.Time) bool
		notes    []int
	}{
		{"nothing stated", nil, nil},
		{"always", map[string]func(time.Time) bool{oatline.Rinse: func(time.Time) bool { return true }}, nil},
		{"never", map[string]func(time.Time) bool{oatline.Rinse: func(time.Time) bool { return false }}, from(22, 29)},
		{"until the fifth", map[string]func(time.Time) bool{oatline.Rinse: fromFifth.After}, from(25, 29)},
	} {
		c := model.NewCourse(r, model.CourseState{})
		c.Expected = tt.expected
		turns := follow(c, r, spectra)
		if got := noted(turns, finding.Untimely); !slices.Equal(got, tt.notes) {
			t.Errorf("%s: outside their times are %v, want %v", tt.name, got, tt.notes)
		}
		for i, turn := range turns {
			if turn.Verdict == verdict.Changed {
				t.Errorf("%s: spectrum %d: %v", tt.name, i, turn.Verdict)
			}
		}
	}
}

// A restart at any spectrum changes nothing of transitions and times.
func TestCourseTransitionResumes(t *testing.T) {
	l, r := line(t, 1), reference(t)
	day := inOrder(stretch(t, l, 20, oatline.InUse, 20), stretch(t, l, 20, oatline.Rinse, 6),
		stretch(t, l, 21, oatline.InUse, 12, oatline.Upset{Kind: oatline.Dilution, Size: 0.15}), stretch(t, l, 22, oatline.InUse, 10))
	set := func(c *model.Course) *model.Course {
		c.Grace = 2 * time.Minute
		c.Expected = map[string]func(time.Time) bool{oatline.Rinse: day[23].Time.After}
		return c
	}
	plain := follow(set(model.NewCourse(r, model.CourseState{})), r, day)
	if n, m := len(noted(plain, finding.InTransition)), len(noted(plain, finding.Untimely)); n != 6 || m != 3 {
		t.Fatalf("without a restart %d spectra are in transition and %d outside their times, want 6 and 3", n, m)
	}
	var state model.CourseState
	for i, s := range day {
		c := set(model.NewCourse(r, state))
		got := follow(c, r, []spectrum.Spectrum{s})
		if got, want := turnJSON(t, got[0]), turnJSON(t, plain[i]); got != want {
			t.Fatalf("spectrum %d after restarts: %s, want %s", i, got, want)
		}
		b, err := json.Marshal(c.State)
		if err != nil {
			t.Fatal(err)
		}
		state = model.CourseState{}
		if err := json.Unmarshal(b, &state); err != nil {
			t.Fatal(err)
		}
	}
}
