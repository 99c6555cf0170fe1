package pages

import (
	"fmt"
	"math"
	"path/filepath"
	"testing"
	"time"

	"asusual/model/finding"
	"asusual/monitor/history"
	"asusual/report"
)

// TestChecks: of each measure the last value stands in the report, with the limit that it passed or has not yet.
func TestChecks(t *testing.T) {
	db, err := history.Open(t.Context(), filepath.Join(t.TempDir(), "h"), "test")
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	at := func(minute int) time.Time { return start.Add(time.Duration(minute) * time.Minute) }
	hindered := finding.Of(finding.CannotCheck, "no dark spectrum is there")
	lamp := finding.Of(finding.LightLevel, "all channels", 45, 50)
	b := history.Batch{Line: "Filler 3", Checks: []history.Check{
		{Time: at(-40 * 24 * 60), Measure: "repeatability", Value: 1, Ageing: 2, Unfit: 3, State: "fit"}, // too long ago
		{Time: at(-60), Measure: "not measured", About: "reference", Value: math.NaN(), Reasons: []finding.Finding{hindered}},
		{Time: at(0), Measure: "light level", About: "all channels", Value: 5, Unit: "%", Ageing: 20, Unfit: 50, State: "fit"},
		{Time: at(1), Measure: "dark level", Value: math.NaN(), Unit: "%", Ageing: 10, Unfit: 50},
		{Time: at(2), Measure: "light level", About: "all channels", Value: 55, Unit: "%", Ageing: 20, Unfit: 50, State: "unfit", Reasons: []finding.Finding{lamp}},
		{Time: at(3), Measure: "dark noise", Value: 1.2, Unit: "×", Ageing: 1.5, Unfit: 4, State: "fit"},
		{Time: at(90), Measure: "light level", About: "all channels", Value: 1, Unit: "%", Ageing: 20, Unfit: 50, State: "fit"}, // after it
	}}
	if err := db.Append(t.Context(), b); err != nil {
		t.Fatal(err)
	}
	s := Source{History: db, Line: "Filler 3", Zone: time.UTC}
	in := report.Instrument{State: "fit"}
	if err := s.checks(t.Context(), history.Query{Line: "Filler 3", From: at(0), To: at(60)}, &in); err != nil {
		t.Fatal(err)
	}
	want := []report.Check{
		{Name: "light level, all channels", Value: 55, Limit: 50, Unit: "%", At: at(2)},
		{Name: "dark noise", Value: 1.2, Limit: 1.5, Unit: "×", At: at(3), Fit: true},
	}
	if fmt.Sprint(in.Checks) != fmt.Sprint(want) || in.State != "unfit" || fmt.Sprint(in.Findings) != fmt.Sprint([]finding.Finding{lamp}) {
		t.Errorf("checks = %+v, want unfit by the lamp and %+v", in, want)
	}
	none := report.Instrument{State: "ageing"}
	if err := s.checks(t.Context(), history.Query{Line: "Filler 4"}, &none); err != nil || none.State != "ageing" || len(none.Checks) > 0 {
		t.Errorf("checks of a line without any = %+v, %v, want it as it was", none, err)
	}
}
