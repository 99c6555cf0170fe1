package model_test

import (
	"bytes"
	"strings"
	"testing"

	"asusual/model"
	"asusual/model/oatline"
	"asusual/model/pretreat"
)

// TestNamingACondition: a place that was uncharted gets a name, and loses it again; nothing else changes.
func TestNamingACondition(t *testing.T) {
	l, r := line(t, 1), reference(t)
	leak := oatline.Upset{Kind: oatline.Dilution, Size: 0.18}
	var tr model.Training
	for _, s := range stretch(t, l, 20, oatline.InUse, 60, leak) {
		tr.Add("leak", s)
	}
	named, err := r.WithCondition("leak", &tr, monday)
	if err != nil {
		t.Fatal(err)
	}
	today := stretch(t, l, 20, oatline.InUse, 30, leak)
	for _, s := range today {
		if got := r.Judge(s).Condition; got != model.Uncharted {
			t.Errorf("before it is named, a leak is %q, want uncharted", got)
		}
	}
	called := 0
	for _, s := range today {
		if named.Judge(s).Condition == "leak" {
			called++
		}
	}
	if called < 27 {
		t.Errorf("after it is named, %d of 30 spectra of a leak are called so, want at least 27", called)
	}
	if n := len(named.Revisions); n != 1 || named.Revisions[0].Of != r.Fingerprint() {
		t.Errorf("revisions %+v, want one of %s", named.Revisions, r.Fingerprint())
	}
	back, err := model.Decode(bytes.NewReader(encode(t, named)))
	if err != nil {
		t.Fatal(err)
	}
	forgot, err := back.WithoutCondition("leak", monday)
	if err != nil {
		t.Fatal(err)
	}
	for _, s := range today {
		if got, want := forgot.Judge(s).Condition, r.Judge(s).Condition; got != want {
			t.Errorf("after it is forgotten, a leak is %q, want %q", got, want)
		}
	}
	if len(forgot.Revisions) != 2 || len(r.Revisions) != 0 || len(r.Conditions) != 2 {
		t.Errorf("%d revisions, and the first reference has %d revisions and %d conditions; want 2, 0, 2", len(forgot.Revisions), len(r.Revisions), len(r.Conditions))
	}
}

func TestNamingRefuses(t *testing.T) {
	l, r := line(t, 1), reference(t)
	var few, usual model.Training
	for _, s := range stretch(t, l, 20, oatline.InUse, 5, oatline.Upset{Kind: oatline.Dilution, Size: 0.3}) {
		few.Add("leak", s)
	}
	for _, s := range stretch(t, l, 20, oatline.InUse, 60) {
		usual.Add("quiet", s)
	}
	tests := []struct {
		name string
		tr   *model.Training
		want string
	}{
		{"rinse", &few, "already"},
		{"usual", &few, "meaning of its own"},
		{"", &few, "needs a name"},
		{"leak", &few, "5 spectra, at least"},
		{"nothing", &few, "no spectrum"},
		{"quiet", &usual, "lie within usual"},
	}
	for _, tt := range tests {
		if _, err := r.WithCondition(tt.name, tt.tr, monday); err == nil || !strings.Contains(err.Error(), tt.want) {
			t.Errorf("WithCondition(%q) = %v, want an error with %q", tt.name, err, tt.want)
		}
	}
	if _, err := r.WithoutCondition("leak", monday); err == nil {
		t.Error("WithoutCondition of a condition that is not there = nil, want an error")
	}
}

// TestExtending: a version that was learned anew from more keeps the history, and a condition that was named meanwhile where
// it can: with another pretreatment a place is not the same place.
func TestExtending(t *testing.T) {
	l, r := line(t, 1), reference(t)
	leak := oatline.Upset{Kind: oatline.Dilution, Size: 0.18}
	var tr model.Training
	for _, s := range stretch(t, l, 20, oatline.InUse, 60, leak) {
		tr.Add("leak", s)
	}
	named, err := r.WithCondition("leak", &tr, monday)
	if err != nil {
		t.Fatal(err)
	}
	more := append(training(t, l), stretch(t, l, 11, oatline.InUse, 60)...)
	for _, c := range []struct {
		steps []pretreat.Step
		lost  int
	}{{nil, 0}, {[]pretreat.Step{{Name: "snv"}, {Name: "derivative", Window: 30, Degree: 2, Order: 1}}, 1}} {
		next, lost := learn(t, more, model.Options{Pretreat: c.steps}).Extending(named, monday, "more")
		if len(lost) != c.lost || c.lost > 0 && lost[0] != "leak" {
			t.Errorf("with steps %v lost %q, want %d", c.steps, lost, c.lost)
		}
		if n := len(next.Revisions); n != 2 || next.Revisions[1].Of != named.Fingerprint() || next.Revisions[1].What != "more" {
			t.Errorf("revisions %+v, want that of the name and one of %s", next.Revisions, named.Fingerprint())
		}
		if n := len(next.Conditions); n != 3-c.lost {
			t.Errorf("%d conditions, want %d", n, 3-c.lost)
		}
		back, err := model.Decode(bytes.NewReader(encode(t, next)))
		if err != nil {
			t.Fatal(err)
		}
		called := 0
		for _, s := range stretch(t, l, 20, oatline.InUse, 30, leak) {
			if back.Judge(s).Condition == "leak" {
				called++
			}
		}
		if c.lost == 0 && called < 27 {
			t.Errorf("%d of 30 spectra of a leak are called so, want at least 27", called)
		}
	}
	if len(named.Conditions) != 3 || len(named.Revisions) != 1 {
		t.Errorf("the version before has %d conditions and %d revisions, want 3 and 1, as they were", len(named.Conditions), len(named.Revisions))
	}
}
