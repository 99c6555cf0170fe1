package monitor_test

import (
	"slices"
	"strings"
	"testing"
	"time"

	"asusual/model"
	"asusual/model/finding"
	"asusual/model/oatline"
	"asusual/monitor"
)

// A watch that is stopped in the middle of a transition goes on with it; history has why such a spectrum is no change, and the
// log says once that a condition came outside its times.
func TestTransitionsAndTimesAreKept(t *testing.T) {
	line, err := oatline.New(oatline.Settings{Channels: channels, Seed: 1})
	if err != nil {
		t.Fatal(err)
	}
	rinse, err := line.Series(oatline.Stretch{Run: "rinse", Condition: oatline.Rinse, From: monday, Every: time.Minute, N: 40})
	if err != nil {
		t.Fatal(err)
	}
	rinses := slices.Collect(rinse.All())
	train := &model.Training{}
	for _, s := range rinses {
		train.Add(oatline.Rinse, s)
	}
	ref, err := reference(t).WithCondition(model.Naming{Name: oatline.Rinse, At: monday}, train)
	if err != nil {
		t.Fatal(err)
	}
	// 40 usual, 6 of rinse, then thinned product for 3 minutes, and usual again.
	day := produced(t, 60, oatline.Upset{Kind: oatline.Dilution, After: 46 * time.Minute, For: 3 * time.Minute, Size: 0.3})
	for i := range 6 {
		s := rinses[i]
		s.Time, s.Run, s.Label = day[40+i].Time, "", ""
		day[40+i] = s
	}
	b := newBench(t)
	for _, part := range [][2]int{{0, 43}, {43, 47}, {47, 60}} {
		b.putAll(day[part[0]:part[1]])
		l := b.line()
		l.References = monitor.Always{Reference: monitor.Of(ref)}
		l.Grace = 4 * time.Minute
		l.Expected = map[string]func(time.Time) bool{oatline.Rinse: func(time.Time) bool { return false }}
		if err := monitor.CatchUp(t.Context(), l); err != nil {
			t.Fatal(err)
		}
	}
	kinds := map[finding.Kind][]int{}
	for i, r := range b.records() {
		for _, f := range r.Reasons {
			if f.About == oatline.Rinse {
				kinds[f.Kind] = append(kinds[f.Kind], i)
			}
		}
	}
	if got, want := kinds[finding.InTransition], []int{46, 47, 48}; !slices.Equal(got, want) {
		t.Errorf("in transition are %v, want %v", got, want)
	}
	if got, want := kinds[finding.Untimely], []int{42, 43, 44, 45}; !slices.Equal(got, want) {
		t.Errorf("outside their times are %v, want %v", got, want)
	}
	if n := strings.Count(b.logged(), "a condition outside its times"); n != 2 { // once in each of the two watches that saw it
		t.Errorf("the log tells %d times of a condition outside its times, want 2: %s", n, b.logged())
	}
}
