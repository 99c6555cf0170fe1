package model_test

import (
	"bytes"
	"errors"
	"slices"
	"testing"
	"time"

	"asusual/model"
	"asusual/model/condition"
	"asusual/model/oatline"
	"asusual/model/pretreat"
)

// TestRenewing: a version that was learned anew keeps the history, and a condition that was named meanwhile: as it is where spectra
// are pretreated in the same way, else learned again from its spectra; where there is neither, it is said to be lost.
func TestRenewing(t *testing.T) {
	l, r := line(t, 1), reference(t)
	leak := oatline.Upset{Kind: oatline.Dilution, Size: 0.18}
	leaking := func() *model.Training {
		var tr model.Training
		for _, s := range stretch(t, l, 20, oatline.InUse, 60, leak) {
			tr.Add("leak", s)
		}
		return &tr
	}
	named, err := r.WithCondition(model.Naming{Name: "leak", Group: "group 2026-12-06 A", At: monday}, leaking())
	if err != nil {
		t.Fatal(err)
	}
	if named, err = named.Approve("Process owner", "as on the line", monday); err != nil {
		t.Fatal(err)
	}
	gone := errors.New("the files are gone")
	more := append(training(t, l), stretch(t, l, 11, oatline.InUse, 60)...)
	derivative := []pretreat.Step{{Name: "snv"}, {Name: "derivative", Window: 30, Degree: 2, Order: 1}}
	for _, c := range []struct {
		name  string
		steps []pretreat.Step
		again func(*condition.Class) (*model.Training, error)
		want  error
	}{
		{"in the same space", nil, nil, nil},
		{"in another space, without spectra", derivative, nil, model.ErrOtherSpace},
		{"in another space, spectra gone", derivative, func(*condition.Class) (*model.Training, error) { return nil, gone }, gone},
		{"in another space, learned again", derivative, func(*condition.Class) (*model.Training, error) { return leaking(), nil }, nil},
	} {
		next, lost := learn(t, more, model.Options{Pretreat: c.steps}).Renewing(named, model.Renewal{At: monday.Add(time.Hour), What: "more", NamedOnly: true, Again: c.again})
		if c.want != nil {
			if len(lost) != 1 || lost[0].Class.Name != "leak" || !errors.Is(lost[0].Why, c.want) {
				t.Errorf("%s: lost %+v, want the leak because of %v", c.name, lost, c.want)
			}
			continue
		}
		if len(lost) > 0 {
			t.Errorf("%s: lost %v, want nothing", c.name, lost[0].Why)
		}
		if n := len(next.Revisions); n != 2 || next.Revisions[1].Of != named.Fingerprint() || next.Revisions[1].What != "more" || !next.Revisions[1].Anew {
			t.Errorf("%s: revisions %+v, want that of the name and one of %s", c.name, next.Revisions, named.Fingerprint())
		}
		if len(next.Approvals) != 1 || len(next.Approved()) != 0 {
			t.Errorf("%s: %d approvals, %d of them of this version; want that of the version before, which does not hold for this one", c.name, len(next.Approvals), len(next.Approved()))
		}
		if got := next.FirstLearned(); !got.Equal(r.Learned) {
			t.Errorf("%s: first learned %v, want %v", c.name, got, r.Learned)
		}
		if got := next.Conditions[len(next.Conditions)-1]; got.Name != "leak" || got.Group != "group 2026-12-06 A" || len(next.Map.Places) != len(next.Conditions)+1 {
			t.Errorf("%s: the last condition is %q from %q, on a map of %d; want the leak with its group", c.name, got.Name, got.Group, len(next.Map.Places))
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
		if called < 27 {
			t.Errorf("%s: %d of 30 spectra of a leak are called so, want at least 27", c.name, called)
		}
	}
	if len(named.Conditions) != 3 || len(named.Revisions) != 1 {
		t.Errorf("the version before has %d conditions and %d revisions, want 3 and 1, as they were", len(named.Conditions), len(named.Revisions))
	}
}

// TestRenewingConditionsOfFolders: a condition whose folder nothing names any more stays with what is only more of the same, and
// goes with what was learned from folders alone.
func TestRenewingConditionsOfFolders(t *testing.T) {
	r := reference(t) // knows two conditions from folders
	l := line(t, 1)
	bare := learn(t, training(t, l), model.Options{})
	bare.Conditions = nil
	for namedOnly, want := range map[bool]int{false: len(r.Conditions), true: 0} {
		next, lost := bare.Renewing(r, model.Renewal{At: monday, What: "more", NamedOnly: namedOnly})
		if len(lost) != 0 || len(next.Conditions) != want {
			t.Errorf("NamedOnly %v: %d conditions, lost %v; want %d, none", namedOnly, len(next.Conditions), lost, want)
		}
	}
}

// TestSameUsual: a condition more leaves usual as it is; learning anew does not.
func TestSameUsual(t *testing.T) {
	l, r := line(t, 1), reference(t)
	forgot, err := r.WithoutCondition(r.Conditions[0].Name, monday)
	if err != nil {
		t.Fatal(err)
	}
	if got, want := forgot.SameUsual(), []string{forgot.Fingerprint(), r.Fingerprint()}; !slices.Equal(got, want) {
		t.Errorf("SameUsual = %q, want %q", got, want)
	}
	next, _ := learn(t, training(t, l), model.Options{}).Renewing(forgot, model.Renewal{At: monday})
	last, err := next.WithoutCondition(next.Conditions[0].Name, monday)
	if err != nil {
		t.Fatal(err)
	}
	if got, want := last.SameUsual(), []string{last.Fingerprint(), next.Fingerprint()}; !slices.Equal(got, want) {
		t.Errorf("after it was learned anew SameUsual = %q, want %q", got, want)
	}
}
