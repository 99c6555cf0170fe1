package pages

import (
	"encoding/json"
	"fmt"
	"math"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"asusual/model/check"
	"asusual/model/spectrum"
	"asusual/monitor/history"
	"asusual/report"
	"asusual/report/chart"
)

// TestTrendsTell: each measure is drawn before a second place of one, though that came nearer to its limit.
func TestTrendsTell(t *testing.T) {
	var g trends
	for minute := range 2 {
		add := func(measure, about string, value float64) {
			g.add(history.Check{Time: start.Add(time.Duration(minute) * time.Minute), Measure: measure, About: about, Value: value, Ageing: 20, Unfit: 50, State: "fit"}, time.UTC)
		}
		add("light level", "all channels", 36)
		for i := range 6 {
			add("light level", fmt.Sprintf("region %d", i), 36.01)
		}
		add("dark level", "20ms", 10)
		add("repeatability", "", 1)
	}
	var names []string
	for _, one := range g.plot(start.Add(time.Hour)).Trends {
		names = append(names, one.Name)
	}
	want := "light level, all channels; light level, region 0; light level, region 1; light level, region 2; dark level, 20ms; repeatability"
	if got := strings.Join(names, "; "); got != want {
		t.Errorf("drawn: %s\nwant %s", got, want)
	}
}

// TestTrends: what was measured twice is drawn, until the end of the period; of many measures those that came nearest to their limits;
// and the repeats of the standard as deviations from their mean.
func TestTrends(t *testing.T) {
	db, err := history.Open(t.Context(), filepath.Join(t.TempDir(), "h"), "test")
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	at := func(minute int) time.Time { return start.Add(time.Duration(minute) * time.Minute) }
	b := history.Batch{Line: "Filler 3"}
	for i := range 3 {
		for m := range 8 {
			b.Checks = append(b.Checks, history.Check{Time: at(60*i + m), Measure: "band", About: fmt.Sprintf("%d nm", 1000+m), Unit: "nm",
				Value: 0.1 * float64(m) * float64(i+1), Ageing: 0.5, Unfit: 1, State: "fit"})
		}
	}
	b.Checks = append(b.Checks, history.Check{Time: at(9), Measure: "repeatability", Value: 0.001, Ageing: 0.001, Unfit: 0.005, State: "fit"})
	axis, err := spectrum.NewAxis(spectrum.Nanometre, []float64{1000, 1010})
	if err != nil {
		t.Fatal(err)
	}
	text, err := json.Marshal(map[string]any{"newest": at(9), "state": check.BookState{Axis: axis, Repeated: at(9), Repeats: [][]float64{{1, 2}, {1.3, 2}, {1, 2.3}}}})
	if err != nil {
		t.Fatal(err)
	}
	b.Book = text
	if err := db.Append(t.Context(), b); err != nil {
		t.Fatal(err)
	}
	s := Source{History: db, Line: "Filler 3", Zone: time.UTC}
	in := report.Instrument{State: "fit"}
	if err := s.checks(t.Context(), history.Query{Line: "Filler 3", From: at(0), To: at(100)}, &in); err != nil {
		t.Fatal(err)
	}
	if in.Trends == nil || len(in.Trends.Trends) != mostTrends || in.Trends.Trends[0].Name != "band, 1002 nm" || !in.Trends.To.Equal(at(100)) || !in.Trends.From.Equal(at(0)) {
		t.Fatalf("Trends = %+v, want the six that came nearest to their limits", in.Trends)
	}
	if last := in.Trends.Trends[5]; last.Name != "band, 1007 nm" || len(last.Values) != 2 || math.Abs(last.Values[1]-1.4) > 1e-12 || last.Unfit != 1 {
		t.Errorf("the last trend is %+v, want two values of 1007 nm", last)
	}
	if r := in.Repeats; r == nil || len(r.Deviations) != 3 || math.Abs(r.Deviations[1][0]-0.2) > 1e-12 || r.Axis.Unit != "nm" {
		t.Errorf("Repeats = %+v, want three, the second 0.2 above the mean", r)
	}
	h := report.Handover{Line: "Filler 3", Shift: "day", From: at(0), To: at(100), Instrument: in, Verdict: report.AsUsual,
		Distance: chart.DistancePlot{}, Spectrum: chart.SpectrumPlot{}}
	p, err := h.Render()
	if err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{"own dark, reference and standard spectra told of it, from", "difference from the mean of all, the newest strong"} {
		if !strings.Contains(string(p.HTML), want) {
			t.Errorf("the page does not say %q", want)
		}
	}
	for _, name := range []string{"instrument-trends.png", "instrument-repeats.png"} {
		if len(p.Pictures[name]) < 1000 {
			t.Errorf("the page has no %s", name)
		}
	}
	early := report.Instrument{State: "fit"}
	if err := s.checks(t.Context(), history.Query{Line: "Filler 3", From: at(0), To: at(5)}, &early); err != nil || early.Repeats != nil || early.Trends != nil {
		t.Errorf("before anything was measured twice: %+v, %v", early, err)
	}
}
