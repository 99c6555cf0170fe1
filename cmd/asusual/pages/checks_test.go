package pages

import (
	"fmt"
	"math"
	"path/filepath"
	"testing"
	"time"

	"asusual/cmd/asusual/shift"
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

// TestProductionBesideChecks: what spectra of production tell of the instrument stands in the report with its reason and since when,
// and is no figure of the table; what was taken in that time takes no part in comparisons.
func TestProductionBesideChecks(t *testing.T) {
	db, err := history.Open(t.Context(), filepath.Join(t.TempDir(), "h"), "test")
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	at := func(minute int) time.Time { return start.Add(time.Duration(minute) * time.Minute) }
	stuck := finding.Of(finding.StuckHere, "nm", 1, 1300)
	moved := func(nm float64) finding.Finding { return finding.Of(finding.LikeAxis, "nm", nm, 0, 99) }
	production := func(minute int, state string, why ...finding.Finding) history.Check {
		return history.Check{Time: at(minute), Measure: "spectra of production", Value: math.NaN(), State: state, Reasons: why}
	}
	b := history.Batch{Line: "Filler 3", Checks: []history.Check{
		{Time: at(0), Measure: "dark level", Value: 1, Unit: "%", Ageing: 10, Unfit: 50, State: "fit"},
		production(10, "ageing", stuck), production(20, "unfit", moved(0.2)), production(25, "unfit", moved(0.4)), production(40, "fit"),
	}}
	if err := db.Append(t.Context(), b); err != nil {
		t.Fatal(err)
	}
	s := Source{History: db, Line: "Filler 3", Zone: time.UTC}
	for _, tt := range []struct {
		until int
		said  []finding.Finding // by the verdict
		state string
		since time.Time
		want  []finding.Finding
	}{
		{15, nil, "ageing", at(10), []finding.Finding{stuck}},
		{30, []finding.Finding{moved(0.5)}, "unfit", at(20), []finding.Finding{moved(0.5)}},
		{30, nil, "unfit", at(20), []finding.Finding{moved(0.4)}},
		{50, nil, "fit", at(40), nil},
	} {
		in := report.Instrument{State: "fit", Findings: tt.said}
		if err := s.checks(t.Context(), history.Query{Line: "Filler 3", From: at(0), To: at(tt.until)}, &in); err != nil {
			t.Fatal(err)
		}
		if in.State != tt.state || !in.Since.Equal(tt.since) || fmt.Sprint(in.Findings) != fmt.Sprint(tt.want) || len(in.Checks) != 1 {
			t.Errorf("until %d: %s since %v by %v, %d figures; want %s since %v by %v, 1", tt.until, in.State, in.Since, in.Findings, len(in.Checks), tt.state, tt.since, tt.want)
		}
	}
	spells, err := s.unfit(t.Context(), shift.Period{From: at(0), To: at(60)})
	if err != nil || len(spells) != 1 || !spells[0].from.Equal(at(20)) || !spells[0].to.Equal(at(40)) {
		t.Fatalf("unfit = %v, %v; want from 20 to 40", spells, err)
	}
	for _, tt := range []struct {
		minute int
		want   bool
	}{{0, false}, {19, false}, {20, true}, {39, true}, {40, false}, {50, false}} {
		if got := within(&spells, at(tt.minute)); got != tt.want {
			t.Errorf("within at %d = %v, want %v", tt.minute, got, tt.want)
		}
	}
	open, err := s.unfit(t.Context(), shift.Period{From: at(0), To: at(30)})
	if err != nil || len(open) != 1 || !open[0].to.IsZero() || !within(&open, at(1000)) {
		t.Errorf("unfit of a period that ends in it = %v, %v; want one that lasts", open, err)
	}
}
