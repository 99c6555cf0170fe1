package main

import (
	"bytes"
	"context"
	"fmt"
	"log/slog"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"asusual/cmd/asusual/config"
	"asusual/cmd/asusual/gather"
	"asusual/model/check"
	"asusual/model/finding"
	"asusual/model/fitness"
	"asusual/model/spectrum"
)

var lineWithChecks = config.Line{Name: "Filler 3", Instrument: config.Instrument{
	Rules: check.Rules{{Role: check.Dark, Name: "dark*"}, {Role: check.Reference, Name: "white*"}},
	Check: check.Settings{First: 2},
}}

// raw is a spectrum of 32 channels with that much light above a dark of 500 counts, at a minute after six.
func raw(t *testing.T, name string, minute int, light float64) spectrum.Spectrum {
	t.Helper()
	at, v := make([]float64, 32), make([]float64, 32)
	for i := range at {
		at[i] = 1000 + 10*float64(i)
		v[i] = 500 + float64((i*7+minute*3)%5) + light*(1+float64(i)/100)
	}
	a, err := spectrum.NewAxis(spectrum.Nanometre, at)
	if err != nil {
		t.Fatal(err)
	}
	return spectrum.Spectrum{Axis: a, Values: v, Quantity: spectrum.Intensity, File: name, Time: time.Date(2026, 11, 25, 6, minute, 0, 0, time.UTC)}
}

// TestReady: absorbances are made with the darks and references so far, and those are set aside.
func TestReady(t *testing.T) {
	k, err := newLights(lineWithChecks, spectrum.Options{}, nil)
	if err != nil {
		t.Fatal(err)
	}
	if _, _, _, err := k.ready(raw(t, "oat.csv", 0, 2000)); err == nil || !strings.Contains(err.Error(), "no dark spectrum is there") {
		t.Errorf("a sample before any dark: %v", err)
	}
	for i, want := range []check.Role{check.Dark, check.Reference} {
		name, light := "dark.csv", 0.0
		if want == check.Reference {
			name, light = "white.csv", 20000
		}
		if _, role, _, err := k.ready(raw(t, name, i+1, light)); err != nil || role != want || k.aside[role] != 1 {
			t.Errorf("ready(%s) = %v, %v, want it set aside as %v", name, role, err, want)
		}
	}
	got, role, _, err := k.ready(raw(t, "oat.csv", 12, 2000))
	if err != nil || role != check.Sample || got.Quantity != spectrum.Absorbance || math.Abs(got.Values[5]-1) > 0.01 {
		t.Errorf("a sample of a tenth of the light: %v, %v; want an absorbance of 1", got.Values, err)
	}
	if text := k.summary(); len(text) != 1 || text[0] != "2 spectra of the instrument's own set aside; asusual instrument looks at them" {
		t.Errorf("summary = %q", text)
	}
}

// TestStood: how the instrument stands is known from each check on, whatever the order of files, and whatever is still to be changed.
func TestStood(t *testing.T) {
	lamp := lineWithChecks
	lamp.Instrument.Check.Since = time.Date(2099, 1, 1, 0, 0, 0, 0, time.UTC)
	for _, l := range []config.Line{lineWithChecks, lamp} {
		testStood(t, l)
	}
}

func testStood(t *testing.T, l config.Line) {
	k, err := newLights(l, spectrum.Options{}, nil)
	if err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	for i, light := range []float64{20000, 20000, 20000, 4000} {
		writeRaw(t, dir, raw(t, fmt.Sprintf("dark%d.csv", i), 10*i, 0))
		writeRaw(t, dir, raw(t, fmt.Sprintf("white%d.csv", i), 10*i+1, light))
	}
	listing, err := gather.List([]string{dir}, nil)
	if err != nil {
		t.Fatal(err)
	}
	a := &app{errOut: &bytes.Buffer{}, out: &bytes.Buffer{}, quiet: true}
	if err := k.fill(t.Context(), a, &input{line: l, listing: listing}); err != nil {
		t.Fatal(err)
	}
	if n := len(k.stood); n != 8 || k.stood[6].state != fitness.Fit || k.stood[7].state != fitness.Bad || k.stood[7].why[0].Kind != finding.LightLevel {
		t.Errorf("with since %v the instrument stood as %+v, want it unfit from the last reference on", l.Instrument.Check.Since, k.stood)
	}
}

func writeRaw(t *testing.T, dir string, s spectrum.Spectrum) {
	t.Helper()
	var b strings.Builder
	fmt.Fprintf(&b, "# time: %s\n# axis: nm\n# quantity: intensity\n", s.Time.Format(time.RFC3339))
	for i, v := range s.Values {
		fmt.Fprintf(&b, "%g,%.2f\n", s.Axis.At(i), v)
	}
	if err := os.WriteFile(filepath.Join(dir, s.File), []byte(b.String()), 0o644); err != nil {
		t.Fatal(err)
	}
}

