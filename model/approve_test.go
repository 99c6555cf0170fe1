package model_test

import (
	"bytes"
	"strings"
	"testing"
	"time"

	"asusual/model"
	"asusual/model/oatline"
)

func TestApprove(t *testing.T) {
	r := reference(t)
	at := monday.Add(time.Hour)
	one, err := r.Approve(" A. Miller ", "held against last week's laboratory results", at)
	if err != nil {
		t.Fatal(err)
	}
	two, err := one.Approve("B. Smith", "seen", at.Add(time.Hour))
	if err != nil {
		t.Fatal(err)
	}
	if len(r.Approved()) != 0 || len(one.Approved()) != 1 || len(one.Approvals) != 1 || len(two.Approvals) != 2 {
		t.Errorf("approvals = %v, %v, %v, want none, one and two", r.Approvals, one.Approvals, two.Approvals)
	}
	if got, want := one.Approvals[0], (model.Approval{By: "A. Miller", Note: "held against last week's laboratory results", At: at, Of: r.Fingerprint()}); got != want {
		t.Errorf("Approve = %+v, want %+v", got, want)
	}
	if two.Fingerprint() != r.Fingerprint() {
		t.Errorf("fingerprint after two approvals = %s, want %s as before", two.Fingerprint(), r.Fingerprint())
	}
	back, err := model.Decode(bytes.NewReader(encode(t, two)))
	if err != nil || len(back.Approvals) != 2 || back.Approvals[0] != two.Approvals[0] || back.Fingerprint() != r.Fingerprint() {
		t.Errorf("Decode of an approved reference = %+v, %v, want both approvals and the same fingerprint", back, err)
	}
	if bytes.Equal(encode(t, two), encode(t, r)) {
		t.Error("the file of an approved reference is that of one that is not")
	}
}

// A version that nobody has seen is not approved; who approved the one before is still known.
func TestAVersionHasToBeApprovedAnew(t *testing.T) {
	approved, err := reference(t).Approve("A. Miller", "seen", monday)
	if err != nil {
		t.Fatal(err)
	}
	next, err := approved.WithoutCondition(oatline.Rinse, monday.Add(time.Hour))
	if err != nil {
		t.Fatal(err)
	}
	back, err := model.Decode(bytes.NewReader(encode(t, next)))
	if err != nil {
		t.Fatal(err)
	}
	for _, r := range []*model.Reference{next, back} {
		if now := r.Approved(); len(now) != 0 || len(r.Approvals) != 1 || r.Approvals[0].Of != approved.Fingerprint() {
			t.Errorf("a new version: approved %v, of all versions %v; want no approval of it, and that of the one before", now, r.Approvals)
		}
	}
	if again, err := back.Approve("A. Miller", "seen", monday.Add(2*time.Hour)); err != nil || len(again.Approved()) != 1 || len(again.Approvals) != 2 {
		t.Errorf("Approve of the new version = %v, want it approved", err)
	}
}

func TestApproveRefuses(t *testing.T) {
	r := reference(t)
	once, err := r.Approve("A. Miller", "seen", monday)
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		of             *model.Reference
		by, note, want string
	}{
		{r, " ", "seen", "the name"},
		{r, "A. Miller", "\n", "on what grounds"},
		{r, strings.Repeat("a", 201), "seen", "201"},
		{r, "A", strings.Repeat("a", 2001), "2001"},
		{r, "\xff", "seen", "UTF-8"},
		{once, "A. Miller", "seen", "already, at 2026-11-16T06:00:00Z"},
	} {
		if n, err := c.of.Approve(c.by, c.note, monday); n != nil || err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("Approve(%.10q, %.10q) = %v, %v, want an error with %q", c.by, c.note, n, err, c.want)
		}
	}
}

// An approval that was carried over from another reference by hand is none.
func TestAnApprovalOfAnotherIsNone(t *testing.T) {
	r, err := reference(t).Approve("A. Miller", "seen", monday)
	if err != nil {
		t.Fatal(err)
	}
	r.Approvals[0].Of = "000000000000"
	if back, err := model.Decode(bytes.NewReader(encode(t, r))); err != nil || len(back.Approved()) != 0 {
		t.Errorf("Decode with an approval of another = %v, want it read and not approved", err)
	}
}

// The source is kept in the file, and how many files a run stood in.
func TestSourceIsKept(t *testing.T) {
	all := training(t, line(t, 1))[:300]
	src := model.Source{Computer: "office", Program: "0123456789ab", Folders: []string{"/data/good"}, Files: 300, Bytes: 4711, Written: monday}
	r := learn(t, all, model.Options{Source: src})
	back, err := model.Decode(bytes.NewReader(encode(t, r)))
	if err != nil {
		t.Fatal(err)
	}
	if s := back.Source; s.Computer != "office" || s.Files != 300 || s.Bytes != 4711 || !s.Written.Equal(monday) || len(s.Folders) != 1 || s.IsZero() {
		t.Errorf("source after reading = %+v, want %+v", s, src)
	}
	for _, run := range back.Learning.Runs {
		if run.Files != run.Spectra {
			t.Errorf("run %s: %d spectra in %d files, want as many", run.Name, run.Spectra, run.Files)
		}
	}
}
