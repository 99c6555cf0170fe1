package model_test

import (
	"fmt"
	"math"
	"slices"
	"testing"

	"asusual/model"
	"asusual/model/finding"
	"asusual/model/pretreat"
	"asusual/model/published"
	"asusual/model/spectrum"
)

// oils are the labels of the mayonnaise spectra, and whole samples that are kept back: every fourth of an oil. A
// sample's three spectra are never parted.
func oils(all []spectrum.Spectrum) (names []string, back map[string]bool) {
	back = map[string]bool{}
	count := map[string]int{}
	for i, s := range all {
		if i > 0 && slices.ContainsFunc(all[:i], func(o spectrum.Spectrum) bool { return o.Run == s.Run }) {
			continue
		}
		if !slices.Contains(names, s.Label) {
			names = append(names, s.Label)
		}
		count[s.Label]++
		back[s.Run] = count[s.Label]%4 == 0
	}
	slices.Sort(names)
	return names, back
}

// bands brings out the bands of the oils from under those of water and from the scatter of the drops. Of the short list
// that auto chooses from, it tells the oils apart best; so the figures below are of a list of seven, and for others'
// spectra they would be a little lower.
var bands = []pretreat.Step{{Name: pretreat.SNV}, {Name: pretreat.Derivative, Order: 2}}

// TestMayonnaise does the main job on spectra that others measured (U. Indahl, N. S. Sahni, B. Kirkhus, T. Næs, Multivariate
// strategies for classification based on NIR-spectra, with application to mayonnaise, Chemometrics and Intelligent
// Laboratory Systems 49, 1999, 19–31): it learns three quarters of the samples of one oil and judges the others. What was
// learned from is small, 18 to 33 spectra, and the samples of one oil differ by design, so that an oil can hide in another's
// usual; the paper tells them apart by learning from all of them at once, which is TestMayonnaiseNamed.
func TestMayonnaise(t *testing.T) {
	all := published.Spectra(t, "mayonnaise.csv")
	names, back := oils(all)
	// Spectra outside usual, of 42 of the first oil and 24 of each other: as measured, and two fewer will do.
	want := map[string][]int{
		"oil-1": {0, 23, 24, 24, 23, 24},
		"oil-2": {0, 0, 24, 24, 0, 0},
		"oil-3": {40, 24, 0, 24, 14, 24},
		"oil-4": {42, 24, 24, 0, 24, 24},
		"oil-5": {7, 23, 24, 24, 0, 24},
		"oil-6": {42, 22, 24, 24, 24, 0},
	}
	t.Logf("%-6s %12s %14s  %s", "usual", "learned from", "kept back, in", "outside usual, of the spectra of each other oil")
	for _, usual := range names {
		var tr model.Training
		for _, s := range all {
			if s.Label == usual && !back[s.Run] {
				tr.Add(model.Usual, s)
			}
		}
		r, err := model.Learn(&tr, model.Options{Pretreat: bands})
		if err != nil {
			t.Fatal(err)
		}
		inside, n := map[string]int{}, map[string]int{}
		for _, s := range all {
			if s.Label == usual && !back[s.Run] {
				continue
			}
			n[s.Label]++
			if r.Judge(s).Inside {
				inside[s.Label]++
			}
		}
		if inside[usual] < n[usual]-1 {
			t.Errorf("%s: %d of %d spectra kept back lie inside, want all but one at least", usual, inside[usual], n[usual])
		}
		line := ""
		for i, other := range names {
			if other == usual {
				continue
			}
			out := n[other] - inside[other]
			if out < want[usual][i]-2 {
				t.Errorf("%s: %d of %d spectra of %s lie outside, want at least %d", usual, out, n[other], other, want[usual][i]-2)
			}
			line += fmt.Sprintf("  %s %d/%d", other, out, n[other])
		}
		t.Logf("%-6s %12d %11d/%d %s", usual, r.Learning.Spectra, inside[usual], n[usual], line)
	}
}

