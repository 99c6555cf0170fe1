package main

import (
	"bytes"
	"cmp"
	"encoding/csv"
	"encoding/json"
	"slices"
	"strings"
	"testing"
	"time"

	"asusual/model"
	"asusual/monitor/history"
)

// Names that a spreadsheet would run as formulas are text in CSV, and in JSON what they are.
func TestExportedNamesAreNoFormulas(t *testing.T) {
	r := history.Record{Time: at("2026-11-25T12:00:00Z"), File: "=1+1.csv", Line: "@line", Condition: "+film", Run: "-3", Verdict: "as usual", Distance: -0.5, Reference: "abc"}
	var out bytes.Buffer
	write, finish, err := csvWriter(&out, time.UTC)
	if err := cmp.Or(err, write(r), finish()); err != nil {
		t.Fatal(err)
	}
	rows, err := csv.NewReader(&out).ReadAll()
	if err != nil || len(rows) != 2 {
		t.Fatalf("export = %q, %v, want a head and a row", rows, err)
	}
	for name, want := range map[string]string{"file": "'=1+1.csv", "line": "'@line", "condition": "'+film", "run": "'-3", "distance": "-0.5", "verdict": "as usual"} {
		if got := rows[1][slices.Index(rows[0], name)]; got != want {
			t.Errorf("%s in CSV = %s, want %s", name, got, want)
		}
	}
	var whole bytes.Buffer
	if err := writeJSON(&whole, exportLine(r, time.UTC)); err != nil {
		t.Fatal(err)
	}
	var told exported
	if err := json.Unmarshal(whole.Bytes(), &told); err != nil || told.File != r.File || told.Run != r.Run || told.Condition != r.Condition {
		t.Errorf("export as JSON = %s, %v, want the names as they are", &whole, err)
	}
}

// A year's rows go out in blocks, not one write of the system to each.
func TestExportedInBlocks(t *testing.T) {
	out := &countedWrites{}
	write, finish, err := csvWriter(out, time.UTC)
	for i := range 1000 {
		err = cmp.Or(err, write(history.Record{Time: at("2026-11-25T12:00:00Z"), File: "a.csv", Row: i}))
	}
	if err := cmp.Or(err, finish()); err != nil {
		t.Fatal(err)
	}
	rows, err := csv.NewReader(&out.Buffer).ReadAll()
	if err != nil || len(rows) != 1001 || out.n > 100 {
		t.Errorf("%d rows, %v, in %d writes; want the head and 1000 in less than 100", len(rows), err, out.n)
	}
}

type countedWrites struct {
	bytes.Buffer
	n int
}

func (c *countedWrites) Write(b []byte) (int, error) {
	c.n++
	return c.Buffer.Write(b)
}

// A spectrum that could not be judged has no place: its cells are empty, and null in JSON, where one at zero has a 0.
func TestExportOfAnUnfitSpectrum(t *testing.T) {
	var out bytes.Buffer
	write, finish, err := csvWriter(&out, time.UTC)
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct{ condition, cell, null string }{{model.Unfit, "", "null"}, {model.Usual, "0", "0"}} {
		r := history.Record{Time: at("2026-11-25T12:00:00Z"), File: "a.csv", Line: "Filler 3", Condition: c.condition, Verdict: "cannot say", Reference: "abc"}
		if err := write(r); err != nil {
			t.Fatal(err)
		}
		var told bytes.Buffer
		if err := writeJSON(&told, exportLine(r, time.UTC)); err != nil {
			t.Fatal(err)
		}
		if want := `"condition":"` + c.condition + `","t2":` + c.null + `,"q":` + c.null + `,"distance":` + c.null + `,"inside":false`; !strings.Contains(told.String(), want) {
			t.Errorf("export of one that is %s as JSON = %s, want %s", c.condition, &told, want)
		}
	}
	if err := finish(); err != nil {
		t.Fatal(err)
	}
	rows, err := csv.NewReader(&out).ReadAll()
	if err != nil || len(rows) != 3 {
		t.Fatalf("export = %q, %v, want a head and two rows", rows, err)
	}
	for _, name := range []string{"t2", "q", "distance"} {
		i := slices.Index(rows[0], name)
		if rows[1][i] != "" || rows[2][i] != "0" {
			t.Errorf("%s in CSV = %q and %q, want nothing for the unfit, and 0", name, rows[1][i], rows[2][i])
		}
	}
}
