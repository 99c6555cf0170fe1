package main

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"testing"
	"time"

	"asusual/cmd/asusual/config"
	"asusual/model"
	"asusual/model/verdict"
	"asusual/monitor/history"
)

// lineOf makes a history with one line that stands so since noon.
func lineOf(t *testing.T, path, line string, v verdict.Verdict) {
	t.Helper()
	db, err := history.Open(t.Context(), path, "test")
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	noon := at("2026-11-25T12:00:00Z")
	course, err := json.Marshal(&model.CourseState{Stands: v, Since: noon})
	if err != nil {
		t.Fatal(err)
	}
	b := history.Batch{Line: line, State: history.State{Course: course, Reference: "r", Newest: noon}, Files: []history.Judged{{
		File:    history.File{Name: "a.csv", Version: 1, Modified: noon, Received: noon},
		Records: []history.Record{{Time: noon, Received: noon, Condition: "usual", Verdict: v.String(), Instrument: "fit", Reference: "r"}},
	}}}
	if err := db.Append(t.Context(), b); err != nil {
		t.Fatal(err)
	}
}

func lasts(d time.Duration) *time.Duration { return &d }

// Lines of several histories stand on one page; one that cannot be read is said, and hides none of the others.
func TestSiteOverSeveralHistories(t *testing.T) {
	dir := t.TempDir()
	lineOf(t, filepath.Join(dir, "asusual.history"), "Filler 1", verdict.AsUsual)
	lineOf(t, filepath.Join(dir, "east.history"), "Filler 2", verdict.Changed)
	file := filepath.Join(dir, "asusual.toml")
	if err := os.WriteFile(file, []byte("[site]\ntime-zone = \"UTC\"\nhistories = [\"east.history\"]\n"), 0o644); err != nil {
		t.Fatal(err)
	}
	var out, said bytes.Buffer
	a := &app{out: &out, errOut: &said, configFile: file, json: true, now: func() time.Time { return at("2026-11-25T12:30:00Z") }}
	missing, page := filepath.Join(dir, "none.history"), filepath.Join(dir, "lines.html")
	if err := a.site(t.Context(), siteOptions{histories: []string{missing}, out: page, fresh: lasts(time.Hour)}); err != nil {
		t.Fatal(err)
	}
	if a.status != statusChanged {
		t.Errorf("exit status %d, want %d: one line has changed", a.status, statusChanged)
	}
	for _, want := range []string{`"line":"Filler 1","verdict":"as usual","since":"2026-11-25T12:00:00Z"`, `"line":"Filler 2","verdict":"the process has changed"`,
		`"instrument":"fit","watched_by":null`, "none.history: no history there"} {
		if !strings.Contains(out.String(), want) {
			t.Errorf("site --json has no %s:\n%s", want, out.String())
		}
	}
	html, err := os.ReadFile(page)
	if err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{"One line of 2 has changed.", "30 min ago", "none.history"} {
		if !strings.Contains(string(html), want) {
			t.Errorf("the page has no %q", want)
		}
	}
	calm := filepath.Join(dir, "calm.toml")
	if err := os.WriteFile(calm, []byte("[site]\ntime-zone = \"UTC\"\n"), 0o644); err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		o    siteOptions
		want int
	}{
		{siteOptions{out: page, fresh: lasts(time.Hour)}, statusDone},
		{siteOptions{out: page, fresh: lasts(29 * time.Minute)}, statusCannotSay}, // the last spectrum is half an hour old
		{siteOptions{out: page, fresh: lasts(0)}, statusDone},
		{siteOptions{out: page}, statusDone},
		{siteOptions{out: page, fresh: lasts(time.Hour), histories: []string{missing}}, statusCannotSay},
	} {
		a.configFile, a.status = calm, -1
		if err := a.site(t.Context(), c.o); err != nil || a.status != c.want {
			t.Errorf("site with %+v = %v, exit status %d, want %d", c.o, err, a.status, c.want)
		}
	}
	alone := filepath.Join(dir, "alone.toml")
	if err := os.WriteFile(alone, []byte("[history]\nfile = \"none.history\"\n"), 0o644); err != nil {
		t.Fatal(err)
	}
	a.configFile = alone
	if err := a.site(t.Context(), siteOptions{out: page}); err == nil || !strings.Contains(err.Error(), "none.history") {
		t.Errorf("site where no history answers = %v, want an error that names it", err)
	}
}

