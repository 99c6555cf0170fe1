package model

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"testing"
	"time"

	"asusual/model/finding"
	"asusual/model/spectrum"
)

var noon = time.Date(2026, 11, 25, 12, 0, 0, 0, time.UTC)

func mustAxis(t *testing.T, unit spectrum.Unit, at ...float64) *spectrum.Axis {
	t.Helper()
	a, err := spectrum.NewAxis(unit, at)
	if err != nil {
		t.Fatal(err)
	}
	return a
}

// numbered returns a spectrum whose values tell which one it is.
func numbered(axis *spectrum.Axis, run string, n int, at time.Time) spectrum.Spectrum {
	v := make([]float64, axis.Len())
	for i := range v {
		v[i] = float64(n) + float64(i)/100
	}
	return spectrum.Spectrum{
		Axis: axis, Values: v, Quantity: spectrum.Absorbance, Time: at, Run: run, File: fmt.Sprintf("%s-%03d.csv", run, n),
	}
}

func TestGatherOrdersByRunAndTime(t *testing.T) {
	axis := mustAxis(t, spectrum.Nanometre, 900, 1000, 1100)
	var all []spectrum.Spectrum
	for n := range 60 {
		run := []string{"monday", "tuesday", "friday"}[n/20]
		all = append(all, numbered(axis, run, n, noon.Add(time.Duration(n)*time.Minute)))
	}
	rng := rand.New(rand.NewPCG(1, 2))
	for range 5 {
		rng.Shuffle(len(all), func(i, j int) { all[i], all[j] = all[j], all[i] })
		var tr Training
		for _, s := range all {
			tr.Add(Usual, s)
		}
		b := tr.gather(Usual, axis, 0)
		for i := range 60 {
			if b.x[i*3] != float64(i) || b.x[i*3+2] != float64(i)+0.02 {
				t.Fatalf("gather: row %d holds spectrum %v, want %d", i, b.x[i*3], i)
			}
			if want := []string{"monday", "tuesday", "friday"}[i/20]; b.rows[i].run != want {
				t.Errorf("gather: row %d is of run %s, want %s", i, b.rows[i].run, want)
			}
		}
	}
}

func TestGatherCutsRunsAtGaps(t *testing.T) {
	axis := mustAxis(t, spectrum.Nanometre, 900, 1000)
	var tr Training
	for n, minute := range []int{0, 1, 2, 60, 61, 200} {
		tr.Add(Usual, numbered(axis, "", n, noon.Add(time.Duration(minute)*time.Minute)))
	}
	b := tr.gather(Usual, axis, 30*time.Minute)
	var runs []string
	for _, w := range b.rows {
		runs = append(runs, w.run)
	}
	want := []string{"2026-11-25 12:00:00", "2026-11-25 12:00:00", "2026-11-25 12:00:00",
		"2026-11-25 13:00:00", "2026-11-25 13:00:00", "2026-11-25 15:20:00"}
	if !slices.Equal(runs, want) {
		t.Errorf("gather: runs %q, want %q", runs, want)
	}
}

func TestTrainingNamesWhatItLeavesOut(t *testing.T) {
	wide := mustAxis(t, spectrum.Nanometre, 900, 1000, 1100, 1200, 1300)
	silicon := mustAxis(t, spectrum.Nanometre, 600, 700, 800, 900, 1000)
	var tr Training
	for n := range 4 {
		tr.Add(Usual, numbered(wide, "a", n, noon))
	}
	tr.Add(Usual, numbered(silicon, "b", 9, noon))
	flat := numbered(wide, "a", 5, noon)
	flat.Values = []float64{1, 1, 1, 1, 1}
	tr.Add(Usual, flat)
	raw := numbered(wide, "a", 6, noon)
	raw.Quantity = spectrum.Intensity
	tr.Add(Usual, raw)

	if got := tr.Axis(); !got.Equal(wide) {
		t.Errorf("Axis() = %v, want that of most spectra, %v", got, wide)
	}
	b := tr.gather(Usual, wide, 0)
	if len(b.rows) != 4 {
		t.Errorf("gather took %d spectra, want 4", len(b.rows))
	}
	kinds := map[string]finding.Kind{}
	for _, l := range tr.leftOut {
		kinds[l.Spectrum] = l.Reason.Kind
	}
	want := map[string]finding.Kind{"b-009.csv": finding.OffAxis, "a-005.csv": finding.Flat, "a-006.csv": finding.NotAbsorbance}
	for name, kind := range want {
		if kinds[name] != kind {
			t.Errorf("left out %s as %q, want %q", name, kinds[name], kind)
		}
	}
	if len(kinds) != len(want) {
		t.Errorf("left out %v, want %v", kinds, want)
	}
}

func TestBucketKeep(t *testing.T) {
	axis := mustAxis(t, spectrum.Nanometre, 900, 1000)
	var tr Training
	for n := range 6 {
		tr.Add(Usual, numbered(axis, "a", n, noon.Add(time.Duration(n)*time.Second)))
	}
	b := tr.gather(Usual, axis, 0)
	b.keep([]bool{true, false, true, true, false, false})
	if want := []float64{0, 0.01, 2, 2.01, 3, 3.01}; !slices.Equal(b.x, want) || len(b.rows) != 3 {
		t.Errorf("keep: x %v with %d rows, want %v with 3", b.x, len(b.rows), want)
	}
}

// TestRunsOfTheHourThatComesTwice: two runs an hour apart that begin at the same time by the clock are two.
func TestRunsOfTheHourThatComesTwice(t *testing.T) {
	summer, winter := time.FixedZone("summer", 2*3600), time.FixedZone("winter", 3600)
	axis := mustAxis(t, spectrum.Nanometre, 900, 1000, 1100)
	var tr Training
	for n, zone := range []*time.Location{summer, winter, winter} {
		from := time.Date(2026, 10, 25, 2+n/2, 30, 0, 0, zone)
		for i := range 3 {
			tr.Add(Usual, numbered(axis, "", 3*n+i, from.Add(time.Duration(i)*time.Second)))
		}
	}
	var runs []string
	for _, r := range tr.gather(Usual, axis, time.Minute).set().Runs {
		runs = append(runs, r.Name)
	}
	if want := []string{"2026-10-25 02:30:00", "2026-10-25 02:30:00 +01:00", "2026-10-25 03:30:00"}; !slices.Equal(runs, want) {
		t.Errorf("gather cuts into the runs %q, want %q", runs, want)
	}
}

// TestRowsOfOneTime: rows of a table that carry one time, as its file's, stay in their order: the second row comes before the tenth.
func TestRowsOfOneTime(t *testing.T) {
	axis := mustAxis(t, spectrum.Nanometre, 900, 1000, 1100)
	var tr Training
	for _, row := range []int{12, 3, 1, 2, 11, 10, 9, 4, 8, 5, 7, 6} {
		for _, file := range []string{"b.csv", "a.csv"} {
			s := numbered(axis, "lot 1", row, noon)
			s.File, s.Row = file, row
			tr.Add(Usual, s)
		}
	}
	for i, w := range tr.gather(Usual, axis, 0).rows {
		if want := fmt.Sprintf("%s.csv: row %d", []string{"a", "b"}[i/12], i%12+1); w.name != want {
			t.Errorf("spectrum %d of one time is %s, want %s", i+1, w.name, want)
		}
	}
}
