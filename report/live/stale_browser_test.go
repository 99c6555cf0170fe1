package live

import (
	"net/http"
	"net/http/httptest"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"asusual/report"
	"asusual/report/browser"
	"asusual/report/chart"
)

// TestStale asks a browser for pages that nobody keeps as the line stands: they say so, on the screen and on paper.
func TestStale(t *testing.T) {
	if testing.Short() {
		t.Skip("a browser takes seconds")
	}
	b := browser.New(t)
	t.Run("refused", func(t *testing.T) { testRefused(t, b) })
	t.Run("without script", func(t *testing.T) { testWithoutScript(t, b) })
	t.Run("other lines", func(t *testing.T) { testOtherLines(t, b) })
	t.Run("german band", func(t *testing.T) { testGermanBand(t, b) })
	t.Run("not let in any more", func(t *testing.T) { testNotLetIn(t, b) })
	t.Run("not let in any more, an older browser", func(t *testing.T) {
		var added struct{ Identifier string }
		b.Call(t, "Page.addScriptToEvaluateOnNewDocument", map[string]any{"source": "delete AbortSignal.timeout;"}, &added)
		defer b.Call(t, "Page.removeScriptToEvaluateOnNewDocument", map[string]any{"identifier": added.Identifier}, nil)
		testNotLetIn(t, b)
	})
}

// testNotLetIn loses a page whose server comes back with another token: the page asks for it, and does not say for ever that the connection
// is lost.
func testNotLetIn(t *testing.T, b *browser.Browser) {
	s := sampleSite(t, Options{Lines: []string{"Filler 3"}}, false, at(11, 55))
	pages := s.Handler()
	var closed atomic.Bool
	server := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if closed.Load() {
			http.Error(w, "the token, please", http.StatusUnauthorized)
			return
		}
		pages.ServeHTTP(w, r)
	}))
	defer server.Close()
	b.Load(t, server.URL, browser.View{Width: 390})
	until(t, b, `document.getElementById("notice").hidden && document.body.innerText.includes("As usual.")`)
	closed.Store(true)
	server.CloseClientConnections()
	until(t, b, `document.body.innerText.includes("the token, please")`)
}

const stale = "Connection lost at 11:55. What stands here is how it was then."

// testRefused opens one page more than there may be: the first connection already fails. By the clocks of the site, which are an hour
// ahead of UTC, that is 11:55.
func testRefused(t *testing.T, b *browser.Browser) {
	for _, lines := range [][]string{{"Filler 3"}, {"Filler 3", "Filler 4"}} {
		s := sampleSite(t, Options{Lines: lines}, false, at(11, 55))
		url, _ := serving(t, s, "127.0.0.1:0")
		var others []chan struct{}
		for range most {
			wake, ok := s.join()
			if !ok {
				t.Fatalf("%d streams were refused", most)
			}
			others = append(others, wake)
		}
		b.Load(t, url, browser.View{Width: 390})
		until(t, b, `document.getElementById("notice").textContent === "`+stale+`" && !document.getElementById("notice").hidden`)
		if len(lines) == 1 {
			until(t, b, `document.body.classList.contains("then") && document.querySelector("h1").textContent === "As usual."`)
			keepPicture(t, b, "live-refused")
			printsStale(t, b)
		}
		for _, wake := range others {
			s.leave(wake)
		}
		until(t, b, `document.getElementById("notice").hidden && document.body.innerText.includes("11:55:00")`)
		if len(lines) == 1 {
			until(t, b, `!document.body.classList.contains("then") && document.querySelectorAll(".plot svg").length === 3`)
		}
	}
}

// printsStale prints the page that is shown, without colours of backgrounds, as printers do.
func printsStale(t *testing.T, b *browser.Browser) {
	t.Helper()
	pdf, _ := b.Print(t)
	if text, ok := browser.FirstPage(t, pdf); ok && (!strings.Contains(text, "As usual.") || !strings.Contains(text, stale)) {
		t.Errorf("the first page has not the verdict and %q: %.300q", stale, text)
	}
}

