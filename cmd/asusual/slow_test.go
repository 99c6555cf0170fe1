package main

import (
	"cmp"
	"slices"
	"strings"
	"testing"
	"time"

	"asusual/cmd/asusual/config"
	"asusual/model"
	"asusual/model/oatline"
	"asusual/model/pretreat"
	"asusual/model/spectrum"
	"asusual/model/verdict"
)

// A pace is a line whose reference was learned from spectra 2 s apart.
type pace struct {
	t    *testing.T
	line *oatline.Line
	ref  *model.Reference
}

func newPace(t *testing.T) *pace {
	t.Helper()
	line, err := oatline.New(oatline.Settings{Seed: 1, Channels: 64})
	if err != nil {
		t.Fatal(err)
	}
	p := &pace{t: t, line: line}
	var good model.Training
	for i, run := range []string{"a", "b", "c", "d", "e", "f"} {
		for _, s := range p.spectra(oatline.Stretch{Run: run, From: at("2026-11-20T06:00:00Z").AddDate(0, 0, i), N: 80}) {
			good.Add(s.Label, s)
		}
	}
	if p.ref, err = model.Learn(&good, model.Options{Pretreat: []pretreat.Step{{Name: pretreat.SNV}}, Now: at("2026-11-24T06:00:00Z")}); err != nil {
		t.Fatal(err)
	}
	if gap := p.ref.Limits.Gap; gap < 10*time.Second || gap >= 2*time.Minute {
		t.Fatalf("a run ends after %v; want less than two", gap)
	}
	return p
}

// spectra are those of a stretch: what the line makes in as many minutes, told as so far apart as the stretch says, or else 2 s.
func (p *pace) spectra(st oatline.Stretch) []spectrum.Spectrum {
	p.t.Helper()
	every := cmp.Or(st.Every, 2*time.Second)
	st.Every = time.Minute
	series, err := p.line.Series(st)
	if err != nil {
		p.t.Fatal(err)
	}
	all := slices.Collect(series.All())
	for i := range all {
		all[i].Time = st.From.Add(time.Duration(i) * every)
	}
	return all
}

// judged is the day of stretches, as judge has it.
func (p *pace) judged(stretches ...oatline.Stretch) *day {
	p.t.Helper()
	d := &day{zone: time.UTC}
	judger := model.NewJudger(p.ref)
	for i, st := range stretches {
		st.Run = "new " + string(rune('a'+i))
		for _, s := range p.spectra(st) {
			one := judged{file: st.Run, time: s.Time}
			judger.Judge(&one.Judgement, s)
			one.raw = single(judger.Absorbance())
			d.spectra = append(d.spectra, one)
		}
	}
	d.follow(p.ref, config.Line{})
	return d
}

// TestJudgeTellsThatSpectraComeTooSlowly where that is why nothing can be said of them, and of nothing else.
func TestJudgeTellsThatSpectraComeTooSlowly(t *testing.T) {
	p := newPace(t)
	morning := at("2026-11-25T06:00:00Z")
	slow := func(hour, n int) oatline.Stretch {
		return oatline.Stretch{From: morning.Add(time.Duration(hour) * time.Hour), Every: 2 * time.Minute, N: n}
	}
	run := func(hour, n int, u ...oatline.Upset) oatline.Stretch {
		return oatline.Stretch{From: morning.Add(time.Duration(hour) * time.Hour), N: n, Upsets: u}
	}
	for _, c := range []struct {
		name      string
		stretches []oatline.Stretch
		want      verdict.Verdict
		slow      bool
	}{
		{"a spectrum in two minutes", []oatline.Stretch{slow(0, 60)}, verdict.CannotSay, true},
		{"a good run, and then a spectrum in two minutes", []oatline.Stretch{run(0, 40), slow(1, 59)}, verdict.CannotSay, true},
		{"a band, stops and a good run", []oatline.Stretch{run(0, 90, oatline.Upset{Kind: oatline.NewBand, Size: 0.02, After: 30 * time.Minute}), slow(1, 5), run(2, 60)}, verdict.Changed, false},
		{"a band and then stops", []oatline.Stretch{run(0, 90, oatline.Upset{Kind: oatline.NewBand, Size: 0.02, After: 30 * time.Minute}), slow(1, 5)}, verdict.Changed, false},
		{"stops and a run that is too short", []oatline.Stretch{slow(0, 5), run(1, 12)}, verdict.CannotSay, false},
	} {
		d := p.judged(c.stretches...)
		if d.verdict != c.want || slices.ContainsFunc(d.reasons, isSlow) != c.slow {
			t.Errorf("%s: %v, %v; want %v, told as too slow %v", c.name, d.verdict, d.reasons, c.want, c.slow)
		}
	}
}

// TestExtendTakesSlowSpectra: a reference that is too quick for its line is made fit for it by spectra at the line's pace, if they are good.
func TestExtendTakesSlowSpectra(t *testing.T) {
	p := newPace(t)
	slow := oatline.Stretch{Lot: "a", From: at("2026-11-25T06:00:00Z"), Every: 2 * time.Minute, N: 60}
	if refused := refusals(p.judged(slow)); len(refused) > 0 {
		t.Errorf("good spectra two minutes apart are refused: %q", refused)
	}
	slow.Upsets = []oatline.Upset{{Kind: oatline.NewBand, Size: 0.05}}
	if refused := refusals(p.judged(slow)); len(refused) != 1 || !strings.Contains(refused[0], "outside usual") {
		t.Errorf("spectra two minutes apart with a new band: %q, want that they lie outside usual", refused)
	}
}
