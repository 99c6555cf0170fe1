package spectrum_test

import (
	"errors"
	"fmt"
	"strings"
	"testing"

	"asusual/model/spectrum"
)

func TestFewTellsTheFirstAndCountsTheRest(t *testing.T) {
	for _, tt := range []struct {
		n, told, counted int
		says             string
	}{
		{0, 0, 0, ""},
		{spectrum.Told, spectrum.Told, 0, ""},
		{spectrum.Told + 1, spectrum.Told, 1, "no. 100"}, // one is told as it is
		{spectrum.Told + 900, spectrum.Told, 900, "900 rows or blocks from here to line 2000 cannot be read and are not named one by one; the first: no. 100"},
	} {
		var f spectrum.Few
		told := 0
		for i := range tt.n {
			if u := f.Take(&spectrum.Unreadable{File: "a.csv", Line: 2 * (i + 1), Row: i + 1, Reason: fmt.Sprintf("no. %d", i)}); u != nil {
				told++
			}
		}
		rest := f.Rest()
		switch {
		case told != tt.told:
			t.Errorf("Few of %d tells %d, want %d", tt.n, told, tt.told)
		case (rest != nil) != (tt.counted > 0):
			t.Errorf("Few of %d, Rest() = %v, want %d counted", tt.n, rest, tt.counted)
		case rest != nil && (1+rest.More != tt.counted || rest.Reason != tt.says || rest.Row != spectrum.Told+1):
			t.Errorf("Few of %d, Rest() = %+v, want %d from row %d: %q", tt.n, rest, tt.counted, spectrum.Told+1, tt.says)
		}
		if again := f.Rest(); again != nil {
			t.Errorf("Few of %d, Rest() again = %v, want nil", tt.n, again)
		}
	}
}

// Of a file with millions of bad blocks the reader gives each, and whoever gathers them holds few.
func TestFewOfABadFile(t *testing.T) {
	const blocks = 5000
	text := strings.Repeat("##TITLE=a\n##END=\n", blocks)
	var f spectrum.Few
	told := 0
	for _, err := range spectrum.Read(strings.NewReader(text), spectrum.Source{Name: "bad.jdx"}, spectrum.Options{}) {
		var u *spectrum.Unreadable
		if !errors.As(err, &u) {
			t.Fatalf("Read(bad.jdx) = %v, want *Unreadable", err)
		}
		if f.Take(u) != nil {
			told++
		}
	}
	if rest := f.Rest(); told != spectrum.Told || rest == nil || told+1+rest.More != blocks {
		t.Errorf("Few of bad.jdx tells %d, then %v; want %d of %d", told, rest, spectrum.Told, blocks)
	}
}
