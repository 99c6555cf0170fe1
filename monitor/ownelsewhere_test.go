package monitor

import (
	"log/slog"
	"path/filepath"
	"testing"
	"time"

	"asusual/model"
	"asusual/model/check"
	"asusual/model/intake"
	"asusual/model/spectrum"
	"asusual/monitor/history"
)

// elsewhereOf returns a committer that takes in darks, and such a dark.
func elsewhereOf(t *testing.T) (c *committer, dark func(at time.Time) spectrum.Spectrum) {
	t.Helper()
	db, err := history.Open(t.Context(), filepath.Join(t.TempDir(), "history"), "test")
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = db.Close() })
	rules := check.Rules{{Role: check.Dark, Name: "dark*"}}
	c = &committer{line: &Line{Name: "Filler 3", History: db, Log: slog.New(slog.DiscardHandler), Instrument: &Instrument{Options: intake.Options{Rules: rules}}}}
	c.course.Course = new(model.Course)
	if err := c.loadOwn(t.Context()); err != nil {
		t.Fatal(err)
	}
	axis, err := spectrum.NewAxis(spectrum.Nanometre, []float64{1000, 1010, 1020, 1030})
	if err != nil {
		t.Fatal(err)
	}
	return c, func(at time.Time) spectrum.Spectrum {
		return spectrum.Spectrum{Axis: axis, Values: []float64{500, 501, 502, 501}, Quantity: spectrum.Intensity, File: "dark.csv", Time: at}
	}
}

// A dark of 2099 from a folder besides the watched one does not end the checks of those that come after it.
func TestElsewhereAfterATimeToCome(t *testing.T) {
	c, dark := elsewhereOf(t)
	now := time.Now().Add(time.Minute)
	c.ownElsewhere(dark(now.AddDate(73, 0, 0)))
	for i := range 2 * putBackAfter {
		c.ownElsewhere(dark(now.Add(time.Duration(i) * time.Hour)))
	}
	if newest := c.own.clock.newest; newest.After(now.AddDate(1, 0, 0)) {
		t.Errorf("the newest check after %d darks = %v, want the last of them", 2*putBackAfter, newest)
	}
	if n := len(c.batch.Checks); n < putBackAfter {
		t.Errorf("%d results of checks, want one at least of each dark after the thirtieth", n)
	}
}

// Of a folder of many old darks, those that are at hand stay, and no start takes others in for them.
func TestElsewhereKeepsTheNewest(t *testing.T) {
	c, dark := elsewhereOf(t)
	start := time.Date(2026, 11, 25, 6, 0, 0, 0, time.UTC)
	for i := range keepLights + 5 {
		c.ownElsewhere(dark(start.Add(time.Duration(i) * time.Minute)))
	}
	c.own.news = false
	for i := range keepLights + 5 { // as the next start finds them
		c.ownElsewhere(dark(start.Add(time.Duration(i) * time.Minute)))
	}
	if c.own.news {
		t.Error("a dark that is older than all at hand was taken in")
	}
	if darks := c.own.atHand(check.Dark); len(darks) != keepLights || !darks[0].Time.Equal(start.Add(5*time.Minute)) {
		t.Errorf("%d darks at hand from %v on, want the newest %d", len(darks), darks[0].Time, keepLights)
	}
}

// What cannot be read there is kept also where the file bears a time of change that no history can keep, once.
func TestElsewhereAFileOfAnImpossibleTime(t *testing.T) {
	c, _ := elsewhereOf(t)
	came := time.Now()
	a := arrival{reason: "no spectrum", file: history.File{Name: "/dark/1.csv", Size: 7, Modified: time.Date(1601, 1, 1, 0, 0, 0, 0, time.UTC), Received: came}}
	for range 2 {
		if err := c.fromElsewhere(t.Context(), a); err != nil {
			t.Fatal(err)
		}
		c.batch.Line = c.line.Name
		if err := c.line.History.Append(t.Context(), c.batch); err != nil {
			t.Fatalf("Append = %v, want it kept", err)
		}
		c.batch = history.Batch{}
	}
	n := 0
	for u, err := range c.line.History.Unreadable(t.Context(), history.Query{Line: c.line.Name}) {
		if n++; err != nil || u.Time.Before(came.Truncate(time.Second)) || u.Time.After(time.Now()) {
			t.Errorf("Unreadable = %+v, %v, want it when it came", u, err)
		}
	}
	if n != 1 {
		t.Errorf("%d unreadable files, want the one, once", n)
	}
}
