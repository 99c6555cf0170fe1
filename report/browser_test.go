package report

import (
	"fmt"
	"maps"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"asusual/report/browser"
)

// TestAccessible has axe-core look at one page of each kind, light on a screen and dark on a telephone.
func TestAccessible(t *testing.T) {
	if testing.Short() {
		t.Skip("a browser takes seconds")
	}
	axe := browser.ReadAxe(t)
	b := browser.New(t)
	dir := t.TempDir()
	pages := maps.Clone(allPages(t)) // every test has the same
	for name, p := range germanPages(t) {
		pages["german-"+name] = p
	}
	for i, name := range []string{"handover-against", "german-card", "handover-cannot-say", "german-handover-against", "card", "german-compare", "compare", "german-index", "index", "german-site", "site"} {
		file := filepath.Join(dir, name+".html")
		if err := os.WriteFile(file, pages[name].HTML, 0o644); err != nil {
			t.Fatal(err)
		}
		for _, v := range []browser.View{{Width: 1280}, {Width: 390, Dark: true}} {
			if v.Dark && i%2 == 1 { // all pages share one style
				continue
			}
			t.Run(fmt.Sprintf("%s/%d", name, v.Width), func(t *testing.T) {
				b.Load(t, browser.FileURL(file), v)
				b.Accessible(t, axe)
			})
		}
	}
}

// TestInBrowser shows every page at the width of a screen, of a telephone and of paper, and asks a real browser.
func TestInBrowser(t *testing.T) {
	if testing.Short() {
		t.Skip("a browser takes seconds")
	}
	b := browser.New(t)
	dir := t.TempDir()
	headlines := map[string]string{
		"handover-changed": "The process has changed, since about 11:20.", "handover-usual": "As usual.",
		"handover-cannot-say": "Cannot say.", "handover-empty": "Cannot say.", "handover-against": "The process has changed, since about 11:20.",
		"card": "line.reference", "compare": "Today against last week: the process has changed.", "index": "Reports", "site": "One line of 4 has changed.",
	}
	for name, p := range allPages(t) {
		file := filepath.Join(dir, name+".html")
		if err := os.WriteFile(file, p.HTML, 0o644); err != nil {
			t.Fatal(err)
		}
		for _, width := range []int{1280, 390} {
			t.Run(fmt.Sprintf("%s/%d", name, width), func(t *testing.T) {
				b.Load(t, browser.FileURL(file), browser.View{Width: width})
				checkScreen(t, b, headlines[name], width)
				for _, trouble := range b.Troubles(func(address string) bool { return address == browser.FileURL(file) }) {
					t.Error(trouble)
				}
			})
		}
		most := map[string]int{"handover-against": 5, "card": 4, "compare": 2, "site": 1, "index": 2}[name]
		if most == 0 {
			most = 3 // a handover
		}
		t.Run(name+"/A4", func(t *testing.T) {
			checkPaper(t, b, file, headlines[name], most, strings.HasPrefix(name, "handover"))
		})
	}
}

// TestGermanOnPaper prints the handover in German, whose words are longer: the first page still holds all answers and the lines to sign.
func TestGermanOnPaper(t *testing.T) {
	if testing.Short() {
		t.Skip("a browser takes seconds")
	}
	b := browser.New(t)
	dir := t.TempDir()
	for name, headline := range map[string]string{
		"handover-changed": "Der Prozess hat sich verändert, seit etwa 11:20.", "handover-against": "Der Prozess hat sich verändert, seit etwa 11:20.",
		"handover-cannot-say": "Keine Aussage möglich.",
	} {
		t.Run(name, func(t *testing.T) {
			file := filepath.Join(dir, name+".html")
			if err := os.WriteFile(file, germanPages(t)[name].HTML, 0o644); err != nil {
				t.Fatal(err)
			}
			checkPaper(t, b, file, headline, 5, true) // the comparison with last week has two pages of its own
		})
	}
}

