package pages

import (
	"bytes"
	"errors"
	"os"
	"path/filepath"
	"slices"
	"testing"
	"time"

	"asusual/cmd/asusual/shift"
	"asusual/model/finding"
	"asusual/monitor/history"
)

// A shift whose first part was taken out of history keeps the report that it had; where it has none, the report says what it lacks, and
// takes it for no gap.
func TestAShiftThatIsCutInTwo(t *testing.T) {
	const day = 24 * time.Hour
	b := newBench(t)
	b.keep(0, history.Batch{}, several(240, usual(0.5))...)
	b.src.Kept, b.src.Now = 400*day, start.Add(8*time.Hour)
	span := shift.Span{Name: "early", Date: "2026-11-25", From: start, To: start.Add(8 * time.Hour)}
	s := Shelf{Folder: t.TempDir(), Zone: time.UTC, Lines: []string{"Filler 3"}}
	page, whole, err := s.Put(t.Context(), b.src, span)
	if err != nil {
		t.Fatal(err)
	}
	if len(whole.Findings) != 0 || len(whole.Complete.Gaps) != 1 {
		t.Errorf("the report of the shift has the findings %v and the gaps %v, want none, and one after its last spectrum", whole.Findings, whole.Complete.Gaps)
	}
	before, err := os.ReadFile(page)
	if err != nil {
		t.Fatal(err)
	}
	b.src.Now = start.Add(400*day + 3*time.Hour) // the first three hours are too old
	if _, err := b.src.History.Prune(t.Context(), "Filler 3", history.Keep{Spectra: b.src.Kept}, b.src.Now, false); err != nil {
		t.Fatal(err)
	}
	summary := filepath.Join(filepath.Dir(page), summaryName)
	for _, told := range []int{240, -1} { // −1: of a version that did not say
		var fuller *Fuller
		if _, _, err := s.Put(t.Context(), b.src, span); !errors.As(err, &fuller) || fuller.Told != told || fuller.Now != 60 {
			t.Errorf("a report anew over one of %d = %v, want it refused", told, err)
		}
		if after, err := os.ReadFile(page); err != nil || !bytes.Equal(after, before) {
			t.Errorf("the report of %d is another now, %v, want it kept", told, err)
		}
		text, err := os.ReadFile(summary)
		if err := errors.Join(err, os.WriteFile(summary, bytes.Replace(text, []byte(`"received": 240,`), nil, 1), 0o644)); err != nil {
			t.Fatal(err)
		}
	}
	s.Folder = t.TempDir()
	_, part, err := s.Put(t.Context(), b.src, span)
	if err != nil {
		t.Fatal(err)
	}
	cut := finding.Of(finding.TakenOut, "09:00")
	if !slices.ContainsFunc(part.Findings, func(f finding.Finding) bool { return f.String() == cut.String() }) || len(part.Complete.Gaps) != 1 {
		t.Errorf("the report of what is left has the findings %v and the gaps %v, want %v, and the one gap after its last spectrum", part.Findings, part.Complete.Gaps, cut)
	}

	// The first shift of a line, which is not too old, is no cut.
	b.src.Now = start.Add(20 * day)
	if h, err := b.src.Handover(t.Context(), span); err != nil || len(h.Findings) != 0 || len(h.Complete.Gaps) != 2 {
		t.Errorf("the first shift of a line has the findings %v and the gaps %v, %v, want no finding and two gaps", h.Findings, h.Complete.Gaps, err)
	}
}

// A report from the midst of its shift gives way to that of the whole shift, also where history has less than it told of, as after another
// history was begun.
func TestAnEarlyReportOfMoreGivesWay(t *testing.T) {
	b := newBench(t)
	b.keep(0, history.Batch{}, several(240, usual(0.5))...)
	span := shift.Span{Name: "early", Date: "2026-11-25", From: start, To: start.Add(8 * time.Hour)}
	s := Shelf{Folder: t.TempDir(), Zone: time.UTC, Lines: []string{"Filler 3"}}
	b.src.Now = start.Add(7 * time.Hour)
	if _, h, err := s.Put(t.Context(), b.src, span); err != nil || h.Early.IsZero() {
		t.Fatalf("Put in the midst of the shift = %v, early %v", err, h.Early)
	}
	other := newBench(t)
	other.keep(0, history.Batch{}, several(180, usual(0.5))...)
	other.src.Now = start.Add(9 * time.Hour)
	if _, _, err := s.Put(t.Context(), other.src, span); err != nil {
		t.Errorf("Put after the shift, of less = %v, want the report of the shift", err)
	}
	if told, whole := s.Has("Filler 3", span); told != 180 || !whole {
		t.Errorf("the report tells of %d, whole %v, want 180", told, whole)
	}
}
