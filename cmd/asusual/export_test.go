package main

import (
	"bytes"
	"cmp"
	"encoding/csv"
	"encoding/json"
	"slices"
	"testing"
	"time"

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
