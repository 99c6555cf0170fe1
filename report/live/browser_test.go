package live

import (
	"context"
	"errors"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"asusual/report"
	"asusual/report/browser"
)

// host is the host and port of an address.
func host(url string) string { return strings.TrimSuffix(strings.TrimPrefix(url, "http://"), "/") }

// serving answers for a site until stop is called.
func serving(t *testing.T, s *Site, address string) (url string, stop func()) {
	t.Helper()
	l, err := Door{Address: address}.Listen()
	if err != nil {
		t.Fatal(err)
	}
	ctx, cancel := context.WithCancel(t.Context())
	done := make(chan error, 1)
	go func() { done <- s.Serve(ctx, l) }()
	stopped := false
	stop = func() {
		if stopped {
			return
		}
		stopped = true
		cancel()
		if err := <-done; err != nil {
			t.Errorf("Serve() = %v, want it to end in good order", err)
		}
	}
	t.Cleanup(stop)
	return l.URL(), stop
}

// until waits on the page until an expression is true.
func until(t *testing.T, b *browser.Browser, expression string) {
	t.Helper()
	b.Until(t, expression)
}

func keepPicture(t *testing.T, b *browser.Browser, name string) {
	t.Helper()
	if dir := os.Getenv("ASUSUAL_KEEP_PAGES"); dir != "" {
		b.Picture(t, filepath.Join(dir, name+".png"))
	}
}

// TestInBrowser asks a real browser, one for all, since it takes a second to start.
func TestInBrowser(t *testing.T) {
	if testing.Short() {
		t.Skip("a browser takes seconds")
	}
	b := browser.New(t)
	t.Run("shows", func(t *testing.T) { testShows(t, b) })
	t.Run("follows", func(t *testing.T) { testFollows(t, b) })
	t.Run("first drawing", func(t *testing.T) { testFirstDrawing(t, b) })
	t.Run("paper", func(t *testing.T) { testPaper(t, b) })
	t.Run("empty", func(t *testing.T) { testEmpty(t, b) })
	t.Run("lines", func(t *testing.T) { testLines(t, b) })
	t.Run("enciphered", func(t *testing.T) { testEnciphered(t, b) })
	t.Run("one score", func(t *testing.T) { testOneScore(t, b) })
	t.Run("old", func(t *testing.T) { testOld(t, b) })
}

// testShows shows the page as usual and changed, on a screen and a telephone, light and dark.
func testShows(t *testing.T, b *browser.Browser) {
	for _, c := range []struct {
		name    string
		changed bool
		view    browser.View
	}{
		{"usual-1280", false, browser.View{Width: 1280}},
		{"usual-390-dark", false, browser.View{Width: 390, Dark: true}},
		{"changed-1280-dark", true, browser.View{Width: 1280, Dark: true}},
		{"changed-390", true, browser.View{Width: 390}},
	} {
		t.Run(c.name, func(t *testing.T) {
			yes := func(context.Context, string, string, string) error { return nil }
			named := func(context.Context, string, string, string) (string, error) { return "", nil }
			s := sampleSite(t, Options{Acknowledge: yes, Name: named}, c.changed, at(11, 55))
			url, _ := serving(t, s, "127.0.0.1:0")
			b.Load(t, url, c.view)
			until(t, b, `document.querySelectorAll(".plot svg").length === 3 && document.getElementById("clock").textContent !== ""`)
			keepPicture(t, b, "live-"+c.name)
			var text string
			b.Eval(t, `document.querySelector("h1").innerText`, &text)
			if want := map[bool]string{false: "As usual.", true: "The process has changed, since about 11:31."}[c.changed]; text != want {
				t.Errorf("the headline reads %q, want %q", text, want)
			}
			var first, last bool // the hour until 11:55
			b.Eval(t, `[...document.querySelectorAll("#distance text")].some(e => e.textContent === "10:55")`, &first)
			b.Eval(t, `[...document.querySelectorAll("#distance text")].some(e => e.textContent === "11:55")`, &last)
			if !first || !last {
				t.Errorf("the time axis names its first time, 10:55: %t, its last, 11:55: %t; want both", first, last)
			}
			var made int
			fits(t, b, c.view.Width)
			b.Eval(t, `document.querySelectorAll("img, [onerror]").length`, &made)
			if made > 0 {
				t.Errorf("%d elements came from the name of a group", made)
			}
			if c.changed {
				b.Eval(t, `document.getElementById("groups").innerText`, &text)
				if !strings.Contains(text, nasty) {
					t.Errorf("the groups read %q, want %q among them, as text", text, nasty)
				}
			}
			for _, trouble := range b.Troubles(func(address string) bool { return strings.HasPrefix(address, url) }) {
				t.Error(trouble)
			}
		})
	}
}

