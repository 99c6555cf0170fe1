package monitor_test

import (
	"bytes"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"asusual/model/spectrum"
	"asusual/monitor/history"
)

// timeless is a table whose rows carry no time: those spectra, a row each, with nothing but their values.
func timeless(t *testing.T, spectra []spectrum.Spectrum) []byte {
	t.Helper()
	var out bytes.Buffer
	for _, line := range bytes.SplitAfter(table(t, spectra), []byte("\n")) {
		if _, rest, ok := bytes.Cut(line, []byte(",")); ok {
			out.Write(rest)
		}
	}
	return out.Bytes()
}

// A table whose rows carry no time grows and is renamed before the watch sees it, as where an instrument begins a new one: what was
// judged under the name before is not judged again, whether the watch went on or was started anew.
func TestATableThatGrowsAndIsRenamed(t *testing.T) {
	for _, between := range []string{"in one watch", "in another"} {
		b := newBench(t)
		spectra := produced(t, 12)
		rename := func(from, to string) {
			t.Helper()
			if err := os.Rename(filepath.Join(b.folder, from), filepath.Join(b.folder, to)); err != nil {
				t.Fatal(err)
			}
		}
		line := b.line()
		line.Quiet = time.Millisecond
		wait := kept(t, &line)
		stop := watching(t, line)
		defer stop()
		b.put("now.csv", timeless(t, spectra[:5]), monday)
		wait(5)
		said := 5
		if between == "in another" {
			stop()
			said = 0
		}
		b.put("aside.tmp", timeless(t, spectra[:6]), monday.Add(time.Minute)) // not looked at under that name
		rename("aside.tmp", "day 1.csv")
		b.put("now.csv", timeless(t, spectra[6:10]), monday.Add(2*time.Minute))
		if between == "in another" {
			wait = kept(t, &line)
			stop = watching(t, line)
			defer stop()
		}
		wait(said + 5)
		b.put("day 2.csv", timeless(t, spectra[6:12]), monday.Add(3*time.Minute))
		wait(said + 7)
		stop()
		marks := map[int64]int{}
		for _, r := range b.records() {
			marks[r.Mark]++
		}
		if n := len(b.records()); n != 12 || len(marks) != 12 {
			t.Errorf("%s: %d records of %d spectra, want 12 of 12\n%s", between, n, len(marks), b.logged())
		}
		var told []string
		for _, c := range all(t, b.db.Copies(t.Context(), everything)) {
			told = append(told, fmt.Sprint(c.File, " ", c.Rows, " of ", c.Of))
		}
		if got := strings.Join(told, ", "); got != "day 1.csv 5 of now.csv, day 2.csv 4 of now.csv" {
			t.Errorf("%s: copies = %s, want 5 and 4 rows of now.csv", between, got)
		}
	}
}

// What the help of prune says: a file whose spectra were taken out of history is not judged again, and rows of a table that were are,
// where the table is saved anew with them.
func TestATableSavedAnewAfterItsRowsWereTakenOut(t *testing.T) {
	b := newBench(t)
	spectra := produced(t, 7)
	b.put("day.csv", append(table(t, spectra[:5]), "2026-11-23T06:31:00Z,,,a,b,c\n"...), monday)
	b.putAll(produced(t, 10)[9:])
	b.catchUp()
	k := history.Keep{Spectra: time.Hour}
	if p, err := b.db.Prune(t.Context(), "Filler 3", k, spectra[3].Time.Add(time.Hour), false); err != nil || p.Spectra != 3 {
		t.Fatalf("Prune = %+v, %v, want three spectra taken out", p, err)
	}
	b.catchUp()
	if n := len(b.records()); n != 3 {
		t.Errorf("records after another pass = %d, want the three that were left", n)
	}
	b.put("day.csv", table(t, spectra), monday.Add(time.Hour)) // its broken row is gone
	b.catchUp()
	b.expect("saved anew", append(spectra, produced(t, 10)[9]))
}
