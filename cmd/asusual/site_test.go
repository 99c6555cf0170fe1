package main

import (
	"bytes"
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

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
	if err := a.site(t.Context(), siteOptions{histories: []string{missing}, out: page, fresh: time.Hour}); err != nil {
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
		{siteOptions{out: page, fresh: time.Hour}, statusDone},
		{siteOptions{out: page, fresh: 29 * time.Minute}, statusCannotSay}, // the last spectrum is half an hour old
		{siteOptions{out: page}, statusDone},
		{siteOptions{out: page, fresh: time.Hour, histories: []string{missing}}, statusCannotSay},
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