// fits checks that the page is no wider than what it is shown on, and that no table is cut off.
func fits(t *testing.T, b *browser.Browser, width int) {
	t.Helper()
	var wide int
	b.Eval(t, `document.documentElement.scrollWidth`, &wide)
	if wide > width {
		t.Errorf("the page is %d px wide, want at most %d", wide, width)
	}
	var cut []string
	if b.Eval(t, `[...document.querySelectorAll("[role=region]")].filter(e => e.scrollWidth > e.clientWidth).map(e => e.ariaLabel)`, &cut); len(cut) > 0 {
		t.Errorf("on %d px these tables are cut off: %q", width, cut)
	}
}

// testFirstDrawing draws once, on a page that hears of no change of size: each drawing is as wide as its place, which is not
// shown while it is empty. A page that was printed before the next drawing had them all at the least width, on a page more.
func testFirstDrawing(t *testing.T, b *browser.Browser) {
	var added struct{ Identifier string }
	b.Call(t, "Page.addScriptToEvaluateOnNewDocument", map[string]any{"source": "window.ResizeObserver = class { observe() {} };"}, &added)
	defer b.Call(t, "Page.removeScriptToEvaluateOnNewDocument", map[string]any{"identifier": added.Identifier}, nil)
	s := sampleSite(t, Options{}, true, at(11, 55))
	url, _ := serving(t, s, "127.0.0.1:0")
	b.Load(t, url, browser.View{Width: 1280})
	until(t, b, `document.querySelectorAll(".plot svg").length === 3`)
	var drawn, places []float64
	b.Eval(t, `[...document.querySelectorAll(".plot svg")].map(e => e.viewBox.baseVal.width)`, &drawn)
	b.Eval(t, `[...document.querySelectorAll(".plot")].map(e => e.clientWidth)`, &places)
	if !slices.Equal(drawn, places) {
		t.Errorf("the drawings are %v px wide, their places %v", drawn, places)
	}
}

// testPaper prints the page on A4, in the longer language: all of it is on two pages, the verdict on the first.
func testPaper(t *testing.T, b *browser.Browser) {
	s := sampleSite(t, Options{Language: report.German()}, true, at(11, 55))
	url, _ := serving(t, s, "127.0.0.1:0")
	b.Load(t, url, browser.View{Width: 688, Media: "print"}) // the width between the margins: 182 mm at 96 pixels an inch
	until(t, b, `document.querySelectorAll(".plot svg").length === 3`)
	fits(t, b, 688)
	b.Load(t, url, browser.View{Width: 1280}) // as it is when somebody prints it
	until(t, b, `document.querySelectorAll(".plot svg").length === 3`)
	pdf, n := b.Print(t)
	if n == 0 || n > 2 {
		t.Errorf("prints on %d pages, want 1 or 2", n)
	}
	if text, ok := browser.FirstPage(t, pdf); ok {
		for _, want := range []string{"Der Prozess hat sich verändert, seit etwa 11:31.", "Suchen, was an der Linie vor 11:31 anders wurde."} {
			if !strings.Contains(text, want) {
				t.Errorf("the first page has not %q: %.300q", want, text)
			}
		}
	}
}

// testEmpty shows a line of which nothing is known yet, and then its first spectrum.
func testEmpty(t *testing.T, b *browser.Browser) {
	s, err := New(Options{Lines: []string{"Filler 3"}, Zone: zone, Now: func() time.Time { return at(11, 55) }})
	if err != nil {
		t.Fatal(err)
	}
	url, _ := serving(t, s, "127.0.0.1:0")
	b.Load(t, url, browser.View{Width: 390})
	until(t, b, `document.getElementById("clock").textContent === "No spectra have come yet."`)
	var text string
	b.Eval(t, `document.querySelector("h1").innerText`, &text)
	if text != "Cannot say yet." {
		t.Errorf("the headline reads %q, want Cannot say yet.", text)
	}
	fits(t, b, 390)
	until(t, b, `[...document.querySelectorAll("figure")].every(f => f.querySelector(".plot").childElementCount > 0 || f.offsetHeight === 0)`)
	u := sampleUsual()
	l := s.Line("Filler 3")
	l.Know(u)
	l.Add(sampleReading(rand.New(rand.NewPCG(4, 4)), u, at(11, 55), 0))
	until(t, b, `[...document.querySelectorAll("figure")].every(f => f.offsetHeight > 100)`)
	for _, trouble := range b.Troubles(func(address string) bool { return strings.HasPrefix(address, url) }) {
		t.Error(trouble)
	}
}

