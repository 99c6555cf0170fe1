package pages

import (
	"bytes"
	"slices"
	"testing"
	"time"

	"asusual/cmd/asusual/shift"
	"asusual/model/finding"
	"asusual/monitor/history"
	"asusual/report"
)

// TestCompareMeans: the picture of two means shows both, without a spread that is that of neither; where one of the periods has no mean there
// is no picture, rather than the other's against usual.
func TestCompareMeans(t *testing.T) {
	b := newBench(t)
	ref := b.src.Reference
	mean := func(minute int, above float64) history.Mean {
		values := slices.Clone(ref.Picture.Mean)
		for i := range values {
			values[i] *= 1 + above
		}
		return history.Mean{Line: "Filler 3", From: start.Add(time.Duration(minute) * time.Minute), Condition: "usual", Axis: ref.Axis(), Count: 60, Values: values}
	}
	record := usual(0.5)
	record.Scores = make([]float64, ref.PCA.K)
	record.Q = ref.Limits.Q / 2
	b.keep(0, history.Batch{Means: []history.Mean{mean(0, 0.01)}}, several(60, record)...)
	b.keep(60, history.Batch{}, several(60, record)...)
	b.keep(120, history.Batch{Means: []history.Mean{mean(120, 0.02)}}, several(60, record)...)
	hour := func(n int) shift.Period {
		return shift.Period{From: start.Add(time.Duration(n) * time.Hour), To: start.Add(time.Duration(n+1) * time.Hour)}
	}
	compare := func(this, that int) report.Compare {
		c, err := b.src.Compare(t.Context(), [2]string{"this hour", "that hour"}, [2]shift.Period{hour(this), hour(that)})
		if err != nil {
			t.Fatal(err)
		}
		return c
	}
	if p := compare(2, 0).Spectrum; len(p.Difference) == 0 || len(p.Sigma) != 0 || slices.Equal(p.Usual, ref.Picture.Mean) {
		t.Errorf("two means: %d differences, a spread of %d channels; want the one against the other, without usual's spread", len(p.Difference), len(p.Sigma))
	}
	for _, sides := range [][2]int{{2, 1}, {1, 0}} {
		c := compare(sides[0], sides[1])
		if p := c.Spectrum; len(p.Usual) != 0 || len(p.Period) != 0 {
			t.Errorf("hour %d against hour %d, of which one has no mean: a picture of %d and %d channels, want none", sides[0], sides[1], len(p.Usual), len(p.Period))
		}
		page, err := c.Render()
		if err != nil || !bytes.Contains(page.HTML, []byte("No picture: there were no spectra to show.")) {
			t.Errorf("hour %d against hour %d: Render = %v, want a page that says that there is no picture", sides[0], sides[1], err)
		}
	}
	if c := compare(2, 0); c.FalseAlarms == 0 || len(c.Reasons) > 0 {
		t.Errorf("after %d good runs: a share of %g false alarms, reasons %v; want a share alone", len(ref.Learning.Runs), c.FalseAlarms, c.Reasons)
	}
	of := *ref
	of.Learning.Runs = ref.Learning.Runs[:1]
	b.src.Reference = &of
	c := compare(2, 0)
	if c.Verdict != report.CannotSay || c.FalseAlarms != 0 || len(c.Reasons) != 1 || c.Reasons[0].Kind != finding.RunsNotCompared {
		t.Errorf("after one good run: %v, a share of %g false alarms, reasons %v; want that it cannot be said and why", c.Verdict, c.FalseAlarms, c.Reasons)
	}
	if page, err := c.Render(); err != nil || !bytes.Contains(page.HTML, []byte("the reference was learned from one good run")) {
		t.Errorf("after one good run: Render = %v, want a page that says why", err)
	}
}
