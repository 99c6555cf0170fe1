package monitor_test

import (
	"testing"
	"time"

	"asusual/model/oatline"
)

// A table of many pieces is kept in the midst of it, as the verdict changes and the time of a batch is over: each row is judged once.
func TestATableIsKeptInItsMidst(t *testing.T) {
	const n = 900
	spectra := produced(t, n, oatline.Upset{Kind: oatline.OilPump, After: 300 * time.Minute})
	b := newBench(t)
	b.put("day.csv", table(t, spectra), monday.Add(n*time.Minute))
	line := b.line()
	line.Group = time.Nanosecond
	b.pass(line)
	b.expect("a long table", spectra)
	for i, r := range b.records() {
		if r.Row != i+1 {
			t.Fatalf("record %d is of row %d", i, r.Row)
		}
	}
}
