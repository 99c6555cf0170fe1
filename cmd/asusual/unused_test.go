package main

import (
	"fmt"
	"strings"
	"testing"

	"asusual/model/spectrum"
)

// TestReasons: a reason that many share is said once with its count, few are named one by one, and what is not named is counted.
func TestReasons(t *testing.T) {
	var all []*spectrum.Unreadable
	for i := range 180 {
		all = append(all, &spectrum.Unreadable{File: "a.csv", Row: i + 1, Reason: "no dark"})
	}
	all = append(all, &spectrum.Unreadable{File: "b.csv", Line: 2, Reason: "cut off"}, &spectrum.Unreadable{File: "c.csv", Reason: "cut off"})
	var b strings.Builder
	writeUnreadable(&b, all, 182)
	want := "\n182 files or rows could not be used:\n  a.csv: row 1, and 179 others: no dark\n  b.csv: line 2: cut off\n  c.csv: cut off\n"
	if b.String() != want {
		t.Errorf("writeUnreadable = %q, want %q", b.String(), want)
	}

	all = nil
	for i := range maxRows + 5 {
		all = append(all, &spectrum.Unreadable{File: "a.csv", Row: i + 1, Reason: fmt.Sprint("channel ", i)})
	}
	b.Reset()
	writeUnreadable(&b, all, maxRows+7) // two more were not even kept
	if n := strings.Count(b.String(), "a.csv"); n != maxRows || !strings.Contains(b.String(), "… and 7 more") {
		t.Errorf("of %d reasons %d are named, want %d and that there are 7 more: %s", len(all), n, maxRows, b.String())
	}
}

// TestAxisOfInterferogram: what lies over the path difference has points, and no channels of unknown unit.
func TestAxisOfInterferogram(t *testing.T) {
	i := spectrum.Info{Axis: "2048 channels, 1–2048 channel", UnitFrom: spectrum.Guessed, Quantity: spectrum.Interferogram}
	if got, want := axisWords(i), "2048 points of path difference"; got != want {
		t.Errorf("axisWords = %q, want %q", got, want)
	}
	i.Quantity = spectrum.Intensity
	if got := axisWords(i); !strings.Contains(got, "channels") || !strings.Contains(got, "guessed") {
		t.Errorf("axisWords of intensities = %q, want its channels, and that they were guessed", got)
	}
}
