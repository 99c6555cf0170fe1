package main

import (
	"os"
	"path/filepath"
	"slices"
	"testing"
	"time"

	"asusual/cmd/asusual/config"
	"asusual/cmd/asusual/gather"
)

// A zone that is wrong moves all times alike, by a multiple of a quarter of an hour; anything else is none.
func TestZoneOff(t *testing.T) {
	h, m, s := time.Hour, time.Minute, time.Second
	for _, c := range []struct {
		off  []time.Duration
		want time.Duration
	}{
		{[]time.Duration{2*h - s, 2 * h, 2*h - 3*s}, 2 * h},
		{[]time.Duration{-5*h - 30*m, -5*h - 30*m - s, -5*h - 30*m - 9*s}, -5*h - 30*m},
		{[]time.Duration{5*h + 45*m, 5*h + 45*m, 5*h + 44*m}, 5*h + 45*m}, // Kathmandu
		{[]time.Duration{-s, -2 * s, 0}, 0},                               // as it should be
		{[]time.Duration{2 * h, 2 * h}, 0},                                // too few
		{[]time.Duration{2 * h, 3 * h, 2 * h}, 0},                         // not alike: files that were copied
		{[]time.Duration{2*h + 7*m, 2*h + 7*m, 2*h + 7*m}, 0},             // a clock that is wrong, and no zone
		{[]time.Duration{15 * m, 15 * m, 15 * m}, 0},                      // no zone is that near
		{[]time.Duration{-72 * h, -72 * h, -72 * h}, 0},                   // copied days later
		{nil, 0},
	} {
		if got := zoneOff(slices.Clone(c.off)); got != c.want {
			t.Errorf("zoneOff(%v) = %v, want %v", c.off, got, c.want)
		}
	}
}

// The clock is looked at by the newest files: their times against when they were written, and whether they go back.
func TestDoctorLooksAtTheClock(t *testing.T) {
	now := time.Date(2026, 11, 25, 12, 0, 0, 0, time.UTC)
	for _, c := range []struct {
		name  string
		at    func(i int) time.Time // that file i, written i−20 minutes from now, says
		check string
	}{
		{"as it should be", func(i int) time.Time { return now.Add(time.Duration(i-20) * time.Minute) }, "clock"},
		{"an hour off", func(i int) time.Time { return now.Add(time.Duration(i-20)*time.Minute - time.Hour) }, "clock.zone"},
		{"in the future", func(i int) time.Time { return now.Add(time.Duration(i) * time.Minute) }, "clock.future"},
		{"put back", func(i int) time.Time { return now.Add(time.Duration(i-20-i/10*7) * time.Minute) }, "clock.step"},
		{"no times", func(int) time.Time { return time.Time{} }, "clock"},
	} {
		e := &examination{app: &app{}, config: &config.Config{}, now: now}
		var newest []lying
		alone := map[string]time.Time{}
		var last time.Time
		for i := range 20 {
			f := lying{File: gather.File{Path: filepath.Join("spectra", string(rune('a'+i)))}, written: now.Add(time.Duration(i-20) * time.Minute)}
			newest = append(newest, f)
			alone[f.Path] = c.at(i)
			if alone[f.Path].After(last) {
				last = alone[f.Path]
			}
		}
		e.clock(config.Line{Name: "Filler 3"}, newest, alone, last)
		if len(e.found) != 1 || e.found[0].Check != c.check || (e.found[0].State == fine) != (c.check == "clock") {
			t.Errorf("clock, %s = %+v, want %s alone", c.name, e.found, c.check)
		}
	}
}

// Nothing is written into a watched folder unasked, and nothing of what is tried stays anywhere.
func TestDoctorWritesNothingUnasked(t *testing.T) {
	dir := t.TempDir()
	watched := filepath.Join(dir, "spectra")
	if err := os.Mkdir(watched, 0o755); err != nil {
		t.Fatal(err)
	}
	at := time.Date(2026, 1, 1, 0, 0, 0, 0, time.UTC)
	if err := os.Chtimes(watched, at, at); err != nil {
		t.Fatal(err)
	}
	l := config.Line{Name: "Filler 3", Watch: watched}
	c := &config.Config{History: filepath.Join(dir, "h"), Reports: filepath.Join(dir, "reports"), Lines: []config.Line{l}, Signal: config.Signal{State: filepath.Join(dir, "state.json")}}
	e := &examination{app: &app{}, config: c, now: time.Now(), pace: map[string]float64{}}
	e.folders()
	e.notified(t.Context(), l)
	e.disks()
	if info, err := os.Stat(watched); err != nil || !info.ModTime().Equal(at) {
		t.Errorf("the watched folder was changed at %v, %v, want it untouched since %v", info.ModTime(), err, at)
	}
	e.opt.writeTest = true
	e.notified(t.Context(), l)
	for _, folder := range []string{dir, watched} {
		left, err := os.ReadDir(folder)
		if err != nil || folder == dir && len(left) != 1 || folder == watched && len(left) != 0 {
			t.Errorf("left in %s: %v, %v, want nothing of doctor's", folder, left, err)
		}
	}
	var checks []string
	for _, s := range e.found {
		checks = append(checks, s.Check+" "+s.State)
		if s.Text == "" || s.State != fine && s.Try == "" {
			t.Errorf("%+v says nothing, or not what to try", s)
		}
	}
	if !slices.Contains(checks, "folder fine") || len(checks) < 6 {
		t.Errorf("checks = %v, want three folders, two notifications and a disk", checks)
	}
}
