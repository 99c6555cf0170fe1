package pages

import (
	"math"
	"slices"
	"testing"

	"asusual/model"
	"asusual/model/finding"
	"asusual/model/holdout"
	"asusual/model/reach"
	"asusual/report"
)

func TestLeftOutGathersByRunAndReason(t *testing.T) {
	apart := finding.Of(finding.ApartInShape, "", 9)
	whole := finding.Of(finding.RunApart, "c", 12)
	got := leftOut([]model.LeftOut{
		{Spectrum: "a/1.csv", Run: "a", Condition: "usual", Reason: apart},
		{Spectrum: "c/1.csv", Run: "c", Condition: "usual", Reason: whole},
		{Spectrum: "c/2.csv", Run: "c", Condition: "usual", Reason: whole},
		{Spectrum: "r/1.csv", Run: "r", Condition: "rinse", Reason: apart},
		{Spectrum: "r/2.csv", Run: "r", Condition: "rinse", Reason: apart},
	}, nil)
	var what []string
	n := 0
	for _, l := range got {
		what = append(what, l.What)
		n += l.Spectra
	}
	if !slices.Equal(what, []string{"a/1.csv", "run c", "rinse, run r"}) || n != 5 {
		t.Errorf("leftOut = %v with %d spectra, want one spectrum, a run and a rinse, 5 in all", what, n)
	}
}

// Each reason why nothing could be used stands on the card with its count and the first that it hit.
func TestUnused(t *testing.T) {
	dark := finding.Of(finding.NotUsed, "no dark spectrum is there; measure one with the light off")
	got := unused([]model.Unused{
		{First: "good/1.csv", Count: 180, Condition: "usual", Reason: dark},
		{First: "good/2.csv: line 3", Count: 1, Condition: "usual", Reason: dark},
		{First: "rinse/1.csv", Count: 2, Condition: "rinse", Reason: dark},
	}, nil)
	for i, want := range []report.LeftOut{{What: "good/1.csv and others", Spectra: 180}, {What: "good/2.csv: line 3", Spectra: 1}, {What: "rinse, rinse/1.csv and others", Spectra: 2}} {
		if g := got[i]; g.What != want.What || g.Spectra != want.Spectra || len(g.Reasons) != 1 || g.Reasons[0].About != dark.About {
			t.Errorf("unused[%d] = %+v, want %s with %d and the reason", i, g, want.What, want.Spectra)
		}
	}
}

func TestTriedIsRelativeToTheChosen(t *testing.T) {
	got := tried([]reach.Tried{{Words: "SNV", Band: 0.002}, {Words: "none", Band: 0.001, Chosen: true}, {Words: "odd", Why: "too short", Band: reach.Never}})
	if got[0].Reach != 2 || got[1].Reach != 1 || !math.IsInf(got[2].Reach, 1) || got[2].Steps != "odd (too short)" {
		t.Errorf("tried = %+v, want 2, 1 and never", got)
	}
}

func TestLeftOverIsInPerCentFromOneComponentOn(t *testing.T) {
	got := leftOver([]holdout.KRow{{K: 0, Within: 0}, {K: 1, Within: 0.75}, {K: 2, Within: 1.5}})
	if !slices.Equal(got, []float64{25, 0}) {
		t.Errorf("leftOver = %v, want 25 and 0", got)
	}
}

func TestMiddle(t *testing.T) {
	for _, c := range []struct {
		sizes []reach.Size
		want  reach.Size
	}{{nil, reach.Never}, {[]reach.Size{3, 1, 2}, 2}, {[]reach.Size{reach.Never, 1, reach.Never}, reach.Never}} {
		if got := Middle(c.sizes); got != c.want {
			t.Errorf("Middle(%v) = %v, want %v", c.sizes, got, c.want)
		}
	}
}

func TestNews(t *testing.T) {
	a, b := finding.Of(finding.FewRuns, "", 3, 6, 8), finding.Of(finding.RunsGrouped, "", 21, 16)
	if got := news([]finding.Finding{a, b}, []finding.Finding{b}); len(got) != 1 || got[0].Kind != finding.FewRuns {
		t.Errorf("news = %v, want the one that was not said", got)
	}
	if got := without([]finding.Finding{a, b}, finding.FewRuns); len(got) != 1 || got[0].Kind != finding.RunsGrouped {
		t.Errorf("without = %v, want the other kind", got)
	}
}