// TestFill: what is there at the start is taken in the order of time, once, and only from files that may hold it.
func TestFill(t *testing.T) {
	dir := t.TempDir()
	write := func(s spectrum.Spectrum) { writeRaw(t, dir, s) }
	write(raw(t, "white a.csv", 2, 20000)) // its dark comes after it by name, and before it in time
	write(raw(t, "dark z.csv", 1, 0))
	if err := os.WriteFile(filepath.Join(dir, "oat.csv"), []byte("no spectrum"), 0o644); err != nil {
		t.Fatal(err)
	}
	k, err := newLights(lineWithChecks, spectrum.Options{}, nil)
	if err != nil {
		t.Fatal(err)
	}
	listing, err := gather.List([]string{dir}, nil)
	if err != nil {
		t.Fatal(err)
	}
	a := &app{errOut: &bytes.Buffer{}, out: &bytes.Buffer{}, quiet: true}
	src := &input{line: lineWithChecks, listing: listing}
	for range 2 {
		if err := k.fill(context.Background(), a, src); err != nil {
			t.Fatal(err)
		}
	}
	if d, r := k.in.Checks().Store().Counts(); d != 1 || r != 1 {
		t.Errorf("%d darks and %d references are kept, want one of each", d, r)
	}
	if _, _, why := k.in.Checks().Instrument(); len(why) > 0 {
		t.Errorf("says %v, want nothing: the dark was before the reference", why)
	}
	_, role, _, err := k.ready(raw(t, "dark z.csv", 1, 0)) // the watch finds the file, too
	if d, _ := k.in.Checks().Store().Counts(); err != nil || role != check.Dark || d != 1 {
		t.Errorf("the same dark again: %v, %v, %d are kept; want it once", role, err, d)
	}
	if plain, err := newLights(config.Line{}, spectrum.Options{}, nil); plain != nil || err != nil {
		t.Errorf("newLights without an instrument = %v, %v; want nothing", plain, err)
	}
}

func TestMayCheck(t *testing.T) {
	k := &lights{rules: check.Rules{{Role: check.Dark, Folder: "dark"}, {Role: check.Reference, Name: "w*", Label: "tile"}}}
	for path, want := range map[string]bool{"a/dark/1.csv": true, "a/w1.csv": true, "a/oat.csv": false} {
		if got := k.mayCheck(path); got != want {
			t.Errorf("mayCheck(%q) = %v, want %v", path, got, want)
		}
	}
	k.rules = append(k.rules, check.Rule{Role: check.Standard, Label: "oxides"})
	if !k.mayCheck("a/oat.csv") {
		t.Error("a rule by label alone may fit in any file, and oat.csv is not looked at")
	}
}

// A line is watched though a folder of its instrument's own spectra is not there, or nothing lies in it: the others are read, only for
// what is newer than what was checked.
func TestInstrumentWithoutAFolder(t *testing.T) {
	good, empty, away := t.TempDir(), t.TempDir(), filepath.Join(t.TempDir(), "away")
	for i := range 3 {
		writeRaw(t, good, raw(t, fmt.Sprintf("dark%d.csv", i), 10*i, 0))
	}
	l := lineWithChecks
	l.Watch, l.Instrument.From = t.TempDir(), []string{away, empty, good}
	var said bytes.Buffer
	a := &app{errOut: &bytes.Buffer{}, out: &bytes.Buffer{}, quiet: true}
	in, again, err := a.instrumentOf(t.Context(), l, spectrum.Options{}, slog.New(slog.NewTextHandler(&said, nil)))
	if err != nil {
		t.Fatal(err)
	}
	for after, want := range map[time.Time]int{{}: 3, raw(t, "", 10, 0).Time: 1} {
		if before, err := in.Before(t.Context(), after); err != nil || len(before) != want {
			t.Errorf("%d darks after %v, %v, want %d", len(before), after, err, want)
		}
	}
	if !strings.Contains(said.String(), "away") || strings.Contains(said.String(), good) {
		t.Errorf("the log says %s, want the folder that is away", said.String())
	}
	if _, err := again(raw(t, "oat.csv", 12, 2000)); err == nil || strings.Contains(err.Error(), "away") {
		t.Errorf("a spectrum made ready again = %v, want that it lacks a reference", err)
	}
	said.Reset()
	for range 3 {
		_, _ = again(raw(t, "oat.csv", 12, 2000))
	}
	if said.Len() > 0 {
		t.Errorf("of three more the log says %s, want nothing: the folders are gone through once, however many spectra are made ready", said.String())
	}
}
