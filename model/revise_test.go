package model_test

import (
	"bytes"
	"strings"
	"testing"

	"asusual/model"
	"asusual/model/oatline"
)

// TestNamingACondition: a place that was uncharted gets a name, and loses it again; nothing else changes.
func TestNamingACondition(t *testing.T) {
	l, r := line(t, 1), reference(t)
	leak := oatline.Upset{Kind: oatline.Dilution, Size: 0.18}
	var tr model.Training
	for _, s := range stretch(t, l, 20, oatline.InUse, 60, leak) {
		tr.Add("leak", s)
	}
	named, err := r.WithCondition(model.Naming{Name: "leak", Group: "group 2026-12-06 A", At: monday}, &tr)
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
		{"transition", &few, "meaning of its own"},
		{"leak", &few, "5 spectra, at least"},
		{"nothing", &few, "no spectrum"},
		{"quiet", &usual, "lie within usual"},
	}
	for _, tt := range tests {
		if _, err := r.WithCondition(model.Naming{Name: tt.name, At: monday}, tt.tr); err == nil || !strings.Contains(err.Error(), tt.want) {
			t.Errorf("WithCondition(%q) = %v, want an error with %q", tt.name, err, tt.want)
		}
	}
	if _, err := r.WithoutCondition("leak", monday); err == nil {
		t.Error("WithoutCondition of a condition that is not there = nil, want an error")
	}
}
