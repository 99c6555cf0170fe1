package main

import (
	"bytes"
	"slices"
	"strings"
	"testing"
	"time"

	"asusual/model"
	"asusual/model/finding"
	"asusual/model/fitness"
	"asusual/model/limits"
	"asusual/model/position"
	"asusual/model/spectrum"
	"asusual/model/verdict"
)

func at(s string) time.Time {
	t, err := time.Parse(time.RFC3339, s)
	if err != nil {
		panic(err)
	}
	return t
}

// The lines of judge --json are a promise. A line here changes only by more fields at its end.
func TestJudgeWritesTheLinesOfTheContract(t *testing.T) {
	ref := &model.Reference{Name: "line", Limits: &limits.Limits{T2: 9.5, Q: 2e-05}}
	d := &day{
		zone: time.FixedZone("", 2*60*60),
		spectra: []judged{
			{file: "a.csv", row: 3, time: at("2026-11-25T06:00:00Z"), Judgement: model.Judgement{
				Position: position.Position{T2: 1.25, Q: 1e-06, Distance: 0.363}, Inside: true, Condition: "usual"}},
			{file: "b.csv", time: at("2026-11-25T06:00:20.5Z"), Judgement: model.Judgement{
				Position: position.Position{T2: 40, Q: 3e-05, Distance: 2.05}, Condition: "uncharted",
				Reasons: []finding.Finding{finding.Of(finding.AboveT2, "", 40, 9.5)}}},
			{file: "c.csv", Judgement: model.Judgement{Condition: "unfit", Reasons: []finding.Finding{finding.Of(finding.NotFinite, "", 7)}}},
		},
		unreadable: []*spectrum.Unreadable{{File: "d.csv", Line: 12, Reason: "\"0,5\" is no number"}},
		episodes: []verdict.Episode{{
			From: at("2026-11-25T06:00:20Z"), To: at("2026-11-25T06:10:00Z"), ChangedSince: at("2026-11-25T06:00:00Z"), Spectra: 28, Group: "A",
		}},
		open: true, verdict: verdict.Changed, instrument: fitness.Fit, inside: 1,
	}
	var b bytes.Buffer
	if err := d.writeJSON(&b, ref); err != nil {
		t.Fatal(err)
	}
	want := []string{
		`{"kind":"spectrum","file":"a.csv","row":3,"time":"2026-11-25T08:00:00+02:00","t2":1.25,"t2_limit":9.5,"q":0.000001,"q_limit":0.00002,"distance":0.363,"inside":true,"condition":"usual","reasons":[]}`,
		`{"kind":"spectrum","file":"b.csv","time":"2026-11-25T08:00:20.5+02:00","t2":40,"t2_limit":9.5,"q":0.00003,"q_limit":0.00002,"distance":2.05,"inside":false,"condition":"uncharted","reasons":["inside the pattern of usual variation, but further out than usual (T² 40, limit 9.5)"]}`,
		`{"kind":"spectrum","file":"c.csv","time":null,"t2":null,"t2_limit":9.5,"q":null,"q_limit":0.00002,"distance":null,"inside":false,"condition":"unfit","reasons":["channel 7 holds no number"]}`,
		`{"kind":"unreadable","file":"d.csv","line":12,"reason":"\"0,5\" is no number"}`,
		`{"kind":"episode","from":"2026-11-25T08:00:20+02:00","to":"2026-11-25T08:10:00+02:00","changed_since":"2026-11-25T08:00:00+02:00","spectra":28,"group":"A","open":true}`,
		`{"kind":"verdict","verdict":"the process has changed","since":"2026-11-25T08:00:00+02:00","spectra":3,"inside":1,"unreadable":1,"instrument":"fit","reference":"` + ref.Fingerprint() + `"}`,
	}
	got := strings.Split(strings.TrimSuffix(b.String(), "\n"), "\n")
	if !slices.Equal(got, want) {
		t.Errorf("writeJSON =\n%s\nwant\n%s", strings.Join(got, "\n"), strings.Join(want, "\n"))
	}
}

func TestJudgeSaysTheVerdict(t *testing.T) {
	one := []judged{{file: "a.csv", time: at("2026-11-25T06:00:00Z"), Judgement: model.Judgement{Condition: "usual", Inside: true}}}
	unfit := judged{Judgement: model.Judgement{Condition: "unfit"}}
	changed := []verdict.Episode{{ChangedSince: at("2026-11-25T06:00:00Z")}}
	for _, c := range []struct {
		day  day
		want string
	}{
		{day{verdict: verdict.AsUsual, spectra: one}, "As usual."},
		{day{verdict: verdict.Changed, episodes: changed, open: true}, "The process has changed, since about 2026-11-25 06:00."},
		{day{verdict: verdict.Changed, episodes: changed}, "The process has changed, since about 2026-11-25 06:00; it was back to usual at the end."},
		{day{verdict: verdict.CannotSay}, "Cannot say: no spectrum could be used."},
		{day{verdict: verdict.CannotSay, spectra: make([]judged, 200), instrument: fitness.Bad}, "Cannot say: the instrument is unfit."},
		{day{verdict: verdict.CannotSay, spectra: make([]judged, 200), doubtful: true}, "Cannot say: the instrument was unfit while it changed."},
		{day{verdict: verdict.CannotSay, spectra: one}, "Cannot say: 1 spectrum is too few to tell."},
		{day{verdict: verdict.CannotSay, spectra: []judged{unfit, unfit, one[0]}}, "Cannot say: 2 of 3 spectra cannot be judged."},
	} {
		c.day.zone = time.UTC
		if got := c.day.sentence(); got != c.want {
			t.Errorf("sentence of %+v = %q, want %q", c.day, got, c.want)
		}
	}
}

// Whoever judge sends to the lamp is cautioned.
func TestJudgeCautions(t *testing.T) {
	const caution = "caution: the light source of a probe is hot and bright"
	for kind, want := range map[finding.Kind]bool{finding.LikePath: true, finding.LikeAxis: false} {
		var b bytes.Buffer
		d := &day{zone: time.UTC, verdict: verdict.Changed, reasons: []finding.Finding{finding.Of(kind, "nm", 12, 90)}}
		if err := d.write(&b, &model.Reference{Name: "line"}); err != nil || strings.Contains(b.String(), caution) != want {
			t.Errorf("judge says of %s, %v:\n%s\nwant a caution: %v", kind, err, b.String(), want)
		}
	}
}

func TestStatusOfVerdict(t *testing.T) {
	for v, want := range map[verdict.Verdict]int{verdict.AsUsual: 0, verdict.Changed: 10, verdict.CannotSay: 11} {
		if got := ofVerdict(v.String()); got != want {
			t.Errorf("ofVerdict(%v) = %d, want %d", v, got, want)
		}
	}
}
