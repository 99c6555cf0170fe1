package report

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"fmt"
	"maps"
	"slices"
	"strings"
	"testing"

	"asusual/report/chart"
)

// The figures beside a page hold all that its tables and answers say.
func TestFigures(t *testing.T) {
	for name, wants := range map[string]struct {
		keys  string
		paths map[string]any
		files string
	}{
		"handover-changed": {
			"acts complete conditions early episodes expected findings from groups inside instrument kind last last_from late line overtaken peak peak_at reasons reference shift since to typical verdict version against",
			map[string]any{"kind": "handover", "verdict": "the process has changed", "last": 2.4, "peak_at": "2026-11-25T13:52:00+01:00", "late": nil, "against": nil,
				"episodes.0.spectra": 810.0, "acts.1.who": "Ada " + nasty, "acts.0.until": nil, "acts.2.refused": "the alarm is not there", "episodes.0.to": nil, "episodes.0.seen.0.where": "group 2026-11-12 A", "conditions.0.time_s": 24180.0,
				"complete.files.0.file": nasty, "complete.gaps.0.from": "2026-11-25T09:14:00+01:00", "instrument.checks.1.value": 31.0, "reference.hours": 103.5,
				"reasons.0.kind": "above-q", "reasons.0.text": "Has a shape that usual spectra do not have (Q residual 0.00041, limit 0.00013)."},
			"alarm.csv distance.csv figures.json groups.csv map.csv score-plot.csv spectrum.csv",
		},
		"handover-against": {"", map[string]any{"against.effect": 2.8, "against.this.runs": 2.0, "against.conditions.0.that_s": 122400.0},
			"against-distances.csv against-score-plot.csv against-spectrum.csv alarm.csv distance.csv figures.json groups.csv map.csv score-plot.csv spectrum.csv"},
		"compare": {"", map[string]any{"kind": "compare", "effect": 2.8, "low": 1.9, "witnesses": 13.0, "that.median": 0.55}, "distances.csv figures.json score-plot.csv spectrum.csv"},
		"card": {"", map[string]any{"kind": "card", "k": 4.0, "limits.0.textbook.0.value": 13.41, "smallest.2.size": nil, "confusion.counts.0.2": 22.0, "choice.carried.0": 62.0,
			"reach.places.unit": "nm", "left_out.0.spectra": 480.0}, "figures.json map.csv"},
		"index": {"kind lines site version", map[string]any{"kind": "index", "lines.0.months.0.shifts": 36.0, "lines.1.name": "Filler 4 " + nasty, "lines.0.shifts.0.from": "2026-11-25T14:00:00+01:00",
			"lines.0.shifts.0.verdict": "as usual", "lines.0.shifts.0.href": "2026-11-25/evening/handover.html"}, "figures.json shifts.csv"},
		"site": {"all at cannot_say changed kind lines name out_of_use troubles unwatched version", map[string]any{"kind": "site", "all": 4.0, "changed": 1.0, "cannot_say": 2.0, "unwatched": 1.0,
			"lines.0.line": "Filler 2 " + nasty, "lines.1.watched_by": nil, "lines.1.ago_s": 10800.0, "lines.3.reports": "index.html"}, "figures.json"},
	} {
		p := allPages(t)[name]
		if got := strings.Join(slices.Sorted(maps.Keys(p.Figures)), " "); got != wants.files {
			t.Errorf("%s has beside it %s, want %s", name, got, wants.files)
		}
		var all map[string]any
		if err := json.Unmarshal(p.Figures["figures.json"], &all); err != nil {
			t.Fatalf("%s: figures.json: %v", name, err)
		}
		for path, want := range wants.paths {
			if got := at1(all, path); got != want {
				t.Errorf("%s: figures.json has %v at %s, want %v", name, got, path, want)
			}
		}
		if keys := strings.Fields(wants.keys); len(keys) > 0 {
			slices.Sort(keys)
			if got := slices.Sorted(maps.Keys(all)); !slices.Equal(got, keys) {
				t.Errorf("%s: figures.json has the keys %v, want %v: a name that was given stays", name, got, keys)
			}
		}
	}
}

