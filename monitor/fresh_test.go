package monitor

import (
	"testing"
	"time"

	"asusual/model"
	"asusual/model/limits"
)

// A line that measures every two hours, or sets of spectra so far apart, is not silent an hour after each; one that measures often is, however
// long its line stopped within a run.
func TestASlowLineIsNotSilent(t *testing.T) {
	under := func(l limits.Limits) *Reference { return &Reference{Model: &model.Reference{Limits: &l}} }
	slow := under(limits.Limits{Every: 2 * time.Hour, Gap: 40 * time.Hour})
	sets := under(limits.Limits{Every: 5 * time.Second, Often: 2 * time.Hour, Gap: 6 * time.Hour})
	quick := under(limits.Limits{Every: 10 * time.Second, Gap: 139 * time.Minute})
	for _, c := range []struct {
		fresh time.Duration
		ref   *Reference
		want  time.Duration
	}{
		{time.Hour, slow, 8 * time.Hour}, {time.Hour, sets, 8 * time.Hour}, {time.Hour, quick, time.Hour}, {10 * time.Minute, quick, 10 * time.Minute},
		{time.Hour, nil, time.Hour}, {0, slow, 0}, {48 * time.Hour, slow, 48 * time.Hour},
	} {
		k := &committer{line: &Line{Fresh: c.fresh}, ref: c.ref}
		if got := k.fresh(); got != c.want {
			t.Errorf("fresh = %v under a reference of %+v: %v, want %v", c.fresh, c.ref, got, c.want)
		}
	}
}
