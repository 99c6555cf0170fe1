package monitor

import (
	"testing"
	"time"

	"asusual/model"
	"asusual/model/limits"
)

// A line that measures every two hours is not silent an hour after each spectrum.
func TestASlowLineIsNotSilent(t *testing.T) {
	slow := &Reference{Model: &model.Reference{Limits: &limits.Limits{Gap: 8 * time.Hour}}}
	quick := &Reference{Model: &model.Reference{Limits: &limits.Limits{Gap: time.Minute}}}
	for _, c := range []struct {
		fresh time.Duration
		ref   *Reference
		want  time.Duration
	}{
		{time.Hour, slow, 8 * time.Hour}, {time.Hour, quick, time.Hour}, {time.Hour, nil, time.Hour}, {0, slow, 0}, {48 * time.Hour, slow, 48 * time.Hour},
	} {
		k := &committer{line: &Line{Fresh: c.fresh}, ref: c.ref}
		if got := k.fresh(); got != c.want {
			t.Errorf("fresh = %v under a reference of %+v: %v, want %v", c.fresh, c.ref, got, c.want)
		}
	}
}