// at1 follows a path through what JSON holds.
func at1(v any, path string) any {
	for _, step := range strings.Split(path, ".") {
		switch x := v.(type) {
		case map[string]any:
			v = x[step]
		case []any:
			var i int
			if _, err := fmt.Sscan(step, &i); err != nil || i >= len(x) {
				return "nothing at " + step
			}
			v = x[i]
		default:
			return "nothing below " + step
		}
	}
	return v
}

// What a picture draws is in its table, row by row.
func TestPictureTables(t *testing.T) {
	h := sampleHandover(true)
	p := allPages(t)["handover-changed"]
	for name, want := range map[string]int{
		"distance.csv": len(h.Distance.Readings), "score-plot.csv": len(h.Scores.Usual) + len(h.Scores.Period), "spectrum.csv": 2 * len(h.Spectrum.Axis.At),
	} {
		rows, err := csv.NewReader(bytes.NewReader(p.Figures[name])).ReadAll()
		if err != nil || len(rows) != want+1 {
			t.Errorf("%s has %d rows, %v; want a head and %d", name, len(rows), err, want)
		}
	}
	x := sampleIndex(12)
	rows, err := csv.NewReader(bytes.NewReader(allPages(t)["index"].Figures["shifts.csv"])).ReadAll()
	if want := 1 + len(x.Lines[0].Shifts) + len(x.Lines[1].Shifts); err != nil || len(rows) != want || len(rows[0]) != 8+48 || rows[1][0] != "Filler 3" || rows[1][9] == "" {
		t.Errorf("shifts.csv has %d rows, %v, want %d with 48 parts of each shift", len(rows), err, want)
	}
	if got := string(p.Figures["distance.csv"][:60]); !strings.HasPrefix(got, "time,distance,kind\n2026-11-25T06:00:00+01:00,60,elsewhere\n") {
		t.Errorf("distance.csv begins %q", got)
	}
}

// TestCellsDoNotRun: what somebody typed, or named a group, is text in a spreadsheet, whatever it begins with; figures stay figures.
func TestCellsDoNotRun(t *testing.T) {
	s := newSheetOf("who", "why", "value")
	for _, text := range []string{"=1+1", "+1", "-1", "@A1", "\tx", "Ada =1", "–", ""} {
		s.row(text, "oil, pump", -1.5)
	}
	rows, err := csv.NewReader(bytes.NewReader(s.bytes())).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	for i, want := range []string{"'=1+1", "'+1", "'-1", "'@A1", "'\tx", "Ada =1", "–", ""} {
		if got := rows[i+1]; got[0] != want || got[1] != "oil, pump" || got[2] != "-1.5" {
			t.Errorf("row %d = %q, want %q, \"oil, pump\" and -1.5", i+1, got, want)
		}
	}
}

// TestUnfitHasNoDistance: a spectrum that could not be judged is a row without a distance.
func TestUnfitHasNoDistance(t *testing.T) {
	p := chart.DistancePlot{Readings: []chart.Reading{{Time: at(6, 0), Distance: 0.5}, {Time: at(6, 1), Kind: chart.Unplaced}}}
	if got, want := string(distanceCSV(p)), "time,distance,kind\n2026-11-25T06:00:00+01:00,0.5,inside\n2026-11-25T06:01:00+01:00,,unfit\n"; got != want {
		t.Errorf("distanceCSV = %q, want %q", got, want)
	}
}

func TestUnderlined(t *testing.T) {
	for name, want := range map[string]string{"PeakAt": "peak_at", "K": "k", "KWhy": "k_why", "T2": "t2", "XLabel": "x_label", "LeftOut": "left_out"} {
		if got := underlined(name); got != want {
			t.Errorf("underlined(%q) = %q, want %q", name, got, want)
		}
	}
}
