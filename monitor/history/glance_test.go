package history_test

import (
	"math/rand/v2"
	"path/filepath"
	"reflect"
	"testing"
	"time"

	"asusual/model/finding"
	"asusual/monitor/history"
)

// A glance at a record is what the whole record says, for any records.
func TestGlancesAreTheRecords(t *testing.T) {
	d := open(t, filepath.Join(t.TempDir(), "h"))
	r := rand.New(rand.NewPCG(7, 1))
	b := batch(0, 500)
	for i := range b.Files {
		rec := &b.Files[i].Records[0]
		rec.Condition = []string{"usual", "uncharted", "cleaning"}[r.IntN(3)]
		rec.Reference = []string{"abc123", "def456"}[r.IntN(2)]
		rec.Q, rec.Distance, rec.Inside, rec.Late = r.ExpFloat64(), r.ExpFloat64(), r.IntN(2) == 0, r.IntN(2) == 0
		rec.Scores = rec.Scores[:0:0]
		for range r.IntN(8) {
			rec.Scores = append(rec.Scores, r.NormFloat64())
		}
		if r.IntN(3) == 0 {
			rec.Reasons = []finding.Finding{finding.Of(finding.InTransition, "cleaning")}
		}
	}
	if err := d.Append(t.Context(), b); err != nil {
		t.Fatal(err)
	}
	q := history.Query{Line: "Filler 3", From: noon.Add(10 * time.Second), To: noon.Add(400 * time.Second)}
	want := all(t, d.Spectra(t.Context(), q))
	n := 0
	for got, err := range d.Glances(t.Context(), q) {
		if err != nil {
			t.Fatal(err)
		}
		w := want[n]
		n++
		w = history.Record{Line: w.Line, Time: w.Time, Condition: w.Condition, Q: w.Q, Distance: w.Distance, Inside: w.Inside, Late: w.Late, Scores: w.Scores,
			Reasons: w.Reasons, Reference: w.Reference}
		if w.Inside {
			w.Reasons = nil
		}
		if len(got.Scores) == 0 {
			got.Scores = w.Scores
		}
		if !reflect.DeepEqual(got, w) {
			t.Fatalf("Glances = %+v, want %+v", got, w)
		}
	}
	if n != len(want) || n != 390 {
		t.Errorf("Glances = %d records, want the %d of Spectra, 390", n, len(want))
	}
}
