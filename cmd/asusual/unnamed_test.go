package main

import (
	"bytes"
	"log/slog"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"asusual/cmd/asusual/config"
	"asusual/cmd/asusual/words"
	"asusual/model/verdict"
	"asusual/monitor/history"
)

// A line that got another name is told of, by doctor and at the start of a watch; after a month doctor finds it fine, and the log is silent.
func TestALineThatNothingNames(t *testing.T) {
	path := filepath.Join(t.TempDir(), "asusual.history")
	lineOf(t, path, "Line 1", verdict.AsUsual)
	lineOf(t, path, "Filler 3", verdict.AsUsual)
	db, err := history.Read(t.Context(), path)
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	for _, c := range []struct {
		names []string
		day   string
		state string
		said  bool
	}{
		{[]string{"Filler 3"}, "2026-11-26", look, true},
		{[]string{"Filler 3"}, "2026-12-26", fine, false},
		{[]string{"FILLER 3", "line 1"}, "2026-11-26", "", false}, // history has neither so
		{[]string{"Filler 3", "LINE 1"}, "2026-11-26", "", false},
		{nil, "2026-11-26", "", false},
	} {
		cfg := &config.Config{History: path}
		for _, name := range c.names {
			cfg.Lines = append(cfg.Lines, config.Line{Name: name})
		}
		now := at(c.day + "T12:00:00Z")
		e := &examination{config: cfg, now: now}
		e.unnamed(t.Context(), db)
		state := ""
		for _, s := range e.found {
			if state = s.State; !strings.Contains(s.Text, `"Line 1"`) || s.State == look && s.Try == "" {
				t.Errorf("doctor on %s with %v says %q, try %q, want it to name Line 1, and what to try", c.day, c.names, s.Text, s.Try)
			}
		}
		if state != c.state || len(e.found) > 1 {
			t.Errorf("doctor on %s with %v finds %+v, want one thing that is %q", c.day, c.names, e.found, c.state)
		}
		var out bytes.Buffer
		a := &app{now: func() time.Time { return now }}
		if err := a.tellUnnamed(t.Context(), cfg, db, slog.New(words.Advising{Handler: slog.NewTextHandler(&out, nil)})); err != nil {
			t.Fatal(err)
		}
		if said := strings.Contains(out.String(), `line="Line 1"`) && strings.Contains(out.String(), "try="); said != c.said {
			t.Errorf("the log of a start on %s with %v says %q, want that of Line 1 something is said: %v", c.day, c.names, out.String(), c.said)
		}
	}
}
