package tag

import (
	"html/template"
	"strings"
	"testing"
)

// hostile are texts that would run, leave their place or end it, were they not escaped.
var hostile = []string{
	"", "oat", `<img src=x onerror="alert(1)">`, `"><script>alert(1)</script>`, `' onmouseover='alert(1)`, `</style><b>`, `</title>`, "&lt;", "&amp;amp;", "a\x00b",
	"\xff\xfe", "+ADw-script+AD4-", "`", "a\nb\tc", "{{.}}", "<!--", "-->", "]]>", "\u2028", "Füller 灌装", "javascript:alert(1)", "JaVaScRiPt:alert(1)",
	" javascript:alert(1)", "java\tscript:alert(1)", "javascript&colon;alert(1)", "data:text/html,<script>", "vbscript:x", "blob:x", "file:///etc/passwd", "//elsewhere/x",
	"https://plant/a?b=c&d=e#f", "HTTP://plant", "mailto:x@plant", "a b/c'd(e).html", "50%.html", "50%25.html", "%zz", "%", "%4", "2026-11-25/day/handover.html", "..", "#a", "a:b", "./a:b",
}

// theirs writes the same places by html/template, which knows by itself in which place a text stands. Its failsafe, which stands for an
// address that is not taken, is ours.
var theirs = template.Must(template.New("").Parse(
	`<p title="{{.}}">{{.}}</p><title>{{.}}</title><a href="{{.}}">{{.}}</a><a href="#{{.}}" aria-label="{{.}}">x</a>`))

func ours(s string) string {
	return string(HTML(El("p", Attr("title", s), Text(s)), El("title", Text(s)), El("a", Href(To(s)), Text(s)), El("a", Href(Within(s)), Label(s), Text("x"))))
}

// check compares what a text becomes with what html/template makes of it.
func check(t *testing.T, s string) {
	t.Helper()
	var b strings.Builder
	if err := theirs.Execute(&b, s); err != nil {
		t.Fatal(err)
	}
	want := strings.Replace(b.String(), `href="#ZgotmplZ"`, `href="`+Nowhere.address+`"`, 1)
	if scheme, _, ok := strings.Cut(s, ":"); ok && strings.EqualFold(scheme, "mailto") { // which no page here needs
		want = ours(s)
		if !strings.Contains(want, `href="`+Nowhere.address+`"`) {
			t.Errorf("of %q: %s, want no address", s, want)
		}
	}
	if got := ours(s); got != want {
		t.Errorf("of %q:\n got %s\nwant %s", s, got, want)
	}
}

func TestTextsStayInTheirPlace(t *testing.T) {
	for _, s := range hostile {
		check(t, s)
	}
}

func FuzzTextsStayInTheirPlace(f *testing.F) {
	for _, s := range hostile {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		check(t, s)
		// Whatever the text is, the tags and attributes are those of the source.
		got, plain := ours(s), ours("x")
		for _, mark := range []string{"<", ">", `"`, "'"} {
			if strings.Count(got, mark) != strings.Count(plain, mark) {
				t.Errorf("of %q: %s has other tags than %s", s, got, plain)
			}
		}
	})
}

func TestAddresses(t *testing.T) {
	for _, c := range []struct{ address, want string }{
		{"javascript:alert(1)", "#refused"},
		{" javascript:alert(1)", "#refused"}, // a browser drops blanks and line breaks (URL Standard, 4.4)
		{"java\nscript:alert(1)", "#refused"},
		{"\x01javascript:alert(1)", "#refused"},
		{"data:text/html;base64,PHNjcmlwdD4=", "#refused"},
		{"vbscript:x", "#refused"},
		{"a:b", "#refused"},
		{"./a:b", "./a:b"},
		{"2026-11-25/früh/handover.html", "2026-11-25/fr%c3%bch/handover.html"},
		{"https://plant:8443/line/filler-3?a=b&c", "https://plant:8443/line/filler-3?a=b&c"},
		{`a"b'c`, "a%22b%27c"},
		{"", ""},
	} {
		if got := To(c.address); got.address != c.want {
			t.Errorf("To(%q) = %q, want %q", c.address, got.address, c.want)
		}
	}
	if got, want := PNG([]byte("\xfb\xff")).address, "data:image/png;base64,+/8="; got != want { // RFC 4648, section 4
		t.Errorf("PNG = %q, want %q", got, want)
	}
	if got, want := string(HTML(El("meta", Refresh(To(`/a" b`))))), `<meta http-equiv="refresh" content="0; url=/a%22%20b">`; got != want {
		t.Errorf("Refresh: %s, want %s", got, want)
	}
}

