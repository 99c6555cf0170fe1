package monitor_test

import (
	"bytes"
	"fmt"
	"os"
	"path/filepath"
	"slices"
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
// judged under the name before is not judged again, whether the watch went on or was started anew, and whichever of the renamed and
// the new table it comes to first.
func TestATableThatGrowsAndIsRenamed(t *testing.T) {
	for _, anew := range []bool{false, true} {
		for _, newFirst := range []bool{false, true} {
			t.Run(fmt.Sprintf("started anew %t, the new one first %t", anew, newFirst), func(t *testing.T) { tableRenamed(t, anew, newFirst) })
		}
	}
}

func tableRenamed(t *testing.T, anew, newFirst bool) {
	b := newBench(t)
	spectra := produced(t, 12)
	line := b.line()
	line.Quiet = time.Millisecond
	wait := kept(t, &line)
	stop := watching(t, line)
	defer func() { stop() }()
	said := 0
	expect := func(n int) {
		said += n
		wait(said)
	}
	b.put("now.csv", timeless(t, spectra[:5]), monday)
	expect(5)
	if anew {
		stop()
		wait, said = kept(t, &line), 0
		stop = watching(t, line)
	}
	renamed := func() {
		b.put("aside.tmp", timeless(t, spectra[:6]), monday.Add(time.Minute)) // not looked at under that name
		if err := os.Rename(filepath.Join(b.folder, "aside.tmp"), filepath.Join(b.folder, "day 1.csv")); err != nil {
			t.Fatal(err)
		}
		expect(1)
	}
	if !newFirst {
		renamed()
	}
	b.put("now.csv", timeless(t, spectra[6:10]), monday.Add(2*time.Minute))
	expect(4)
	if newFirst {
		renamed()
	}
	b.put("day 2.csv", timeless(t, spectra[6:12]), monday.Add(3*time.Minute))
	expect(2)
	stop()
	marks := map[int64]int{}
	for _, r := range b.records() {
		marks[r.Mark]++
	}
	if n := len(b.records()); n != 12 || len(marks) != 12 {
		t.Errorf("%d records of %d spectra, want 12 of 12\n%s", n, len(marks), b.logged())
	}
	told := map[string]bool{}
	for _, c := range all(t, b.db.Copies(t.Context(), everything)) {
		told[fmt.Sprint(c.File, " ", c.Rows, " of ", c.Of)] = true
	}
	if len(told) != 2 || !told["day 1.csv 5 of now.csv"] || !told["day 2.csv 4 of now.csv"] {
		t.Errorf("copies = %v, want 5 and 4 rows of now.csv", told)
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

// A table that is appended to faster than it settles is judged while it grows, each row once.
func TestATableThatNeverStandsStill(t *testing.T) {
	b := newBench(t)
	spectra := produced(t, 4000) // more than are written until the first are judged
	line := b.line()
	line.Settle = 200 * time.Millisecond
	wait := kept(t, &line)
	stop := watching(t, line)
	defer stop()
	f, err := os.Create(filepath.Join(b.folder, "day.csv"))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	lines := slices.Collect(bytes.Lines(table(t, spectra)))
	rows := len(spectra) - len(lines) // less those of the header
	for _, row := range lines {
		for _, half := range [][]byte{row[:len(row)/2], row[len(row)/2:]} {
			if _, err := f.Write(half); err != nil {
				t.Fatal(err)
			}
			<-time.After(5 * time.Millisecond)
		}
		if rows++; len(b.records()) >= 20 {
			break
		}
	}
	if rows == len(spectra) {
		t.Errorf("a table of %d rows was not judged while it grew", rows)
	}
	wait(rows)
	stop()
	b.expect("written without a pause", spectra[:rows])
	marks := map[int64]int{}
	for _, r := range b.records() {
		marks[r.Mark]++
	}
	for mark, n := range marks {
		if n != 1 {
			t.Fatalf("a spectrum (%d) was judged %d times", mark, n)
		}
	}
	if c := b.counts(); c.Unreadable > 0 {
		t.Errorf("Unreadable = %d, want none of a table that was read while it was written", c.Unreadable)
	}
}