// testWithoutScript loads pages one of whose scripts does not come, or cannot be read: the page says so, and of when it is.
func testWithoutScript(t *testing.T, b *browser.Browser) {
	for _, c := range []struct {
		what, script string
		lines        []string
		code         int
		body         string
	}{
		{"is not there", "live.js", []string{"Filler 3"}, 404, ""},
		{"is of a later language", "live.js", []string{"Filler 3"}, 200, "const a = b ?? ?? c;"},
		{"is not there", "stream.js", []string{"Filler 3"}, 404, ""},
		{"is not there", "lines.js", []string{"Filler 3", "Filler 4"}, 404, ""},
	} {
		s := sampleSite(t, Options{Lines: c.lines}, false, at(11, 55))
		pages := s.Handler()
		server := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
			if strings.HasSuffix(r.URL.Path, c.script) {
				w.Header().Set("Content-Type", "text/javascript")
				w.WriteHeader(c.code)
				w.Write([]byte(c.body))
				return
			}
			pages.ServeHTTP(w, r)
		}))
		b.Load(t, server.URL, browser.View{Width: 1280})
		until(t, b, `(e => e.innerText.startsWith("This page needs its script") && e.offsetHeight > 30 && getComputedStyle(e).visibility === "visible")(document.getElementById("notice"))`)
		var text string
		b.Eval(t, `document.body.innerText`, &text)
		if n := strings.Count(text, "Last spectrum 25 November, 11:55:00"); n != len(c.lines) {
			t.Errorf("where %s %s the page says %d times of when it is, want %d:\n%s", c.script, c.what, n, len(c.lines), text)
		}
		keepPicture(t, b, "live-without-"+c.script)
		b.Load(t, "about:blank", browser.View{}) // or its stream keeps the server open
		server.Close()
	}
}

// testOtherLines starts the watch anew with a line more and one less: the list that is open is that of now.
func testOtherLines(t *testing.T, b *browser.Browser) {
	front := browser.NewFront(t)
	list := func() string {
		return `[...document.querySelectorAll(".lines a")].map(e => e.textContent).join()`
	}
	for i, lines := range [][]string{{"Filler 3", "Filler 4"}, {"Filler 3", "Filler 5", "Filler 6"}} {
		url, stop := serving(t, sampleSite(t, Options{Lines: lines}, false, at(11, 55)), "127.0.0.1:0")
		front.Lead(host(url))
		if i == 0 {
			b.Load(t, front.URL(), browser.View{Width: 1280})
		}
		until(t, b, list()+` === "`+strings.Join(lines, ",")+`" && [...document.querySelectorAll(".when")].every(e => e.textContent.endsWith("ago"))`)
		if i == 0 {
			stop()
		}
	}
}

// testGermanBand shows on a German page what stands below the distances.
func testGermanBand(t *testing.T, b *browser.Browser) {
	s := sampleSite(t, Options{Language: report.German()}, false, at(11, 55))
	l := s.Line("Filler 3")
	for i := range 120 {
		r := Reading{Time: at(11, 55).Add(time.Duration(i) * 10 * time.Second), Distance: 4, Condition: "transition", Score: chart.Point{X: -0.1}}
		if i >= 60 {
			r.Condition = "unfit"
		}
		l.Add(r)
	}
	url, _ := serving(t, s, "127.0.0.1:0")
	b.Load(t, url, browser.View{Width: 1280})
	until(t, b, `document.querySelectorAll(".plot svg").length === 3`)
	keepPicture(t, b, "live-german-band")
	var names []string
	b.Eval(t, `[...document.querySelectorAll("#distance text.name")].map(e => e.textContent)`, &names)
	if got := strings.Join(names, ", "); !strings.HasSuffix(got, "Übergang, nicht beurteilbar") {
		t.Errorf("the band below the distances names %q, want Übergang and nicht beurteilbar in the end", got)
	}
}
