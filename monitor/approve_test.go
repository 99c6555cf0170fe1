package monitor_test

import (
	"bytes"
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"asusual/model"
	"asusual/monitor"
)

func put(t *testing.T, path string, r *model.Reference) {
	t.Helper()
	var buf bytes.Buffer
	if err := r.Encode(&buf); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(path, buf.Bytes(), 0o644); err != nil {
		t.Fatal(err)
	}
}

func approved(t *testing.T, r *model.Reference, by string) *model.Reference {
	t.Helper()
	a, err := r.Approve(by, "held against the laboratory", monday)
	if err != nil {
		t.Fatal(err)
	}
	return a
}

// Where only approved references are accepted, another is refused at the start and later, and one that gets its approval is
// taken up.
func TestOnlyApprovedReferencesAreAccepted(t *testing.T) {
	path := filepath.Join(t.TempDir(), "line.reference")
	bare := reference(t)
	put(t, path, bare)
	if _, err := monitor.NewApprovedFile(path, nil); !errors.Is(err, monitor.ErrNotApproved) || !strings.Contains(err.Error(), bare.Fingerprint()) {
		t.Fatalf("NewApprovedFile of one that nobody approved = %v, want %v with its fingerprint", err, monitor.ErrNotApproved)
	}
	b := newBench(t)
	put(t, path, approved(t, bare, "Ada"))
	refs, err := monitor.NewApprovedFile(path, b.line().Log)
	if err != nil {
		t.Fatal(err)
	}
	other := *approved(t, bare, "Ada")
	other.Name = "another version"
	next := &other
	for i, step := range []struct {
		file      *model.Reference
		want      string
		approvals int
	}{
		{next, bare.Fingerprint(), 1}, // the new version is not approved: that before stays
		{approved(t, next, "Bob"), next.Fingerprint(), 1},
		{approved(t, approved(t, next, "Bob"), "Cleo"), next.Fingerprint(), 2},
	} {
		put(t, path, step.file)
		refs.LookNow()
		got, err := refs.Current()
		if err != nil || got.Fingerprint != step.want || len(got.Model.Approved()) != step.approvals {
			t.Errorf("step %d: in force is %s with %d approvals, %v, want %s with %d", i, got.Fingerprint, len(got.Model.Approved()), err, step.want, step.approvals)
		}
	}
	if log := b.logged(); !strings.Contains(log, "is refused; the one before stays in force") || !strings.Contains(log, "the approvals of the reference are others") {
		t.Errorf("log = %s, want the refusal and the further approval", log)
	}
}

// A watch that starts while a version waits for its approval judges by the one before, whoever wrote that version: a command, which
// keeps the one before, or a person who copied it over, after which the watch that ran has kept it.
func TestTheOneBeforeIsInForceAfterAStart(t *testing.T) {
	b := newBench(t)
	path := filepath.Join(t.TempDir(), "line.reference")
	first := approved(t, reference(t), "Ada")
	put(t, path, first)
	refs, err := monitor.NewApprovedFile(path, b.line().Log)
	if err != nil {
		t.Fatal(err)
	}
	next := *first
	next.Name = "another version"
	put(t, path, &next)
	if _, err := monitor.NewApprovedFile(path, nil); !errors.Is(err, monitor.ErrNotApproved) {
		t.Fatalf("NewApprovedFile where the one before is not kept = %v, want %v", err, monitor.ErrNotApproved)
	}
	refs.LookNow()
	if _, err := refs.Current(); err != nil { // the watch that runs meets it
		t.Fatal(err)
	}
	again, err := monitor.NewApprovedFile(path, b.line().Log)
	if err != nil {
		t.Fatalf("NewApprovedFile after the watch that ran met the version that waits: %v", err)
	}
	for i, step := range []struct {
		file *model.Reference
		want string
	}{
		{nil, first.Fingerprint()}, // as it started
		{approved(t, &next, "Bob"), next.Fingerprint()},
	} {
		if step.file != nil {
			put(t, path, step.file)
			again.LookNow()
		}
		if got, err := again.Current(); err != nil || got.Fingerprint != step.want {
			t.Errorf("step %d: in force is %s, %v, want %s", i, got.Fingerprint, err, step.want)
		}
	}
	if log := b.logged(); !strings.Contains(log, "the new reference is not approved; the one before is in force") {
		t.Errorf("log = %s, want it said that the one before is in force", log)
	}
	put(t, path, &next)
	put(t, monitor.InForce(path), &next) // which nobody approved either
	if _, err := monitor.NewApprovedFile(path, nil); !errors.Is(err, monitor.ErrNotApproved) {
		t.Errorf("NewApprovedFile where nobody approved the one before = %v, want %v", err, monitor.ErrNotApproved)
	}
}