// testFollows watches a page follow the line: spectra arrive, the verdict changes, it is acknowledged, the watch is started
// anew, spectra stay out, and the connection is lost.
func testFollows(t *testing.T, b *browser.Browser) {
	var ahead atomic.Int64 // of the clock of the watch, seconds after 11:55
	clock := func() time.Time { return at(11, 55).Add(time.Duration(ahead.Load()) * time.Second) }
	o := Options{Now: clock}
	var s *Site
	o.Acknowledge = func(_ context.Context, line, who, why string) error {
		if why == "no" {
			return errors.New("look <b>again</b>")
		}
		s.Line(line).Set(Standing{Verdict: report.Changed, Since: at(11, 55), Alarm: report.Alarm{State: "acknowledged", Since: clock(), Who: who, Why: why}})
		return nil
	}
	s = sampleSite(t, o, false, at(11, 55))
	l, u, r := s.Line("Filler 3"), sampleUsual(), rand.New(rand.NewPCG(4, 4))
	front := browser.NewFront(t)
	url := front.URL()
	first, stop := serving(t, s, "127.0.0.1:0")
	front.Lead(host(first))
	b.Load(t, url, browser.View{Width: 1280})
	until(t, b, `document.querySelectorAll(".plot svg").length === 3`)

	ahead.Store(10)
	l.Add(sampleReading(r, u, clock(), 0))
	until(t, b, `document.getElementById("clock").textContent.includes("11:55:10")`)
	l.Set(Standing{Verdict: report.Changed, Since: at(11, 55), ChangedSince: at(11, 40), Alarm: report.Alarm{State: "unacknowledged", Since: clock()}})
	until(t, b, `document.querySelector("h1").textContent === "The process has changed, since about 11:40." && document.title.includes("has changed")`)

	b.Eval(t, `(() => { const f = document.getElementById("take"), [who, why] = f.querySelectorAll("input");
		if (f.hidden) throw new Error("nothing to acknowledge with"); who.value = "Ada <b>"; why.value = "no"; f.requestSubmit(); })()`, nil)
	until(t, b, `document.getElementById("take-said").textContent === "This was not done: look <b>again</b>"`)
	b.Eval(t, `(() => { const f = document.getElementById("take"); f.querySelectorAll("input")[1].value = "pump"; f.requestSubmit(); })()`, nil)
	until(t, b, `document.getElementById("alarm").textContent === "Acknowledged at 11:55 by Ada <b>: pump" && document.getElementById("take").hidden`)

	ahead.Store(300) // no spectra for five minutes
	until(t, b, `document.getElementById("notice").textContent === "No spectra since 11:55. What stands here is how it was then." && document.body.classList.contains("then")`)
	keepPicture(t, b, "live-quiet")
	l.Add(sampleReading(r, u, clock(), 0))
	until(t, b, `document.getElementById("notice").hidden && !document.body.classList.contains("then")`)
	for _, trouble := range b.Troubles(func(address string) bool {
		return strings.HasPrefix(address, url) && !strings.HasSuffix(address, "/acknowledge")
	}) {
		if !strings.Contains(trouble, "/acknowledge") { // which was refused once
			t.Error(trouble)
		}
	}

	stop()
	until(t, b, `document.getElementById("notice").textContent === "The watch was stopped at 12:00. What stands here is how it was then."`)
	ahead.Store(330)
	again := sampleSite(t, o, false, at(12, 0))
	next, _ := serving(t, again, "127.0.0.1:0")
	front.Lead(host(next))
	until(t, b, `document.querySelector("h1").textContent === "As usual." && document.getElementById("notice").hidden`)
	var wide int
	b.Eval(t, `document.documentElement.scrollWidth`, &wide)
	if wide > 1280 {
		t.Errorf("the page is %d px wide, want at most 1280", wide)
	}
}

// testLines shows the list of several lines.
func testLines(t *testing.T, b *browser.Browser) {
	s := sampleSite(t, Options{Lines: []string{"Filler 3", "Filler " + nasty}}, true, at(11, 55))
	s.Line("Filler 3").Set(Standing{Verdict: report.AsUsual, Since: at(6, 41), Instrument: report.Instrument{State: "fit"}})
	url, _ := serving(t, s, "127.0.0.1:0")
	for _, v := range []browser.View{{Width: 1280}, {Width: 390, Dark: true}} {
		b.Load(t, url, v)
		until(t, b, `[...document.querySelectorAll(".when")].every(e => e.textContent.includes("11:55:00"))`)
		keepPicture(t, b, fmt.Sprintf("live-lines-%d", v.Width))
		var wide, made int
		b.Eval(t, `document.documentElement.scrollWidth`, &wide)
		b.Eval(t, `document.querySelectorAll("img").length`, &made)
		if wide > v.Width || made > 0 {
			t.Errorf("the list is %d px wide on %d and has %d elements from the name of a line", wide, v.Width, made)
		}
		for _, trouble := range b.Troubles(func(address string) bool { return strings.HasPrefix(address, url) }) {
			t.Error(trouble)
		}
	}
}

