package report

import (
	"strings"
	"testing"
	"time"
)

// TestIndexAgain reads on the index what the headline of a shift's own report says: that it had been otherwise before its end.
func TestIndexAgain(t *testing.T) {
	from := time.Date(2026, 3, 2, 6, 0, 0, 0, time.UTC)
	for _, c := range []struct {
		shift        IndexShift
		words, worte string
	}{
		{IndexShift{Verdict: AsUsual, Since: from}, "as usual<", "wie gewohnt<"},
		{IndexShift{Verdict: AsUsual, Since: from.Add(time.Hour)}, "as usual<", "wie gewohnt<"},
		{IndexShift{Verdict: AsUsual, Since: from.Add(time.Hour), Episodes: 1}, "as usual again, after 1 episode<", "wieder wie gewohnt, nach 1 Episode<"},
		{IndexShift{Verdict: AsUsual, Since: from.Add(time.Hour), Episodes: 3}, "as usual again, after 3 episodes<", "wieder wie gewohnt, nach 3 Episoden<"},
		{IndexShift{Verdict: Changed, Since: from.Add(time.Hour), Episodes: 3}, "> changed<", "> verändert<"},
	} {
		c.shift.Name, c.shift.From, c.shift.To, c.shift.Href = "early", from, from.Add(8*time.Hour), "early/handover.html"
		for l, want := range map[*Language]string{English(): c.words, German(): c.worte} {
			p, err := Index{Zone: time.UTC, Language: l, Lines: []IndexLine{{Name: "Filler 3", Shifts: []IndexShift{c.shift}}}}.Render()
			if err != nil {
				t.Fatal(err)
			}
			if html := string(p.HTML); !strings.Contains(html, "</i>&nbsp;"+strings.TrimPrefix(want, "> ")) {
				t.Errorf("index of %s with %d episodes until %s: %q is missing", c.shift.Verdict, c.shift.Episodes, c.shift.Since, want)
			}
		}
	}
}
