package pages

import (
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"asusual/cmd/asusual/shift"
	"asusual/monitor/history"
	"asusual/report"
)

// shelved puts what the index needs of n shifts, three a day, into a folder.
func shelved(t testing.TB, n int) Shelf {
	t.Helper()
	s := Shelf{Folder: t.TempDir(), Site: "Oat works", Zone: time.UTC, Lines: []string{"Filler 3"}}
	for i := range n {
		from := start.Add(-time.Duration(i) * 8 * time.Hour)
		name := []string{"day", "night", "evening"}[i%3]
		one := summary{Version: 1, Line: "Filler 3", Shift: name, From: from, To: from.Add(8 * time.Hour), Verdict: report.AsUsual, Strip: make([]*float64, strips)}
		for j := range one.Strip {
			v := 0.5 + 0.01*float64((i+j)%7)
			one.Strip[j] = &v
		}
		b, err := json.Marshal(one)
		if err != nil {
			t.Fatal(err)
		}
		dir := filepath.Join(s.Folder, from.Format(time.DateOnly), name)
		if err := os.MkdirAll(dir, 0o755); err != nil {
			t.Fatal(err)
		}
		if err := errors.Join(os.WriteFile(filepath.Join(dir, "shift.json"), b, 0o644), os.WriteFile(filepath.Join(dir, HandoverName), nil, 0o644)); err != nil {
			t.Fatal(err)
		}
	}
	return s
}

func TestIndexOverTheFolder(t *testing.T) {
	s := shelved(t, 13)
	if err := os.Remove(filepath.Join(s.Folder, start.Format(time.DateOnly), "day", HandoverName)); err != nil { // not written to the end
		t.Fatal(err)
	}
	if err := s.Index(); err != nil {
		t.Fatal(err)
	}
	b, err := os.ReadFile(filepath.Join(s.Folder, "index.html"))
	if err != nil {
		t.Fatal(err)
	}
	if n := strings.Count(string(b), `/handover.html"`); n != 12 {
		t.Errorf("the index leads to %d reports, want 12", n)
	}
}

