package report

import (
	"strings"
	"testing"
	"time"
)

func sampleSite(l *Language) Site {
	at := time.Date(2026, 11, 25, 14, 30, 0, 0, time.UTC)
	return Site{Name: "Oat drink plant", Language: l, At: at, Troubles: []string{"<b>east.history</b>: locked by another program"}, Lines: []SiteLine{
		{Name: "Filler 1", Verdict: AsUsual, Since: at.Add(-9 * time.Hour), Newest: at.Add(-2 * time.Second), Instrument: "fit", Watch: "asusual watch on east", Href: "index.html"},
		{Name: "Filler 2 " + nasty, Verdict: Changed, Since: at.Add(-95 * time.Minute), Newest: at.Add(-time.Second), Instrument: "unfit", Watch: "asusual watch on west"},
		{Name: "Filler 3", Verdict: CannotSay, Since: at.Add(-49 * time.Hour), Newest: at.Add(-3 * time.Hour), Instrument: "ageing", Unasked: true},
		{Name: "Filler 4"},
	}}
}

func TestSiteSaysHowEachLineStands(t *testing.T) {
	for _, c := range []struct {
		lang *Language
		want []string
	}{
		{English(), []string{"<h1>One line of 4 has changed.</h1>", "Wednesday 25 November 2026, 14:30", "about 12:55", "05:30", "11:30", "3 h ago", "watched by",
			"23 November", "unfit", "ageing", `<a href="index.html">Filler 1</a>`, "asusual watch on east", "&lt;b&gt;east.history"}},
		{German(), []string{"<h1>Eine von 4 Linien hat sich verändert.</h1>", "letztes Spektrum", "etwa 12:55", "altert", "wie gewohnt"}},
	} {
		p, err := sampleSite(c.lang).Render()
		if err != nil {
			t.Fatal(err)
		}
		html := string(p.HTML)
		for _, want := range c.want {
			if !strings.Contains(html, want) {
				t.Errorf("the page of a site in %s has no %q:\n%s", c.lang.Tag, want, html[strings.Index(html, "<main"):])
			}
		}
		order := -1
		for _, name := range []string{"Filler 2", "Filler 3", "Filler 4", "Filler 1"} { // changed, cannot say, nothing said yet, as usual
			at := strings.Index(html, `<th scope="row" role="rowheader">`+name)
			if name == "Filler 1" {
				at = strings.Index(html, ">Filler 1<")
			}
			if at <= order {
				t.Errorf("%s stands at %d, want it after %d", name, at, order)
			}
			order = at
		}
	}
}

func TestHeadlineOfASite(t *testing.T) {
	line := func(vs ...Verdict) (all []SiteLine) {
		for _, v := range vs {
			all = append(all, SiteLine{Name: "x", Verdict: v, Watch: "east"})
		}
		return all
	}
	for _, c := range []struct {
		lines []SiteLine
		want  string
	}{
		{nil, "No line is known yet."},
		{line(AsUsual, AsUsual), "All lines are as usual."},
		{line(AsUsual, Changed, Changed, CannotSay), "2 lines of 4 have changed."},
		{line(AsUsual, CannotSay, ""), "Nothing can be said of 2 lines of 3; the others are as usual."},
		{line(CannotSay), "Nothing can be said of any line."},
		{append(line(AsUsual), SiteLine{Name: "y", Verdict: AsUsual}), "Nothing can be said of one line of 2; the others are as usual."},
		{append(line(AsUsual), SiteLine{Name: "y", Verdict: AsUsual, Unasked: true}), "All lines are as usual."},
	} {
		s := Site{Lines: c.lines}
		if got := s.headline(newTeller(nil, nil, time.Time{}, time.Time{})); got != c.want {
			t.Errorf("headline of %v = %q, want %q", c.lines, got, c.want)
		}
	}
}

