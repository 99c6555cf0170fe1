package main

import (
	"bytes"
	"io"
	"strings"
	"testing"
	"time"
)

// Every upset lies within the run of its product, no run has two, and none falls on days that nobody watches.
func TestPlan(t *testing.T) {
	for seed := range uint64(20) {
		p, err := options{seed: seed, every: time.Minute, channels: 64, days: 365, upsets: 40}.plan()
		if err != nil {
			t.Fatal(err)
		}
		runs, kinds := map[string]bool{}, map[int]int{}
		for _, m := range p.mishaps {
			day := p.day(m.from)
			start := p.start(day, m.product)
			if m.from.Before(start) || m.to.After(start.Add(runLength)) || m.to.Sub(m.from) != upsetLength {
				t.Errorf("seed %d: %s from %v to %v lies outside the run from %v", seed, kindWord(m.kind), m.from, m.to, start)
			}
			if p.unwatched(day) || day == p.exchange() {
				t.Errorf("seed %d: %s on day %d, which nobody watches", seed, kindWord(m.kind), day)
			}
			run := p.run(day, m.product)
			if runs[run[0].Run] {
				t.Errorf("seed %d: two upsets in the run %s", seed, run[0].Run)
			}
			runs[run[0].Run] = true
			kinds[m.kind]++
			n := 0
			for _, s := range run {
				if _, err := p.line.Series(s); err != nil {
					t.Errorf("seed %d: %s: %v", seed, kindWord(m.kind), err)
				}
				n += s.N
			}
			if n != int(runLength/time.Minute) {
				t.Errorf("seed %d: a run with %s has %d spectra, want %d", seed, kindWord(m.kind), n, int(runLength/time.Minute))
			}
		}
		for kind, n := range kinds {
			if n != 40/nKinds {
				t.Errorf("seed %d: %d upsets of kind %s, want %d", seed, n, kindWord(kind), 40/nKinds)
			}
		}
	}
}

// Some days of it, through the real watch: what is gross is seen.
func TestSomeDays(t *testing.T) {
	var out, errOut bytes.Buffer
	if status := run(t.Context(), []string{"-days", "3", "-upsets", "2", "-every", "5m", "-channels", "64", "-dir", t.TempDir()}, &out, &errOut); status != 0 {
		t.Fatalf("run = %d, want 0: %s", status, errOut.String())
	}
	for _, want := range []string{"\n| January | 45 | 2 | ", "\n| the year | 45 | 2 | ", "\n| dilution | 1 | ", "3 references learned"} {
		if !strings.Contains(out.String(), want) {
			t.Errorf("the table lacks %q:\n%s", want, out.String())
		}
	}
}

func TestWrongCommandLines(t *testing.T) {
	for _, args := range [][]string{{"-days", "0"}, {"-every", "1ms"}, {"more"}, {"-upsets", "5", "-days", "1"}, {"-promise", "often"}} {
		if status := run(t.Context(), args, io.Discard, io.Discard); status != 2 {
			t.Errorf("run(%q) = %d, want 2", args, status)
		}
	}
}
