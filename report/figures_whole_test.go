package report

import (
	"encoding/json"
	"html"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"
)

var (
	unseenParts = regexp.MustCompile(`(?s)<style>.*?</style>|<svg.*?</svg>|<head>.*?</head>|<table class="calendar">.*?</table>|<div class="sign".*?</div>`)
	anyTag      = regexp.MustCompile(`<[^>]*>`)
	aFigure     = regexp.MustCompile(`\d[\d,]*(?:[.:]\d+)*`)
)

// A had is what the JSON beside a page holds, in the ways in which a page may say it.
type had struct {
	t       *teller
	figures map[string]bool // numbers, times by the clock, days of the month
	phrases []string        // lengths of time
}

// take goes through what JSON holds.
func (h *had) take(v any) {
	switch v := v.(type) {
	case map[string]any:
		var times []time.Time
		for key, one := range v {
			h.take(one)
			if s, ok := one.(string); ok {
				if at, err := time.Parse(time.RFC3339Nano, s); err == nil {
					times = append(times, at)
				}
			}
			if f, ok := one.(float64); ok && strings.HasSuffix(key, "_s") {
				h.phrase(time.Duration(f * float64(time.Second)))
			}
		}
		for _, a := range times {
			for _, b := range times {
				h.phrase(a.Sub(b))
			}
		}
		for _, of := range [][2]string{{"inside", "expected"}, {"inside", "spectra"}} {
			a, ok1 := v[of[0]].(float64)
			b, ok2 := v[of[1]].(float64)
			if ok1 && ok2 && b > 0 {
				h.number(a / b)
			}
		}
	case []any:
		for _, one := range v {
			h.take(one)
		}
	case float64:
		h.number(v)
	case string:
		h.text(v)
	}
}

func (h *had) number(v float64) {
	said := []string{h.t.percent(v), h.t.whole(int(v)), h.t.number(v/1e6, 3)}
	for digits := 1; digits <= 6; digits++ {
		said = append(said, h.t.number(v, digits), h.t.short(v, digits), h.t.number(100*v, digits), h.t.number(1000*v, digits))
	}
	for _, s := range said {
		h.words(s)
	}
}

func (h *had) text(s string) {
	at, err := time.Parse(time.RFC3339Nano, s)
	if err != nil {
		h.words(s)
		return
	}
	at = at.In(h.t.zone)
	for _, s := range []string{at.Format("15:04"), h.t.longDay(at)} {
		h.words(s)
	}
}

// words takes in every figure of a text.
func (h *had) words(s string) {
	for _, f := range aFigure.FindAllString(s, -1) {
		h.figures[f] = true
	}
}

func (h *had) phrase(d time.Duration) {
	if d > 0 {
		h.phrases = append(h.phrases, h.t.duration(d))
	}
}

// lacking returns the figures of a page that its JSON does not hold.
func lacking(t *testing.T, p Page, figures []byte, zone *time.Location) (all []string) {
	t.Helper()
	var v any
	if err := json.Unmarshal(figures, &v); err != nil {
		t.Fatal(err)
	}
	h := had{t: newTeller(English(), zone, time.Time{}, time.Time{}), figures: map[string]bool{}}
	h.take(v)
	for _, sentence := range English().Text { // such as 95 %, which is no figure of this page
		h.words(sentence)
	}
	text := html.UnescapeString(anyTag.ReplaceAllString(unseenParts.ReplaceAllString(string(p.HTML), " "), "\n"))
	slices.SortFunc(h.phrases, func(a, b string) int { return len(b) - len(a) })
	for _, phrase := range slices.Compact(h.phrases) {
		text = strings.ReplaceAll(text, phrase, "")
	}
	for _, line := range strings.Split(text, "\n") {
		for _, f := range aFigure.FindAllString(line, -1) {
			if !h.figures[f] && !h.figures[strings.TrimRight(f, ".,:")] {
				all = append(all, f+" in “"+strings.TrimSpace(line)+"”")
			}
		}
	}
	return all
}

// TestEveryFigureOfAPageIsInItsJSON reads each page as a person does, and asks for each number, time and length of time in it.
func TestEveryFigureOfAPageIsInItsJSON(t *testing.T) {
	for name, p := range allPages(t) {
		zone := shiftZone
		if name == "site" {
			zone = nil
		}
		for _, f := range lacking(t, p, p.Figures["figures.json"], zone) {
			t.Errorf("%s: figures.json has no %s", name, f)
		}
		var all map[string]any
		if err := json.Unmarshal(p.Figures["figures.json"], &all); err != nil {
			t.Fatal(err)
		}
		for key := range all { // without any of its parts the test would find something, or the part says nothing in figures
			all[key] = nil
		}
		none, err := json.Marshal(all)
		if err != nil {
			t.Fatal(err)
		}
		if n := len(lacking(t, p, none, zone)); n < 5 {
			t.Errorf("%s: only %d figures of the page were asked for", name, n)
		}
	}
}

// TestEveryFigureOfTheLivePageIsInItsJSON asks the same of what the live page says.
func TestEveryFigureOfTheLivePageIsInItsJSON(t *testing.T) {
	n := Now{Handover: sampleHandover(true), Newest: at(13, 59), Condition: "rinse", Over: true, Instrumental: at(9, 3), Behind: 17,
		Alarm: Alarm{State: "acknowledged", Since: at(11, 58), Who: "Ada", Why: "pump 5 is looked at"}}
	n.Language, n.Last, n.Peak = English(), 2.41, 3.37
	n.Conditions = append([]Stay{{Condition: "rinse", Time: 47 * time.Minute, Over: 26 * time.Minute, Spectra: 141}}, n.Conditions...)
	said, err := json.Marshal(n.Tell())
	if err != nil {
		t.Fatal(err)
	}
	figures, err := n.Figures()
	if err != nil {
		t.Fatal(err)
	}
	var words any
	if err := json.Unmarshal(said, &words); err != nil {
		t.Fatal(err)
	}
	var page strings.Builder
	var read func(v any)
	read = func(v any) {
		switch v := v.(type) {
		case string:
			page.WriteString("<p>" + html.EscapeString(v) + "</p>")
		case []any:
			for _, one := range v {
				read(one)
			}
		case map[string]any:
			for _, one := range v {
				read(one)
			}
		}
	}
	read(words)
	for _, f := range lacking(t, Page{HTML: []byte(page.String())}, figures, shiftZone) {
		t.Errorf("the figures of the live page have no %s", f)
	}
	if n := len(lacking(t, Page{HTML: []byte(page.String())}, []byte("{}"), shiftZone)); n < 20 {
		t.Errorf("only %d figures were asked for", n)
	}
}