// TestADamagedReportIsNamed: what the index needs of one report is damaged, and all others are listed; the damaged one is named, in each way
// that a file can be: cut off, empty, no JSON, of something else.
func TestADamagedReportIsNamed(t *testing.T) {
	s := shelved(t, 12)
	for i, text := range []string{`{"version": 1, "line": "Fil`, "", "oats", `{"line": "Filler 3", "verdict": "fine"}`} {
		from := start.Add(-time.Duration(i) * 8 * time.Hour)
		name := filepath.Join(from.Format(time.DateOnly), []string{"day", "night", "evening"}[i%3], summaryName)
		if err := os.WriteFile(filepath.Join(s.Folder, name), []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
		if err := s.Index(); err != nil {
			t.Fatalf("Index with %q = %v, want the others listed", text, err)
		}
		b, err := os.ReadFile(filepath.Join(s.Folder, "index.html"))
		if err != nil {
			t.Fatal(err)
		}
		if n := strings.Count(string(b), `/handover.html"`); n != 11-i {
			t.Errorf("with %d damaged the index leads to %d reports, want %d", i+1, n, 11-i)
		}
		if want := filepath.ToSlash(name) + " could not be read: its report is not listed here."; !strings.Contains(string(b), want) {
			t.Errorf("the index does not say %q", want)
		}
	}
}

// The reports of a site that had one line, or several, stay in the index where it has more, or one, and are not written a second time.
func TestReportsOfOneLineAndOfSeveral(t *testing.T) {
	span := shift.Span{Name: "day", Date: "2026-11-25", From: start, To: start.Add(8 * time.Hour)}
	next := shift.Span{Name: "day", Date: "2026-11-26", From: start.Add(24 * time.Hour), To: start.Add(32 * time.Hour)}
	for _, lines := range [][2][]string{{{"Filler 3"}, {"Filler 2", "Filler 3"}}, {{"Filler 2", "Filler 3"}, {"Filler 3"}}} {
		before := Shelf{Folder: t.TempDir(), Zone: time.UTC, Lines: lines[0]}
		now := Shelf{Folder: before.Folder, Zone: time.UTC, Lines: lines[1]}
		put := func(s Shelf, span shift.Span) {
			t.Helper()
			one := summary{Version: 1, Line: "Filler 3", Shift: span.Name, From: span.From, To: span.To, Verdict: report.AsUsual, Received: new(7)}
			if _, err := s.lay(s.Of("Filler 3", span), one, report.Page{HTML: []byte("a page")}); err != nil {
				t.Fatal(err)
			}
		}
		listed := func() int {
			t.Helper()
			if err := now.Index(); err != nil {
				t.Fatal(err)
			}
			b, err := os.ReadFile(filepath.Join(now.Folder, "index.html"))
			if err != nil {
				t.Fatal(err)
			}
			return strings.Count(string(b), `/handover.html"`)
		}
		put(before, span)
		put(now, next)
		if n, there := now.Has("Filler 3", span); n != 7 || !there || now.At("Filler 3", span) != before.Of("Filler 3", span) {
			t.Errorf("from %v to %v: the report of before is there: %v, tells of %d, want it there, of 7", lines[0], lines[1], there, n)
		}
		if _, there := now.Has("Filler 2", span); there {
			t.Errorf("from %v to %v: the report of Filler 3 counts as that of Filler 2", lines[0], lines[1])
		}
		if n := listed(); n != 2 {
			t.Errorf("from %v to %v: the index leads to %d reports, want both", lines[0], lines[1], n)
		}
		put(now, span) // made once more, it is listed once
		if n := listed(); n != 2 {
			t.Errorf("from %v to %v: the index leads to %d reports once one is made anew, want 2", lines[0], lines[1], n)
		}
	}
}

// A report whose page could not be written has all that the index needs: once the page is there nothing is missing.
func TestAReportWhosePageIsNotWritten(t *testing.T) {
	folder := t.TempDir()
	if err := os.MkdirAll(filepath.Join(folder, HandoverName, "in the way"), 0o755); err != nil {
		t.Fatal(err)
	}
	if _, err := (Shelf{}).lay(folder, summary{Version: 1, Line: "Filler 3"}, report.Page{HTML: []byte("a page")}); err == nil {
		t.Error("lay = nil, want an error: a folder lies where the page belongs")
	}
	if one, err := (Shelf{}).read(filepath.Join(folder, "shift.json")); err != nil || one.Line != "Filler 3" {
		t.Errorf("what the index needs = %+v, %v, want it there before the page", one, err)
	}
}

// The report that replaces one from the midst of its shift counts once its page is there, not before.
func TestAReportThatReplacesAnEarlyOne(t *testing.T) {
	s, span := Shelf{Folder: t.TempDir(), Lines: []string{"Filler 3"}}, shift.Span{Name: "day", Date: "2026-11-25"}
	folder := s.Of("Filler 3", span)
	early, whole := summary{Version: 1, Line: "Filler 3", Early: start}, summary{Version: 1, Line: "Filler 3"}
	page := report.Page{HTML: []byte("a page")}
	for _, step := range []struct {
		what string
		one  summary
		page report.Page
		want bool
	}{
		{"in the midst of the shift", early, page, false},
		{"after it, with a picture that cannot be written", whole, report.Page{HTML: page.HTML, Pictures: map[string][]byte{"no/folder.png": nil}}, false},
		{"after it", whole, page, true},
	} {
		if _, err := s.lay(folder, step.one, step.page); (err != nil) != (step.page.Pictures != nil) {
			t.Fatalf("%s: lay = %v", step.what, err)
		}
		if _, got := s.Has("Filler 3", span); got != step.want {
			t.Errorf("a report was written %s: Has = %v, want %v", step.what, got, step.want)
		}
	}
}

// Where the times of a shift are others now, a page that is there under its name tells of another stretch: whoever asks for the report gets it,
// also where history has less of it. What was written after the shift as it is now had ended stays by itself: it is of before the change.
func TestAReportOfOtherTimes(t *testing.T) {
	b := newBench(t)
	b.keep(0, history.Batch{}, several(240, usual(0.5))...) // four hours
	s := Shelf{Folder: t.TempDir(), Zone: time.UTC, Lines: []string{"Filler 3"}}
	was := shift.Span{Name: "early", Date: "2026-11-25", From: start, To: start.Add(12 * time.Hour)}
	is := was
	is.To = start.Add(2 * time.Hour)
	page, _, err := s.Put(t.Context(), b.src, was)
	if err != nil {
		t.Fatal(err)
	}
	for _, step := range []struct {
		what    string
		written time.Time
		want    bool
	}{{"before its end", is.To.Add(-time.Minute), false}, {"after it", was.To.Add(time.Minute), true}} {
		if err := os.Chtimes(page, step.written, step.written); err != nil {
			t.Fatal(err)
		}
		if n, there := s.Has("Filler 3", is); n >= 0 || there != step.want {
			t.Errorf("with a page of other times, written %s: Has = %d, %v, want nothing said, %v", step.what, n, there, step.want)
		}
	}
	if _, h, err := s.Put(t.Context(), b.src, is); err != nil || !h.To.Equal(is.To) {
		t.Fatalf("Put over the page of other times = until %v, %v, want it written until %v", h.To, err, is.To)
	}
	if n, there := s.Has("Filler 3", is); n != 120 || !there {
		t.Errorf("Has = %d, %v, want 120 spectra", n, there)
	}
	one := summary{Version: 1, Line: "Filler 3", From: was.From, To: was.To, Received: new(240)}
	if _, err := s.lay(s.Of("Filler 3", is), one, report.Page{HTML: []byte("a page"), Pictures: map[string][]byte{"no/folder.png": nil}}); err == nil {
		t.Fatal("lay = nil, want an error: a picture cannot be written")
	}
	if _, there := s.Has("Filler 3", was); there {
		t.Error("a page over one of other times counts before all of it is there")
	}
}

// A shift of which only copies had come has a page of none, which is not one that does not say of how many it tells.
func TestAReportOfNothing(t *testing.T) {
	s, span := Shelf{Folder: t.TempDir(), Lines: []string{"Filler 3"}}, shift.Span{Name: "day", Date: "2026-11-25"}
	for _, told := range []*int{new(0), nil} {
		if _, err := s.lay(s.Of("Filler 3", span), summary{Version: 1, Line: "Filler 3", Received: told}, report.Page{HTML: []byte("a page")}); err != nil {
			t.Fatal(err)
		}
		if n, there := s.Has("Filler 3", span); !there || (n == 0) != (told != nil) {
			t.Errorf("Has = %d, %v, of a report that says %v", n, there, told)
		}
	}
}

// BenchmarkIndex makes the index over years of shifts, as a watch does at each shift's end.
func BenchmarkIndex(b *testing.B) {
	for _, n := range []int{100, 5000} {
		b.Run(fmt.Sprintf("shifts=%d", n), func(b *testing.B) {
			s := shelved(b, n)
			b.ReportAllocs()
			for b.Loop() {
				if err := s.Index(); err != nil {
					b.Fatal(err)
				}
			}
			if dir := os.Getenv("ASUSUAL_KEEP_PAGES"); dir != "" {
				page, err := os.ReadFile(filepath.Join(s.Folder, "index.html"))
				if err == nil {
					err = os.WriteFile(filepath.Join(dir, fmt.Sprintf("index-%d.html", n)), page, 0o644)
				}
				if err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

// A table that cannot be written, as where a spreadsheet has it open on Windows, keeps neither the page nor the others from being written, and
// is said; the report counts as what it was until all of it is there.
func TestATableThatCannotBeWritten(t *testing.T) {
	b := newBench(t)
	b.keep(0, history.Batch{}, several(60, usual(0.5))...)
	span := shift.Span{Name: "early", Date: "2026-11-25", From: start, To: start.Add(8 * time.Hour)}
	s := Shelf{Folder: t.TempDir(), Zone: time.UTC, Lines: []string{"Filler 3"}}
	inTheWay := func(path string) {
		t.Helper()
		if err := errors.Join(os.RemoveAll(path), os.MkdirAll(filepath.Join(path, "in the way"), 0o755)); err != nil {
			t.Fatal(err)
		}
	}
	inTheWay(filepath.Join(s.Folder, "index-shifts.csv"))
	page, h, err := s.Put(t.Context(), b.src, span)
	if page != filepath.Join(s.Of("Filler 3", span), HandoverName) || h.Verdict != report.AsUsual || err == nil || !strings.Contains(err.Error(), "index-shifts.csv") {
		t.Errorf("Put with a table of the index in use = %q, %q, %v, want the page, its verdict and which table", page, h.Verdict, err)
	}
	index, err := os.ReadFile(filepath.Join(s.Folder, "index.html"))
	if err != nil || strings.Count(string(index), `/handover.html"`) != 1 {
		t.Errorf("the index does not lead to the report, %v", err)
	}
	if _, err := os.Stat(filepath.Join(s.Folder, "index-figures.json")); err != nil {
		t.Error(err)
	}
	if err := os.RemoveAll(filepath.Join(s.Folder, "index-shifts.csv")); err != nil {
		t.Fatal(err)
	}
	inTheWay(filepath.Join(filepath.Dir(page), "distance.csv"))
	b.keep(60, history.Batch{}, several(60, usual(0.5))...)
	for _, want := range []int{60, 120} {
		if again, _, err := s.Put(t.Context(), b.src, span); again != page || (err == nil) != (want == 120) {
			t.Errorf("Put = %q, %v, want the page, and an error where a table is in use", again, err)
		}
		if got, there := s.Has("Filler 3", span); got != want || !there {
			t.Errorf("the report tells of %d, there %v, want %d", got, there, want)
		}
		if err := os.RemoveAll(filepath.Join(filepath.Dir(page), "distance.csv")); err != nil {
			t.Fatal(err)
		}
	}
	inTheWay(filepath.Join(filepath.Dir(page), "distance.csv"))
	one, err := s.read(filepath.Join(filepath.Dir(page), summaryName))
	one.Received = nil // as an earlier version wrote it, which did not say of how much it tells
	if err := errors.Join(err, one.write(filepath.Dir(page))); err != nil {
		t.Fatal(err)
	}
	if _, _, err := s.Put(t.Context(), b.src, span); err == nil {
		t.Error("Put says nothing of the table in use")
	}
	if got, there := s.Has("Filler 3", span); got < 0 || got >= 120 || !there {
		t.Errorf("over the page of an earlier version the report tells of %d, there %v, want less than 120, so that it is made again", got, there)
	}
}

// What an earlier page had beside it and the one in its place has not is taken away, and nothing else. What cannot be is said.
func TestWhatAPageLacksDoesNotStayBesideIt(t *testing.T) {
	folder := t.TempDir()
	first := report.Page{HTML: []byte("a"), Pictures: map[string][]byte{"map.png": nil}, Figures: map[string][]byte{"map.csv": nil, "figures.json": nil}}
	if _, err := Write(folder, "line-card.html", "line-card-", first); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(folder, "map.csv"), nil, 0o644); err != nil { // somebody's own
		t.Fatal(err)
	}
	next := report.Page{HTML: []byte("b"), Figures: map[string][]byte{"figures.json": nil}, Absent: []string{"map.csv", "map.png", "reach.png"}}
	if _, err := Write(folder, "line-card.html", "line-card-", next); err != nil {
		t.Fatal(err)
	}
	var names []string
	left, err := os.ReadDir(folder)
	for _, e := range left {
		names = append(names, e.Name())
	}
	if got := strings.Join(names, " "); err != nil || got != "line-card-figures.json line-card.html map.csv" {
		t.Errorf("after the second page there lie %s, %v, want it, its figures and what is somebody's own", got, err)
	}
	if err := os.MkdirAll(filepath.Join(folder, "line-card-map.csv", "in the way"), 0o755); err != nil {
		t.Fatal(err)
	}
	if paths, err := Write(folder, "line-card.html", "line-card-", next); len(paths) != 2 || err == nil || !strings.Contains(err.Error(), "line-card-map.csv") {
		t.Errorf("Write = %v, %v, want the page, and what could not be taken away", paths, err)
	}
	if IsThere(folder, "line-card.html", "line-card-", next) {
		t.Error("the page is said to be there as it would be written, with what it lacks beside it")
	}
	if err := os.RemoveAll(filepath.Join(folder, "line-card-map.csv")); err != nil || !IsThere(folder, "line-card.html", "line-card-", next) {
		t.Errorf("the page is said not to be there, %v", err)
	}
}