// TestMayonnaiseNamed names the oils: one is usual and the others conditions, and samples kept back are called what they are.
func TestMayonnaiseNamed(t *testing.T) {
	all := published.Spectra(t, "mayonnaise.csv")
	names, back := oils(all)
	called := func(s spectrum.Spectrum) string {
		if s.Label == "oil-4" {
			return model.Usual
		}
		return s.Label
	}
	var tr model.Training
	for _, s := range all {
		if !back[s.Run] {
			tr.Add(called(s), s)
		}
	}
	r, err := model.Learn(&tr, model.Options{Pretreat: bands})
	if err != nil {
		t.Fatal(err)
	}
	right, n, as := 0, 0, map[string]map[string]int{}
	for _, s := range all {
		if !back[s.Run] {
			continue
		}
		if as[s.Label] == nil {
			as[s.Label] = map[string]int{}
		}
		got := r.Judge(s).Condition
		as[s.Label][got]++
		n++
		if got == called(s) {
			right++
		}
	}
	for _, name := range names {
		t.Logf("%s, kept back, is called %v", name, as[name])
	}
	t.Logf("%d of %d are called what they are", right, n)
	if n != 39 || right < 34 { // 36 as measured, and 31 if the nearest condition were taken and not the likeliest
		t.Errorf("%d of %d spectra kept back are called what they are, want at least 34 of 39", right, n)
	}
	overlaps := 0
	for _, f := range r.Findings {
		if f.Kind == finding.Overlap {
			overlaps++
		}
	}
	if overlaps == 0 {
		t.Error("oils lie over each other, and no finding says so")
	}
}

// TestMayonnaiseAuto: good runs of three spectra are too short to choose a pretreatment by what it lets see. The
// reference is learned all the same, and says so.
func TestMayonnaiseAuto(t *testing.T) {
	var tr model.Training
	for _, s := range published.Spectra(t, "mayonnaise.csv") {
		if s.Label == "oil-4" {
			tr.Add(model.Usual, s)
		}
	}
	r, err := model.Learn(&tr, model.Options{Auto: true})
	if err != nil {
		t.Fatal(err)
	}
	if !slices.ContainsFunc(r.Findings, func(f finding.Finding) bool { return f.Kind == finding.Default }) || r.Chain.String() != "SNV" {
		t.Errorf("Learn with %v and the findings %v, want SNV and %q among them", r.Chain, r.Findings, finding.Default)
	}
	encode(t, r)
}

// TestMeats learns from four of every five meats and judges the others, as they are and with a new band on them. The
// meats differ from lean to half fat, many lean and few fat, and none is taken for a stray.
func TestMeats(t *testing.T) {
	all := published.Spectra(t, "meats.csv")
	var tr model.Training
	for i, s := range all {
		if i%5 != 0 {
			s.Run = fmt.Sprintf("part %d", i*8/len(all))
			tr.Add(model.Usual, s)
		}
	}
	r, err := model.Learn(&tr, model.Options{Pretreat: bands})
	if err != nil {
		t.Fatal(err)
	}
	if n := len(r.Learning.LeftOut); n > 0 {
		t.Errorf("%d of 172 meats are left out, want none; the first: %v", n, r.Learning.LeftOut[0].Reason)
	}
	heights := []float64{0.02, 0.05, 0.1, 0.2}
	inside, n, seen := 0, 0, make([]int, len(heights))
	for i, s := range all {
		if i%5 != 0 {
			continue
		}
		n++
		if r.Judge(s).Inside {
			inside++
		}
		was := s.Values
		for h, height := range heights {
			s.Values = slices.Clone(was)
			for j, at := range s.Axis.Values() {
				s.Values[j] += height * math.Exp(-math.Pow((at-950)/10, 2)/2)
			}
			if !r.Judge(s).Inside {
				seen[h]++
			}
		}
	}
	t.Logf("of %d kept back, %d lie inside; outside with a band of %v absorbance: %v", n, inside, heights, seen)
	if inside < n*9/10 || seen[1] < n*9/10 {
		t.Errorf("%d of %d kept back lie inside, and %d with a band of 0.05 outside; want nine tenths of each", inside, n, seen[1])
	}
}