// BenchmarkIndex shows an index of 5,000 reports in a browser, from the file to the last line laid out.
func BenchmarkIndex(b *testing.B) {
	x := sampleIndex(834) // two lines of three shifts a day: 5,004 reports
	p, err := x.Render()
	if err != nil {
		b.Fatal(err)
	}
	file := filepath.Join(b.TempDir(), "index.html")
	if err := os.WriteFile(file, p.HTML, 0o644); err != nil {
		b.Fatal(err)
	}
	c := browser.New(b)
	for b.Loop() {
		c.Load(b, browser.FileURL(file), browser.View{Width: 1280})
		var high int
		c.Eval(b, `document.documentElement.scrollHeight`, &high)
		if high < 900 {
			b.Fatalf("the index is %d px high", high)
		}
	}
	b.ReportMetric(float64(len(p.HTML))/1e6, "MB")
}

func checkScreen(t *testing.T, b *browser.Browser, headline string, width int) {
	t.Helper()
	var text string
	b.Eval(t, `document.querySelector("h1").innerText`, &text)
	if text != headline {
		t.Errorf("the headline reads %q, want %q", text, headline)
	}
	if headline == "Reports" { // of which each line has its verdict below
		if b.Eval(t, `document.querySelector("header").innerText`, &text); !strings.Contains(text, "as usual at the end of the evening shift") {
			t.Errorf("the head of the index reads %q, want the verdict of a line in it", text)
		}
	}
	if width > 1000 {
		var cut []string
		if b.Eval(t, `[...document.querySelectorAll(".scroll")].filter(e => e.scrollWidth > e.clientWidth).map(e => e.ariaLabel)`, &cut); len(cut) > 0 {
			t.Errorf("on a screen of %d px these tables are cut off: %q", width, cut)
		}
	}
	var wide int
	b.Eval(t, `document.documentElement.scrollWidth`, &wide)
	if wide > width {
		var which []string
		b.Eval(t, fmt.Sprintf(`[...document.querySelectorAll("body *")].filter(e => e.getBoundingClientRect().right > %d && !e.closest(".scroll")).map(e => e.outerHTML.slice(0, 80))`, width), &which)
		t.Errorf("the page is %d px wide on %d: %q", wide, width, which)
	}
	var broken int
	b.Eval(t, `[...document.images].filter(i => !i.complete || i.naturalWidth == 0).length`, &broken)
	if broken > 0 {
		t.Errorf("%d pictures are broken", broken)
	}
	var pictures int
	b.Eval(t, `document.querySelectorAll("img[onerror], img[src=x], script").length`, &pictures)
	if pictures > 0 {
		t.Errorf("%d elements came from the name of a file", pictures)
	}
}

// checkPaper prints on A4: how many pages, and whether the first holds all answers and the lines to sign.
func checkPaper(t *testing.T, b *browser.Browser, file, headline string, most int, first bool) {
	t.Helper()
	b.Load(t, browser.FileURL(file), browser.View{Width: 688, Media: "print"}) // the width between the margins: 182 mm at 96 pixels an inch
	if first {
		var bottom float64
		b.Eval(t, `document.querySelector(".short-caution").getBoundingClientRect().bottom + scrollY`, &bottom)
		if high := (297 - 22) / 25.4 * 96; bottom > high {
			t.Errorf("the first page needs %.0f px, A4 has %.0f", bottom, high)
		}
	}
	var cut []string
	if b.Eval(t, `[...document.querySelectorAll("body *")].filter(e => e.getBoundingClientRect().right > 689 && !e.closest(".unseen")).map(e => e.outerHTML.slice(0, 80))`, &cut); len(cut) > 0 {
		t.Errorf("these reach beyond the paper: %q", cut)
	}
	raw, n := b.Print(t)
	if n == 0 || n > most {
		t.Errorf("prints on %d pages, want 1 to %d", n, most)
	}
	if text, ok := browser.FirstPage(t, raw); ok && !strings.Contains(text, headline) {
		t.Errorf("the first page has not %q: %.200q", headline, text)
	}
	if dir := os.Getenv("ASUSUAL_KEEP_PAGES"); dir != "" {
		name := filepath.Join(dir, strings.TrimSuffix(filepath.Base(file), ".html"))
		if err := os.WriteFile(name+".pdf", raw, 0o644); err != nil {
			t.Fatal(err)
		}
		html, err := os.ReadFile(file)
		if err == nil {
			err = os.WriteFile(name+".html", html, 0o644)
		}
		if err != nil {
			t.Fatal(err)
		}
	}
}