func TestElements(t *testing.T) {
	for _, c := range []struct {
		part Part
		want string
	}{
		{El("p"), "<p></p>"},
		{El("p", nil, Text("a"), If(false, Class("x")), Class("y")), `<p class="y">a</p>`},
		{El("input", Flag("required"), Attr("maxlength", "80")), `<input required maxlength="80">`},
		{El("path", Attr("d", "M0 0")), `<path d="M0 0"/>`},
		{El("img", Src(PNG(nil)), SrcSet(To("a b"))), `<img src="data:image/png;base64," srcset="a%20b">`},
		{If(true, Text("a"), Literal("&nbsp;"), El("b")), "a&nbsp;<b></b>"},
		{Each([]string{"a", "<"}, func(s string) Part { return El("li", Text(s)) }), "<li>a</li><li>&lt;</li>"},
		{Block("ul", nil), "<ul>\n</ul>"},
		{Block("ul", Parts{Class("a"), If(true, Flag("hidden"))}, Text("1"), nil, Parts{}, Lines{Text("2"), Text("3")}), "<ul class=\"a\" hidden>\n1\n\n2\n3\n</ul>"},
		{Script(To("/a.js")), `<script src="/a.js" defer></script>`},
		{Style("a>b{}"), "<style>a>b{}</style>"},
		{Style("a{}</STYLE><script>"), "<style></style>"},
	} {
		if got := string(HTML(c.part)); got != c.want {
			t.Errorf("got %q, want %q", got, c.want)
		}
	}
}

// TestNoTextRuns: what runs, loads or leads somewhere is not made from a text.
func TestNoTextRuns(t *testing.T) {
	for name, make := range map[string]func() Part{
		"onclick": func() Part { return Attr("onclick", "x") }, "OnLoad": func() Part { return Attr("OnLoad", "x") }, "href": func() Part { return Attr("href", "x") },
		"HREF": func() Part { return Attr("HREF", "x") }, "src": func() Part { return Attr("src", "x") }, "srcset": func() Part { return Attr("srcset", "x") }, "style": func() Part { return Attr("style", "x") },
		"formaction": func() Part { return Attr("formaction", "x") }, "srcdoc": func() Part { return Attr("srcdoc", "x") }, "content": func() Part { return Attr("content", "x") },
		"<script>": func() Part { return El("script", Text("x")) }, "<style>": func() Part { return El("style", Text("x")) }, "<Script>": func() Part { return El("Script", Text("x")) },
		"<iframe>": func() Part { return El("iframe") }, "a b": func() Part { return Attr("a b", "x") }, "a=": func() Part { return Flag("a=") }, "<a b>": func() Part { return El("a b") },
	} {
		func() {
			defer func() {
				if recover() == nil {
					t.Errorf("%s is made from a text, want it refused", name)
				}
			}()
			make()
		}()
	}
}

func BenchmarkHTML(b *testing.B) {
	cells := make([]string, 10000)
	for i := range cells {
		cells[i] = `group 2026-11-25 "A"`
	}
	b.ReportAllocs()
	for b.Loop() {
		HTML(Block("table", Class("days"), Each(cells, func(s string) Part { return El("td", Class("n"), Text(s)) })...))
	}
}