// What was kept while a version waited is not in force again once another was approved, by whatever way that came: on the same computer, or
// copied over from another while the watch runs or before it starts.
func TestTheOneBeforeIsOfOneVersionAlone(t *testing.T) {
	first := approved(t, reference(t), "Ada")
	version := func(name string) *model.Reference {
		next := *first
		next.Name, next.Approvals = name, nil
		return &next
	}
	for _, running := range []bool{true, false} {
		path := filepath.Join(t.TempDir(), "line.reference")
		put(t, path, version("second"))
		put(t, monitor.InForce(path), first)
		refs, err := monitor.NewApprovedFile(path, nil)
		if err != nil {
			t.Fatal(err)
		}
		put(t, path, approved(t, version("second"), "Bob"))
		if running {
			refs.LookNow()
			_, err = refs.Current()
		} else {
			_, err = monitor.NewApprovedFile(path, nil)
		}
		if err != nil {
			t.Fatal(err)
		}
		put(t, path, version("third"))
		if _, err := monitor.NewApprovedFile(path, nil); !errors.Is(err, monitor.ErrNotApproved) {
			t.Errorf("running %v: the third version waits, and NewApprovedFile = %v, want %v: the first is long out of force", running, err, monitor.ErrNotApproved)
		}
	}
}

// History has each approval once, whether a watch meets it or somebody notes it while nobody watches.
func TestApprovalsAreKeptOnce(t *testing.T) {
	b := newBench(t)
	ref := approved(t, reference(t), "Ada")
	if err := monitor.NoteApprovals(t.Context(), b.db, "Filler 3", ref, time.Time{}); err != nil {
		t.Fatal(err)
	}
	ref = approved(t, ref, "Bob")
	line := b.line()
	line.References = monitor.Always{Reference: monitor.Of(ref)}
	stop := watching(t, line)
	look := time.NewTicker(20 * time.Millisecond)
	defer look.Stop()
	for end := time.Now().Add(time.Minute); b.acts() != "approved, approved, " && time.Now().Before(end); {
		<-look.C
	}
	stop()
	if err := monitor.NoteApprovals(t.Context(), b.db, "Filler 3", ref, time.Time{}); err != nil {
		t.Fatal(err)
	}
	acts := all(t, b.db.Acts(t.Context(), everything))
	if len(acts) != 2 || acts[0].Who != "Ada" || acts[1].Who != "Bob" || acts[0].State != "normal" || !acts[0].Time.Equal(monday) ||
		acts[0].Why != "held against the laboratory (reference "+ref.Fingerprint()+")" {
		t.Errorf("Acts = %+v, want the approvals of Ada and Bob, once each", acts)
	}
}

// An approval that history kept as long as it was to is not noted again by the next start.
func TestAnApprovalThatWasPruned(t *testing.T) {
	b := newBench(t)
	ref := approved(t, reference(t), "Ada")
	ref, err := ref.Approve("Bob", "held against the laboratory", monday.AddDate(0, 0, 20))
	if err != nil {
		t.Fatal(err)
	}
	line := b.line()
	line.References, line.KeepActs = monitor.Always{Reference: monitor.Of(ref)}, 14*24*time.Hour
	line.Now = func() time.Time { return monday.AddDate(0, 0, 21) }
	stop := watching(t, line)
	defer stop()
	eventually(t, "Bob's approval is noted", func() bool { return b.acts() != "" })
	stop()
	if acts := all(t, b.db.Acts(t.Context(), everything)); len(acts) != 1 || acts[0].Who != "Bob" {
		t.Errorf("Acts = %+v, want Bob's approval, and not Ada's of three weeks ago", acts)
	}
}
