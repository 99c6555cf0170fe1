package main

import (
	"bytes"
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"asusual/model/finding"
	"asusual/monitor"
	"asusual/monitor/keep"
)

// The worst verdict decides, where somebody watches; where nobody does, nothing can be said.
func TestStatusOfTheLines(t *testing.T) {
	now := at("2026-11-25T12:00:00Z")
	lines := func(verdicts ...string) []monitor.Status {
		var all []monitor.Status
		for _, v := range verdicts {
			all = append(all, monitor.Status{Line: v, Verdict: v})
		}
		return all
	}
	const usual, changed, cannot = "as usual", "the process has changed", "cannot say"
	for _, c := range []struct {
		what    string
		age     time.Duration
		stopped bool
		lines   []monitor.Status
		want    int
	}{
		{"usual", time.Minute, false, lines(usual, usual), statusDone},
		{"one changed", time.Minute, false, lines(usual, changed, cannot), statusChanged},
		{"changed last", 0, false, lines(cannot, changed), statusChanged},
		{"one cannot say", 0, false, lines(usual, cannot), statusCannotSay},
		{"no line yet", 0, false, nil, statusCannotSay},
		{"stopped", 0, true, lines(usual), statusCannotSay},
		{"at the border", silentAfter, false, lines(usual), statusDone},
		{"silent", silentAfter + time.Second, false, lines(usual), statusCannotSay},
		{"silent after a change", time.Hour, false, lines(changed), statusCannotSay},
		{"a clock a little ahead", -time.Minute, false, lines(usual), statusDone},
		{"another clock", -time.Hour, false, lines(usual), statusCannotSay},
	} {
		b := monitor.Bulletin{Heartbeat: now.Add(-c.age), Stopped: c.stopped, Lines: c.lines}
		if got := statusOf(b, pulseOf(b, false, now, time.UTC)); got != c.want {
			t.Errorf("%s: exit status %d, want %d", c.what, got, c.want)
		}
	}
}

// What a watch said last does not hold where nothing is judged: its exit status, its sentence and its JSON say so.
func TestStatusOfALineOfWhichNothingIsJudged(t *testing.T) {
	now := at("2026-11-28T08:00:00Z")
	long := monitor.Status{Line: "Filler 3", Verdict: "as usual", Since: now.Add(-9 * time.Hour), LastSpectrum: now.Add(-2 * time.Hour)}
	away := long
	away.Trouble, away.TroubleSince = "the folder cannot be listed: no such file or directory", now.Add(-30*time.Minute)
	passing := away
	passing.TroubleSince = now.Add(-time.Second)
	silent := long.At(now)
	silent.Verdict, silent.LastVerdict, silent.Since = "cannot say", "as usual", now.Add(-2*time.Hour) // as its watch writes it
	dim := long
	dim.Instrument, dim.InstrumentWhy = "ageing", []finding.Finding{finding.Of(finding.LightLevel, "all channels", 75, 20)}
	for _, c := range []struct {
		what   string
		status monitor.Status
		exit   int
		says   string
		last   string
	}{
		{"trouble", away, statusCannotSay, "Filler 3: cannot say: nothing is judged since 2026-11-28 07:30; what was said last is: as usual.\n  trouble: the folder", "as usual"},
		{"trouble of a moment", passing, statusDone, "Filler 3: as usual, since 2026-11-27 23:00.\n  trouble: the folder", "as usual"},
		{"silent", silent, statusCannotSay, "Filler 3: cannot say: nothing is judged since 2026-11-28 06:00; what was said last is: as usual.\n", "as usual"},
		{"a lamp to look at", dim, statusDone, "limit 20 % away: look at lamp, window and fibre\n                   caution: the light source of a probe is hot and bright: isolate it before", "as usual"},
		{"silent and let be", long, statusDone, "Filler 3: as usual, since", "as usual"},
	} {
		dir := t.TempDir()
		state, err := json.Marshal(monitor.Bulletin{PID: 1, Started: now, Heartbeat: now, Lines: []monitor.Status{c.status}})
		if err != nil {
			t.Fatal(err)
		}
		for name, text := range map[string]string{"asusual.toml": "[site]\ntime-zone = \"UTC\"\n[[line]]\nname = \"Filler 3\"\n[signal]\nstate = \"state.json\"\n", "state.json": string(state)} {
			if err := os.WriteFile(filepath.Join(dir, name), []byte(text), 0o644); err != nil {
				t.Fatal(err)
			}
		}
		for _, asJSON := range []bool{false, true} {
			var out bytes.Buffer
			a := &app{out: &out, json: asJSON, configFile: filepath.Join(dir, "asusual.toml"), now: func() time.Time { return now }}
			want := c.says
			if asJSON {
				want = `"last_verdict":"` + c.last + `"`
			}
			if err := a.tellStatus(t.Context(), statusOptions{}); err != nil || a.status != c.exit || !strings.Contains(out.String(), want) {
				t.Errorf("%s: status = %v, exit status %d, want %d and %q in\n%s", c.what, err, a.status, c.exit, want, &out)
			}
		}
	}
}