// What a watch said last holds while somebody watches, spectra come and all histories answer.
func TestSiteIsNoKinderThanItKnows(t *testing.T) {
	now := time.Date(2026, 11, 25, 14, 30, 0, 0, time.UTC)
	line := func(v Verdict, ago time.Duration, watch string, unasked bool) SiteLine {
		return SiteLine{Name: "x", Verdict: v, Newest: now.Add(-ago), Watch: watch, Unasked: unasked, Fresh: time.Hour}
	}
	good := line(AsUsual, time.Minute, "east", false)
	for name, c := range map[string]struct {
		lines    []SiteLine
		troubles []string
		verdict  Verdict
		english  string
		german   string
	}{
		"all well":                 {[]SiteLine{good}, nil, AsUsual, "All lines are as usual.", "Alle Linien sind wie gewohnt."},
		"a file, as old as may be": {[]SiteLine{line(AsUsual, time.Hour, "", true)}, nil, AsUsual, "All lines are as usual.", "Alle Linien sind wie gewohnt."},
		"a file, last week":        {[]SiteLine{good, line(AsUsual, 7*24*time.Hour, "", true)}, nil, CannotSay, "Nothing can be said of one line of 2; the others are as usual.", "lange kein Spektrum; zuletzt: wie gewohnt"},
		"watched, last week":       {[]SiteLine{line(Changed, 7*24*time.Hour, "east", false)}, nil, CannotSay, "no spectrum lately; last: changed", "lange kein Spektrum; zuletzt: verändert"},
		"a clock an hour ahead":    {[]SiteLine{line(AsUsual, -time.Hour, "east", false)}, nil, AsUsual, "All lines are as usual.", "Alle Linien sind wie gewohnt."},
		"a time of next year":      {[]SiteLine{line(AsUsual, -365*24*time.Hour, "east", false)}, nil, CannotSay, "the last spectrum bears a time to come; last: as usual", "das letzte Spektrum trägt eine Zeit, die noch nicht war; zuletzt: wie gewohnt"},
		"a slow line":              {[]SiteLine{good, {Name: "y", Verdict: AsUsual, Newest: now.Add(-2 * time.Hour), Watch: "east", Fresh: 12 * time.Hour}}, nil, AsUsual, "older than is stated for its line", "älter ist, als für seine Linie angegeben"},
		"as old as it likes":       {[]SiteLine{good, {Name: "y", Verdict: AsUsual, Newest: now.Add(-2000 * time.Hour), Watch: "east"}}, nil, AsUsual, "All lines are as usual.", "Alle Linien sind wie gewohnt."},
		"nobody watches":           {[]SiteLine{line(AsUsual, time.Second, "", false)}, nil, CannotSay, "nobody watches; last: as usual", "niemand überwacht; zuletzt: wie gewohnt"},
		"a history is silent":      {[]SiteLine{good}, []string{"b: away"}, CannotSay, "nothing can be said of those of a history that does not answer", "Historie, die nicht antwortet"},
		"two are silent":           {[]SiteLine{good}, []string{"b: away", "c: away"}, CannotSay, "nothing can be said of those of 2 histories", "die von 2 Historien"},
		"none answers":             {nil, []string{"b: away"}, CannotSay, "Nothing can be said of any line.", "Über keine Linie lässt sich etwas sagen."},
		"a name of before":         {[]SiteLine{good, {Name: "y", Verdict: Changed, Newest: now, Unasked: true, Left: true}}, nil, AsUsual, "One line is out of use, stands last", "außer Gebrauch; zuletzt: verändert"},
		"only names of before":     {[]SiteLine{{Name: "y", Verdict: AsUsual, Newest: now, Unasked: true, Left: true}}, nil, CannotSay, "Nothing can be said of any line.", "Über keine Linie lässt sich etwas sagen."},
		"changed, one silent":      {[]SiteLine{line(Changed, 0, "east", false)}, []string{"b: away"}, Changed, "One line of 1 has changed.", "Eine von 1 Linien hat sich verändert."},
	} {
		for _, l := range []*Language{English(), German()} {
			s := Site{Language: l, At: now, Lines: c.lines, Troubles: c.troubles}
			if got := s.Verdict(); got != c.verdict {
				t.Errorf("%s: the verdict over all lines = %q, want %q", name, got, c.verdict)
			}
			p, err := s.Render()
			if err != nil {
				t.Fatal(err)
			}
			want := c.english
			if l.Tag == "de" {
				want = c.german
			}
			if !strings.Contains(string(p.HTML), want) {
				t.Errorf("%s: the page in %s has no %q:\n%s", name, l.Tag, want, p.HTML[strings.Index(string(p.HTML), "<main"):])
			}
		}
	}
}
