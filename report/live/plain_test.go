package live

import (
	"context"
	"errors"
	"io"
	"net/http"
	"strings"
	"testing"
	"time"

	"asusual/report"
	"asusual/report/browser"
)

// plainPage is a page over lines, the first of which has a name that would do harm where it were not put as text.
func plainPage(context.Context) (html, figures []byte, err error) {
	at := time.Date(2026, 11, 25, 14, 30, 0, 0, time.UTC)
	p, err := report.Site{Name: "Oat hall", At: at, Lines: []report.SiteLine{
		{Name: `Filler 1<script>document.title="harm"</script>`, Verdict: report.AsUsual, Since: at.Add(-time.Hour), Newest: at, Instrument: "fit", Watch: "asusual watch on east"},
		{Name: "Filler 2", Verdict: report.Changed, Since: at.Add(-time.Hour), Newest: at, Instrument: "ageing", Watch: "asusual watch on west"},
	}}.Render()
	return p.HTML, p.Figures["figures.json"], err
}

func servePlain(t *testing.T, p Plain, d Door) *Listener {
	t.Helper()
	l, err := d.Listen()
	if err != nil {
		t.Fatal(err)
	}
	ctx, cancel := context.WithCancel(t.Context())
	done := make(chan error, 1)
	go func() { done <- p.Serve(ctx, l) }()
	t.Cleanup(func() {
		cancel()
		if err := <-done; err != nil {
			t.Errorf("Serve = %v, want it to end in good order", err)
		}
	})
	return l
}

func TestAPlainPageBehindTheDoor(t *testing.T) {
	const token = "sixteen characters"
	l := servePlain(t, Plain{Page: plainPage, Again: 15 * time.Second, JSON: "site-figures.json"}, Door{Address: "127.0.0.1:0", Token: token})
	get := func(path, bearer, host string) (int, http.Header, string) {
		t.Helper()
		r, err := http.NewRequestWithContext(t.Context(), http.MethodGet, l.URL()+path, nil)
		if err != nil {
			t.Fatal(err)
		}
		if bearer != "" {
			r.Header.Set("Authorization", "Bearer "+bearer)
		}
		if host != "" {
			r.Host = host
		}
		a, err := http.DefaultClient.Do(r)
		if err != nil {
			t.Fatal(err)
		}
		defer a.Body.Close()
		b, err := io.ReadAll(a.Body)
		if err != nil {
			t.Fatal(err)
		}
		return a.StatusCode, a.Header, string(b)
	}
	if code, _, text := get("", "", ""); code != http.StatusUnauthorized || strings.Contains(text, "Filler") {
		t.Errorf("GET / without the token = %d, want %d and no line:\n%s", code, http.StatusUnauthorized, text)
	}
	if code, _, text := get("", token, "elsewhere.example"); code != http.StatusMisdirectedRequest || strings.Contains(text, "Filler") {
		t.Errorf("GET / by another name = %d, want %d", code, http.StatusMisdirectedRequest)
	}
	code, h, text := get("", token, "")
	policy := h.Get("Content-Security-Policy")
	if code != http.StatusOK || !strings.Contains(text, "Filler 2") || h.Get("Refresh") != "15" || !strings.Contains(policy, "default-src 'none'; style-src 'sha256-") ||
		strings.Contains(policy, "unsafe") || strings.Contains(policy, "script-src") {
		t.Errorf("GET / = %d, %v, want the page, told to ask again in 15 s, with its own style alone", code, h)
	}
	if code, h, text := get("site-figures.json", token, ""); code != http.StatusOK || h.Get("Content-Type") != "application/json" || !strings.Contains(text, `"instrument": "ageing"`) {
		t.Errorf("GET /site-figures.json = %d, %v:\n%s\nwant the figures of the page", code, h, text)
	}
	if code, _, text := get("site-figures.json", "", ""); code != http.StatusUnauthorized || strings.Contains(text, "Filler") {
		t.Errorf("GET /site-figures.json without the token = %d, want %d and no line", code, http.StatusUnauthorized)
	}
	if code, _, _ := get("lines.json", token, ""); code != http.StatusNotFound {
		t.Errorf("GET /lines.json = %d, want %d: there is one page", code, http.StatusNotFound)
	}
	if _, err := (Door{Address: "0.0.0.0:0"}).Listen(); !errors.Is(err, ErrToken) {
		t.Errorf("Listen where other computers come, without a token = %v, want %v", err, ErrToken)
	}
}

func TestAPageThatCannotBeMade(t *testing.T) {
	no := func(context.Context) ([]byte, []byte, error) { return nil, nil, errors.New("secret reason") }
	l := servePlain(t, Plain{Page: no, Again: 15 * time.Second, Language: report.German()}, Door{Address: "127.0.0.1:0"})
	a, err := http.Get(l.URL())
	if err != nil {
		t.Fatal(err)
	}
	defer a.Body.Close()
	if b, err := io.ReadAll(a.Body); err != nil || a.StatusCode != http.StatusInternalServerError || strings.Contains(string(b), "secret") || !strings.HasPrefix(string(b), "diese Seite ließ sich nicht erstellen; sie wird") {
		t.Errorf("GET / = %d %q, %v, want %d without the reason", a.StatusCode, b, err, http.StatusInternalServerError)
	}
	if got := a.Header.Get("Refresh"); got != "15" {
		t.Errorf("GET / of a page that cannot be made is told to ask again after %q, want 15 s, or a screen shows that for ever", got)
	}
}

// A browser shows it with its style, and runs nothing.
func TestAPlainPageInBrowser(t *testing.T) {
	if testing.Short() {
		t.Skip("a browser takes seconds")
	}
	b := browser.New(t)
	l := servePlain(t, Plain{Page: plainPage}, Door{Address: "127.0.0.1:0"})
	for _, v := range []browser.View{{Width: 1280}, {Width: 390, Dark: true}} {
		b.Load(t, l.URL(), v)
		var got struct {
			Title, Headline, Weight string
			Wide                    bool
		}
		b.Eval(t, `({Title: document.title, Headline: document.querySelector("h1").innerText,
			Weight: getComputedStyle(document.querySelector("tr.changed th")).fontWeight,
			Wide: document.documentElement.scrollWidth > innerWidth})`, &got)
		if got.Title != "All lines" || got.Headline != "One line of 2 has changed." || got.Weight != "700" || got.Wide {
			t.Errorf("at a width of %d the page has %+v, want its title, its headline, the changed line bold, and nothing beside the window", v.Width, got)
		}
		for _, trouble := range b.Troubles(func(address string) bool { return strings.HasPrefix(address, l.URL()) }) {
			t.Error(trouble)
		}
		keepPicture(t, b, "site-"+map[bool]string{true: "390-dark", false: "1280"}[v.Dark])
	}
}
