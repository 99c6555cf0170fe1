package main

import (
	"testing"
	"time"

	"asusual/model/check"
	"asusual/model/fitness"
)

// TestAgeingSince: the stretch counts in which the instrument was not fit all along; a spectrum's results count together.
func TestAgeingSince(t *testing.T) {
	at := func(hour int) time.Time { return time.Date(2026, 11, 25, hour, 0, 0, 0, time.UTC) }
	one := func(hour int, m check.Measure, s fitness.State) check.Result {
		return check.Result{Measure: m, Time: at(hour), State: s}
	}
	light, dark := check.LightLevel, check.DarkLevel
	for _, tt := range []struct {
		name string
		all  []check.Result
		want time.Time
	}{
		{"nothing", nil, time.Time{}},
		{"fit", []check.Result{one(6, light, fitness.Fit)}, time.Time{}},
		{"unfit at once", []check.Result{one(6, light, fitness.Fit), one(7, light, fitness.Bad)}, at(7)},
		{"ageing first", []check.Result{one(6, light, fitness.Fit), one(7, light, fitness.Ageing), one(8, dark, fitness.Fit), one(9, light, fitness.Bad)}, at(7)},
		{"fit in between", []check.Result{one(6, light, fitness.Ageing), one(7, light, fitness.Fit), one(8, light, fitness.Ageing), one(9, light, fitness.Bad)}, at(8)},
		{"one gets better as another gets worse", []check.Result{one(6, light, fitness.Ageing), one(7, light, fitness.Fit), one(7, dark, fitness.Ageing)}, at(6)},
	} {
		if got := ageingSince(tt.all); !got.Equal(tt.want) {
			t.Errorf("%s: ageingSince = %v, want %v", tt.name, got, tt.want)
		}
	}
}
