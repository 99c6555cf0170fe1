package monitor

import (
	"bytes"
	"log/slog"
	"strings"
	"testing"
	"time"
)

// Of what is unreadable the log has 20 lines within an hour, and then how many more there were; each hour begins anew.
func TestFlood(t *testing.T) {
	var f flood
	var out bytes.Buffer
	log, now := slog.New(slog.NewTextHandler(&out, nil)), time.Date(2026, 11, 20, 9, 0, 0, 0, time.UTC)
	for _, c := range []struct {
		after       time.Duration
		files, rows int // what comes then, each of so many rows; 0 rows: the file as a whole
		lines       int // of it in the log
		says        string
	}{
		{0, 50, 0, 20, ""},
		{59 * time.Minute, 5, 3, 0, ""},
		{time.Minute, 3, 0, 3, `more=45 since="2026-11-20 09:00:00" last=f.csv`}, // 30 and 5 × 3
		{time.Hour, 20, 0, 20, ""},
		{2 * time.Hour, 21, 0, 20, ""},
		{time.Hour, 0, 0, 0, "more=1 "},
		{time.Hour, 0, 0, 0, ""},
	} {
		now = now.Add(c.after)
		out.Reset()
		f.ebb(log, now)
		if said := out.String(); !strings.Contains(said, c.says) || (said == "") != (c.says == "") {
			t.Errorf("at %s the log says %q, want %q", now.Format(time.TimeOnly), said, c.says)
		}
		lines := 0
		for range c.files {
			if f.lets(now, "f.csv", c.rows) {
				lines++
			}
		}
		if lines != c.lines {
			t.Errorf("at %s the log has %d lines of %d files, want %d", now.Format(time.TimeOnly), lines, c.files, c.lines)
		}
	}
}
