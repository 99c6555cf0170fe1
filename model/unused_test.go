package model

import (
	"errors"
	"fmt"
	"strings"
	"testing"

	"asusual/model/finding"
	"asusual/model/spectrum"
)

// TestTooFewSaysWhy: what could not be used, and what was left out, stand in the error with their count and the first reason.
func TestTooFewSaysWhy(t *testing.T) {
	axis := mustAxis(t, spectrum.Nanometre, 900, 1000, 1100, 1200, 1300, 1400, 1500, 1600)
	var tr Training
	for n := range 4 {
		tr.Add(Usual, numbered(axis, "a", n, noon))
	}
	flat := numbered(axis, "a", 5, noon)
	clear(flat.Values)
	tr.Add(Usual, flat)
	tr.CannotUse("rinse", &spectrum.Unreadable{File: "rinse/1.csv", Reason: "it is empty"})
	for row := range 180 {
		tr.CannotUse(Usual, &spectrum.Unreadable{File: "good/10.csv", Row: row + 3, Reason: "no dark spectrum is there"})
	}
	tr.CannotUse(Usual, &spectrum.Unreadable{File: "good/11.csv", Line: 2, Reason: "it is cut off", More: 4})
	_, err := Learn(&tr, Options{})
	want := "4 good spectra, at least 13 are needed; 185 could not be used, the first, good/10.csv: row 3, because of this: no dark spectrum is there; " +
		"1 was left out, the first, a-005.csv, because of this: all channels hold the same value, 0"
	if !errors.Is(err, ErrTooFew) || !strings.HasSuffix(err.Error(), want) {
		t.Errorf("Learn = %v, want %q", err, want)
	}
	if err, want := tr.errNoSpectra("rinse"), "; 1 could not be used, the first, rinse/1.csv, because of this: it is empty"; !strings.HasSuffix(err.Error(), want) {
		t.Errorf("errNoSpectra(rinse) = %v, want %q", err, want)
	}
}

// TestCannotUseCounts: one entry a reason, and all of them together where there are too many; none is lost.
func TestCannotUseCounts(t *testing.T) {
	var tr Training
	for i := range 3 * mostReasons {
		for range 2 {
			tr.CannotUse(Usual, &spectrum.Unreadable{File: fmt.Sprintf("%d.csv", i), Reason: fmt.Sprintf("channel %d is no number", i)})
		}
	}
	n := 0
	for _, u := range tr.unused {
		n += u.Count
	}
	last := tr.unused[len(tr.unused)-1]
	if len(tr.unused) != mostReasons+1 || n != 6*mostReasons || last.Reason.Kind != finding.NotUsedOther || last.Count != 4*mostReasons {
		t.Errorf("%d reasons count %d, the last %+v; want %d of %d, the last the rest", len(tr.unused), n, last, mostReasons+1, 6*mostReasons)
	}
}