// TestAccessible has axe-core look at the page while the process has changed, with all that can be filled in.
func TestAccessible(t *testing.T) {
	if testing.Short() {
		t.Skip("a browser takes seconds")
	}
	axe := browser.ReadAxe(t)
	b := browser.New(t)
	yes := func(context.Context, string, string, string) error { return nil }
	named := func(context.Context, string, string, string) (string, error) { return "", nil }
	s := sampleSite(t, Options{Acknowledge: yes, Name: named}, true, at(11, 55))
	url, _ := serving(t, s, "127.0.0.1:0")
	for _, v := range []browser.View{{Width: 1280}, {Width: 390, Dark: true}} {
		b.Load(t, url, v)
		until(t, b, `document.querySelectorAll(".plot svg").length === 3`)
		b.Accessible(t, axe)
	}
	several := sampleSite(t, Options{Lines: []string{"Filler 3", "Filler " + nasty}}, true, at(11, 55))
	url, _ = serving(t, several, "127.0.0.1:0")
	for _, v := range []browser.View{{Width: 1280, Dark: true}, {Width: 390}} {
		b.Load(t, url, v)
		until(t, b, `[...document.querySelectorAll(".when")].every(e => e.textContent.includes("11:55:00"))`)
		b.Accessible(t, axe)
	}
}

// testOld shows a line whose last spectrum is of the day before, as after a watch was started anew: what is known is there, with its
// day and age.
func testOld(t *testing.T, b *browser.Browser) {
	now := at(11, 55).AddDate(0, 0, 1)
	s := sampleSite(t, Options{Now: func() time.Time { return now }}, true, at(11, 55))
	url, _ := serving(t, s, "127.0.0.1:0")
	b.Load(t, url, browser.View{Width: 1280})
	until(t, b, `document.querySelectorAll(".plot svg").length === 3 && document.getElementById("clock").textContent === "Last spectrum 25 November, 11:55:00 · 24 h ago"`)
	until(t, b, `document.getElementById("notice").textContent === "No spectra since 25 November, 11:55. What stands here is how it was then."`)
	until(t, b, `document.querySelector("h1").textContent === "The process has changed, since about 25 November, 11:31."`)
	until(t, b, `document.querySelector("#distance .m-outside") && [...document.querySelectorAll("#distance text")].some(e => e.textContent === "11:30")`)
	keepPicture(t, b, "live-old")
}

// testOneScore shows a line whose reference has one score: the limit is two upright lines, usual four strips, and the axis that says
// nothing has no figures.
func testOneScore(t *testing.T, b *browser.Browser) {
	s := sampleSite(t, Options{}, false, at(11, 55))
	u, r := sampleUsual(), rand.New(rand.NewPCG(1, 2))
	u.OneScore, u.Limit.B, u.Conditions, u.Carried[1], u.Reference.Fingerprint = true, 0, nil, 0, "of one score"
	for i := range u.Scores {
		u.Scores[i].Y = 0
	}
	l := s.Line("Filler 3")
	l.Know(u)
	for i := range 40 {
		one := sampleReading(r, u, at(11, 55).Add(time.Duration(i)*time.Second), 0)
		one.Score.Y = 0
		l.Add(one)
	}
	url, _ := serving(t, s, "127.0.0.1:0")
	b.Load(t, url, browser.View{Width: 1280})
	until(t, b, `document.querySelectorAll(".plot svg").length === 3`)
	keepPicture(t, b, "live-one-score")
	var got struct {
		Limits, Strips int
		Words          []string
		Low            float64 // of the limits, as a share of the height of the strips
	}
	b.Eval(t, `(() => { const all = (q) => [...document.querySelectorAll("#scores " + q)], limits = all("path.limit"), strips = all("path[class^=c]");
		return { Limits: limits.length, Strips: strips.length, Words: all("text").map(e => e.textContent),
			Low: Math.min(...limits.map(e => e.getBBox().height)) / Math.max(...strips.map(e => e.getBBox().height)) }; })()`, &got)
	if got.Limits != 2 || got.Strips != 4 || !(got.Low >= 1) {
		t.Errorf("with one score there are %d lines of the limit, %d strips of usual, and the lines have %g of their height; want 2 lines, 4 strips, and the whole height", got.Limits, got.Strips, got.Low)
	}
	if text := strings.Join(got.Words, " "); !strings.Contains(text, "limit") || !strings.Contains(text, "usual") || strings.Contains(text, "t₂") || strings.Contains(text, "×10") {
		t.Errorf("with one score the picture says %q, want the limit and usual named, and no second score", text)
	}
}