// A line is as fresh on the page as its configuration has it, as it is for its watch, unless the page is asked otherwise; of a line of
// another history nothing is stated here.
func TestSiteTakesEachLineAsFreshAsIsStated(t *testing.T) {
	dir := t.TempDir()
	own, east := filepath.Join(dir, "asusual.history"), filepath.Join(dir, "east.history")
	lineOf(t, own, "Filler 1", verdict.AsUsual)
	lineOf(t, east, "Filler 1", verdict.AsUsual)
	file := filepath.Join(dir, "asusual.toml")
	for name, every := range map[string]time.Duration{"slow.reference": 2 * time.Hour, "quick.reference": time.Minute} {
		ref, _, err := (&app{}).reference(filepath.Join("..", "..", "model", "testdata", "version-4.reference"), config.Line{})
		if err != nil {
			t.Fatal(err)
		}
		ref.Limits.Every = every
		f, err := os.Create(filepath.Join(dir, name))
		if err := errors.Join(err, ref.Encode(f), f.Close()); err != nil {
			t.Fatal(err)
		}
	}
	a := &app{configFile: file, now: func() time.Time { return at("2026-11-25T14:00:00Z") }} // two hours after the last spectrum
	for _, c := range []struct {
		stated string
		o      siteOptions
		want   int
	}{
		{"", siteOptions{}, statusCannotSay},
		{`fresh = "12h"`, siteOptions{}, statusDone},
		{`fresh = "0s"`, siteOptions{}, statusDone},
		{`fresh = "12h"`, siteOptions{fresh: lasts(time.Hour)}, statusCannotSay},
		{`fresh = "10m"`, siteOptions{fresh: lasts(3 * time.Hour)}, statusDone},
		{`fresh = "12h"`, siteOptions{histories: []string{east}}, statusCannotSay},
		{`reference = "slow.reference"`, siteOptions{}, statusDone}, // its spectra come every few hours
		{"reference = \"slow.reference\"\nfresh = \"10m\"", siteOptions{}, statusDone},
		{`reference = "slow.reference"`, siteOptions{fresh: lasts(time.Hour)}, statusCannotSay},
		{`reference = "quick.reference"`, siteOptions{}, statusCannotSay},
	} {
		text := "[site]\ntime-zone = \"UTC\"\n[[line]]\nname = \"Filler 1\"\n" + c.stated + "\n"
		if err := os.WriteFile(file, []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
		var out bytes.Buffer
		a.out, a.errOut, a.status = &out, &out, -1
		c.o.out = filepath.Join(dir, "lines.html")
		if err := a.site(t.Context(), c.o); err != nil || a.status != c.want {
			t.Errorf("site of a line with %q, asked %v = %v, exit status %d, want %d:\n%s", c.stated, c.o.fresh, err, a.status, c.want, out.String())
		}
	}
}

// A line that got another name, or that nobody has watched for a month, does not keep the page from saying how the others stand.
func TestSiteDoesNotCountLinesThatAreOutOfUse(t *testing.T) {
	dir := t.TempDir()
	own, east := filepath.Join(dir, "asusual.history"), filepath.Join(dir, "east.history")
	lineOf(t, own, "Line 1", verdict.AsUsual)
	lineOf(t, own, "Filler 3", verdict.AsUsual)
	lineOf(t, east, "Filler 4", verdict.Changed)
	file := filepath.Join(dir, "asusual.toml")
	for name, c := range map[string]struct {
		lines     string
		now       string
		histories []string
		want      int
		left      int
	}{
		"renamed":            {"[[line]]\nname = \"Filler 3\"\nfresh = \"12h\"\n", "2026-11-25T13:30:00Z", nil, statusDone, 1},
		"watched still":      {"[[line]]\nname = \"Filler 3\"\n", "2026-11-25T12:30:00Z", nil, statusDone, 0},
		"both in use":        {"[[line]]\nname = \"Filler 3\"\n[[line]]\nname = \"Line 1\"\n", "2026-11-25T12:30:00Z", nil, statusDone, 0},
		"no line named":      {"", "2026-11-25T12:30:00Z", nil, statusDone, 0},
		"another's, lately":  {"[[line]]\nname = \"Filler 3\"\nfresh = \"0s\"\n", "2026-12-25T11:00:00Z", []string{east}, statusCannotSay, 1},
		"another's, of old":  {"[[line]]\nname = \"Filler 3\"\nfresh = \"0s\"\n", "2026-12-25T13:00:00Z", []string{east}, statusDone, 2},
		"in use, and of old": {"[[line]]\nname = \"Filler 3\"\n", "2026-12-25T13:00:00Z", nil, statusCannotSay, 1},
	} {
		if err := os.WriteFile(file, []byte("[site]\ntime-zone = \"UTC\"\n"+c.lines), 0o644); err != nil {
			t.Fatal(err)
		}
		var out bytes.Buffer
		a := &app{out: &out, errOut: &out, configFile: file, json: true, status: -1, now: func() time.Time { return at(c.now) }}
		err := a.site(t.Context(), siteOptions{histories: c.histories, out: filepath.Join(dir, "lines.html")})
		if left := strings.Count(out.String(), `"out_of_use":true`); err != nil || a.status != c.want || left != c.left {
			t.Errorf("%s: site = %v, exit status %d with %d lines out of use, want %d with %d:\n%s", name, err, a.status, left, c.want, c.left, out.String())
		}
	}
}

// While the page is shown, an older copy of a history that was put back is what it shows.
func TestSiteOfAHistoryThatWasReplaced(t *testing.T) {
	if runtime.GOOS == "windows" {
		t.Skip("a file that is open cannot be replaced there")
	}
	dir := t.TempDir()
	own, copied := filepath.Join(dir, "asusual.history"), filepath.Join(dir, "copy.history")
	lineOf(t, own, "Filler 3", verdict.Changed)
	lineOf(t, copied, "Filler 3", verdict.AsUsual)
	open := &histories{}
	defer open.close()
	for i, want := range []verdict.Verdict{verdict.Changed, verdict.Changed, verdict.AsUsual, verdict.AsUsual} {
		if i == 2 {
			if err := os.Rename(copied, own); err != nil {
				t.Fatal(err)
			}
		}
		if all, err := open.standings(t.Context(), own); err != nil || len(all) != 1 || all[0].Verdict != want.String() {
			t.Errorf("asked for the %d. time: standings = %+v, %v, want %q", i+1, all, err, want)
		}
	}
}

// So does a copy that was written over the file, which stays the same to the system; what a log had beside it is taken away first.
func TestSiteOfAHistoryThatWasCopiedOver(t *testing.T) {
	if runtime.GOOS == "windows" {
		t.Skip("what lies beside an open file cannot be taken away there")
	}
	dir := t.TempDir()
	own, copied := filepath.Join(dir, "asusual.history"), filepath.Join(dir, "copy.history")
	lineOf(t, own, "Filler 3", verdict.Changed)
	lineOf(t, copied, "Filler 3", verdict.AsUsual)
	watch, err := history.Open(t.Context(), own, "asusual watch") // its log is in use
	if err != nil {
		t.Fatal(err)
	}
	open := &histories{}
	defer open.close()
	for i, want := range []verdict.Verdict{verdict.Changed, verdict.Changed, verdict.AsUsual} {
		if i == 2 {
			if err := watch.Close(); err != nil {
				t.Fatal(err)
			}
			for _, beside := range []string{"-wal", "-shm"} {
				if err := os.Remove(own + beside); err != nil && !errors.Is(err, fs.ErrNotExist) {
					t.Fatal(err)
				}
			}
			b, err := os.ReadFile(copied)
			if err == nil {
				err = os.WriteFile(own, b, 0o644)
			}
			if err != nil {
				t.Fatal(err)
			}
		}
		if all, err := open.standings(t.Context(), own); err != nil || len(all) != 1 || all[0].Verdict != want.String() {
			t.Errorf("asked for the %d. time: standings = %+v, %v, want %q", i+1, all, err, want)
		}
	}
}

// A line whose name was changed in its capitals alone is another to history: the old one is out of use.
func TestSiteKnowsNamesByTheirCapitals(t *testing.T) {
	dir := t.TempDir()
	own, file := filepath.Join(dir, "asusual.history"), filepath.Join(dir, "asusual.toml")
	lineOf(t, own, "filler 3", verdict.AsUsual)
	lineOf(t, own, "Filler 3", verdict.AsUsual)
	if err := os.WriteFile(file, []byte("[[line]]\nname = \"Filler 3\"\nfresh = \"12h\"\n"), 0o644); err != nil {
		t.Fatal(err)
	}
	var out bytes.Buffer
	a := &app{out: &out, errOut: &out, configFile: file, json: true, status: -1, now: func() time.Time { return at("2026-11-25T14:00:00Z") }}
	err := a.site(t.Context(), siteOptions{out: filepath.Join(dir, "lines.html")})
	if err != nil || a.status != statusDone || !strings.Contains(out.String(), `"filler 3"`) || strings.Count(out.String(), `"out_of_use":true`) != 1 {
		t.Errorf("site = %v, exit status %d, want 0 with filler 3 out of use:\n%s", err, a.status, out.String())
	}
}

// A history that is named twice, by whatever path, stands on the page once.
func TestSiteNamesEachHistoryOnce(t *testing.T) {
	dir := t.TempDir()
	t.Chdir(dir)
	for _, name := range []string{"a.history", "b.history"} {
		if err := os.WriteFile(name, nil, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	whole := filepath.Join(dir, "a.history")
	from := []string{whole, "b.history", "a.history", "./b.history", "postgres://h/x", "none.history", "./none.history", "postgres://h/x", "postgres://h/y", "other.history"}
	want := []string{whole, "b.history", "postgres://h/x", "none.history", "postgres://h/y", "other.history"}
	if got := distinct(from); !slices.Equal(got, want) {
		t.Errorf("distinct(%q) = %q, want %q", from, got, want)
	}
}

// A reader who goes away while histories are asked leaves no trouble behind for the others, and one who asks still when the page ends
// leaves no history open.
func TestSitePageOutlivesItsReaders(t *testing.T) {
	path := filepath.Join(t.TempDir(), "asusual.history")
	lineOf(t, path, "Filler 1", verdict.AsUsual)
	open := &histories{from: []string{path}}
	p := &sitePage{app: &app{now: func() time.Time { return at("2026-11-25T12:30:00Z") }}, config: &config.Config{}, open: open, fresh: lasts(time.Hour)}
	gone, leave := context.WithCancel(t.Context())
	leave()
	if html, _, err := p.told(gone); !errors.Is(err, context.Canceled) || html != nil {
		t.Errorf("told to one who is gone = %d bytes, %v, want the error alone", len(html), err)
	}
	html, figures, err := p.told(t.Context())
	if err != nil || !strings.Contains(string(html), "All lines are as usual.") || !strings.Contains(string(figures), `"Filler 1"`) {
		t.Errorf("told to the next = %v, %s, want the line and no trouble", err, figures)
	}
	open.close()
	if _, err := open.standings(t.Context(), path); err == nil {
		t.Error("a history of a page that has ended is asked, want an error")
	}
	late := &histories{from: open.from, ended: true}
	if _, err := late.standings(t.Context(), path); err == nil || len(late.open) != 0 {
		t.Errorf("after the end %d histories are open, %v, want none and an error", len(late.open), err)
	}
}
