package main

import (
	"bytes"
	"context"
	"errors"
	"strings"
	"testing"

	"asusual/monitor/history/testserver"
)

// A small server goes through every measurement, and each is printed with what it was of.
func TestASmallServer(t *testing.T) {
	var out bytes.Buffer
	err := run(t.Context(), []string{"-rows", "7200", "-lines", "2", "-bring", "20"}, &out)
	if errors.Is(err, testserver.ErrMissing) {
		t.Skip(err)
	}
	if err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{"filled 7200 records of 2 lines", "2 watchers at the same time bring 40 spectra", "one spectrum kept and brought",
		"a shift at the end, again: ", "all 4 lines for the page over the site, again", "the oldest day of a line taken out"} {
		if !strings.Contains(out.String(), want) {
			t.Errorf("sitebench does not say %q:\n%s", want, out.String())
		}
	}
}

func TestWrongNumbers(t *testing.T) {
	for _, args := range [][]string{{"-rows", "0"}, {"-lines", "0"}, {"-bring", "-1"}} {
		if err := run(context.Background(), args, &bytes.Buffer{}); err == nil || !strings.Contains(err.Error(), "numbers from 1") {
			t.Errorf("sitebench %v = %v, want it refused", args, err)
		}
	}
}