// A watch that was killed is not said to watch for the minutes until its silence would tell.
func TestStatusAfterAKill(t *testing.T) {
	path := filepath.Join(t.TempDir(), "history")
	if isFree(path) {
		t.Error("isFree where no watch ever was = true, want false: it may be elsewhere")
	}
	h, err := keep.Take(path+".lock", keep.Holder{Name: "watch", PID: 4711})
	if err != nil {
		t.Fatal(err)
	}
	now := at("2026-11-25T12:00:00Z")
	b := monitor.Bulletin{PID: 4711, Heartbeat: now, Lines: []monitor.Status{{Line: "Filler 3", Verdict: "as usual"}}}
	for _, watched := range []bool{true, false} {
		p := pulseOf(b, isFree(path), now, time.UTC)
		if p.watched != watched || strings.Contains(p.words, "ended without a word") == watched {
			t.Errorf("pulseOf = %+v, want watched %v", p, watched)
		}
		if err := h.Release(); err != nil {
			t.Fatal(err)
		}
	}
}

// What a watch left out, and what is the instrument's own, stands in the JSON as well.
func TestStatusJSONCountsAll(t *testing.T) {
	var out bytes.Buffer
	a := &app{out: &out, json: true}
	b := monitor.Bulletin{Lines: []monitor.Status{{Line: "Filler 3", Copies: 12, Own: 34}}}
	if err := a.statusJSON(b, pulse{}, time.UTC); err != nil || !strings.Contains(out.String(), `"copies":12,"own":34`) {
		t.Errorf("status --json = %v, want the copies and the own in it:\n%s", err, out.String())
	}
}

// A line that the watch was not told of is not passed over: nothing can be said of it.
func TestStatusOfALineThatNobodyWatches(t *testing.T) {
	dir, now := t.TempDir(), at("2026-11-25T12:00:00Z")
	state, err := json.Marshal(monitor.Bulletin{PID: 1, Started: now, Heartbeat: now, Lines: []monitor.Status{{Line: "Filler 3", Verdict: "as usual", Since: now}}})
	if err != nil {
		t.Fatal(err)
	}
	for name, text := range map[string]string{"asusual.toml": "[[line]]\nname = \"Filler 3\"\n[[line]]\nname = \"Filler 4\"\n[signal]\nstate = \"state.json\"\n", "state.json": string(state)} {
		if err := os.WriteFile(filepath.Join(dir, name), []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	for only, want := range map[string]int{"": statusCannotSay, "Filler 3": statusDone, "filler 4": statusCannotSay} {
		var out bytes.Buffer
		a := &app{out: &out, configFile: filepath.Join(dir, "asusual.toml"), now: func() time.Time { return now }}
		if err := a.tellStatus(t.Context(), statusOptions{line: only}); err != nil || a.status != want {
			t.Errorf("status --line %q = %v, exit status %d, want %d:\n%s", only, err, a.status, want, &out)
		}
		if said := strings.Contains(out.String(), "Filler 4: cannot say.\n  trouble: no watch has told of it; "); said != (only != "Filler 3") {
			t.Errorf("status --line %q says of Filler 4: %v\n%s", only, said, &out)
		}
	}
}
