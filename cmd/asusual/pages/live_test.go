package pages

import (
	"testing"
	"time"

	"asusual/model/alarm"
	"asusual/model/finding"
	"asusual/monitor"
	"asusual/monitor/history"
	"asusual/report"
	"asusual/report/chart"
)

func TestStanding(t *testing.T) {
	at := func(min int) time.Time { return time.Date(2026, 11, 25, 11, min, 0, 0, time.UTC) }
	s := monitor.Status{Verdict: "the process has changed", Since: at(20), ChangedSince: at(20), Group: "group 2026-11-25 A", Instrument: "ageing",
		Why: []finding.Finding{finding.Of(finding.MostUnfit, "")}, Unreadable: 2, Behind: 3, Trouble: "no disk"}
	s.Alarm.Alarm = alarm.Alarm{State: alarm.Unacknowledged, Since: at(41)}
	s.Alarm.Episode = at(41)
	got := Standing(s, []history.Group{{Name: "group 2026-11-25 A", From: at(41), To: at(50), Spectra: 9, Seen: "group 2026-11-12 A"}, {Name: "group 2026-11-25 B"}})
	if got.Verdict != report.Changed || !got.Since.Equal(at(41)) || !got.ChangedSince.Equal(at(20)) || got.Alarm.State != "unacknowledged" || got.Instrument.State != "ageing" {
		t.Errorf("Standing(%+v) = %+v, want seen at 11:41, changed since 11:20, nobody knows", s, got)
	}
	if len(got.Groups) != 2 || len(got.Groups[0].Seen) != 1 || got.Groups[0].Seen[0].Where != "group 2026-11-12 A" || len(got.Groups[1].Seen) != 0 {
		t.Errorf("groups = %+v, want the first seen before", got.Groups)
	}
	if got.Unreadable != 2 || got.Behind != 3 || got.Trouble != "no disk" || len(got.Reasons) != 1 {
		t.Errorf("Standing(%+v) = %+v, want all figures", s, got)
	}
	if got := Standing(monitor.Status{Verdict: "nonsense"}, nil); got.Verdict != report.CannotSay {
		t.Errorf("a verdict that nobody knows is said as %q, want cannot say", got.Verdict)
	}
}

func TestReading(t *testing.T) {
	r := history.Record{Distance: 1.2, Condition: "uncharted", Scores: []float64{1, 2, 3}}
	if got := Reading(r, nil); got.Score != (chart.Point{X: 1, Y: 2}) || got.Distance != 1.2 || got.Inside {
		t.Errorf("Reading(%+v) = %+v", r, got)
	}
}
