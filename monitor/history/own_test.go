package history_test

import (
	"math"
	"reflect"
	"testing"
	"time"

	"asusual/model/finding"
	"asusual/monitor/history"
)

// TestOwn: spectra of the instrument's own and what they tell come back as they were, are no production, and are known again.
func TestOwn(t *testing.T) { onBoth(t, testOwn) }

func testOwn(t *testing.T, where string) {
	d := open(t, where)
	if at, err := d.LastOwn(t.Context(), "Filler 3"); err != nil || !at.IsZero() {
		t.Errorf("LastOwn of nothing = %v, %v, want none", at, err)
	}
	if text, err := d.Book(t.Context(), "Filler 3"); err != nil || text != nil {
		t.Errorf("Book of nothing = %q, %v, want none", text, err)
	}
	b := batch(0, 3)
	at := noon.Add(time.Minute)
	want := history.Own{Line: "Filler 3", File: b.Files[1].File.Name, Row: 2, Time: at, Received: at.Add(time.Second), Role: "dark", Late: true, Mark: -77}
	b.Files[1].Own = []history.Own{want}
	checks := []history.Check{
		{Line: "Filler 3", Time: at, Measure: "light level", About: "all channels", Value: 61.25, Unit: "%", Ageing: 20, Unfit: 50, State: "unfit",
			Reasons: []finding.Finding{finding.Of(finding.CannotCheck, "why")}},
		{Line: "Filler 3", Time: at, Measure: "dark level", Value: math.Inf(1), Ageing: 10, Unfit: 50, State: "unfit"},
	}
	b.Checks, b.Book = checks, []byte(`{"n":1}`)
	if err := d.Append(t.Context(), b); err != nil {
		t.Fatal(err)
	}
	checks[1].Value = math.MaxFloat64
	q := history.Query{Line: "Filler 3"}
	if got := all(t, d.Own(t.Context(), q)); !reflect.DeepEqual(got, []history.Own{want}) {
		t.Errorf("Own = %+v, want %+v", got, want)
	}
	if got := all(t, d.Checks(t.Context(), q)); !reflect.DeepEqual(got, checks) {
		t.Errorf("Checks = %+v, want %+v", got, checks)
	}
	if got := all(t, d.Checks(t.Context(), history.Query{Line: "Filler 3", From: at.Add(1)})); len(got) != 0 {
		t.Errorf("Checks after the last = %+v, want none", got)
	}
	if got := all(t, d.Spectra(t.Context(), q)); len(got) != 3 {
		t.Errorf("Spectra = %d, want the 3 of production", len(got))
	}
	if c, err := d.Counts(t.Context(), q, 0); err != nil || c.Own != 1 || c.Received != 3 || c.Judged != 3 {
		t.Errorf("Counts = %+v, %v, want 3 received and 1 of the instrument's own", c, err)
	}
	if of, err := d.JudgedBefore(t.Context(), "Filler 3", at, -77); err != nil || of != want.File {
		t.Errorf("JudgedBefore = %q, %v, want %q", of, err, want.File)
	}
	if rows, err := d.RowsOf(t.Context(), "Filler 3", []string{want.File}, 1); err != nil || len(rows) != 1 || rows[0].Marks[-77] != 1 {
		t.Errorf("RowsOf = %v, %v, want one of -77", rows, err)
	}
	if last, err := d.LastOwn(t.Context(), "Filler 3"); err != nil || !last.Equal(at) {
		t.Errorf("LastOwn = %v, %v, want %v", last, err, at)
	}
	if text, err := d.Book(t.Context(), "Filler 3"); err != nil || string(text) != `{"n":1}` {
		t.Errorf("Book = %q, %v", text, err)
	}
	k := history.Keep{Spectra: time.Second, Episodes: time.Second}
	if p, err := d.Prune(t.Context(), "Filler 3", k, at.Add(time.Hour), false); err != nil || p.Own != 1 || p.Checks != 2 {
		t.Errorf("Prune = %+v, %v, want 1 of the instrument's own and 2 checks", p, err)
	}
	if text, _ := d.Book(t.Context(), "Filler 3"); text == nil {
		t.Error("Prune took the book, which the checks go on from")
	}
}
