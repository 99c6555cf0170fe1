package report

import (
	"bytes"
	"flag"
	"fmt"
	"maps"
	"math"
	"os"
	"path/filepath"
	"reflect"
	"regexp"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"asusual/model/finding"
	"asusual/report/chart"
)

var regen = flag.Bool("regen", false, "write the golden pages anew")

// A renderer is any report.
type renderer interface{ Render() (Page, error) }

func cannotSay() Handover {
	h := sampleHandover(false)
	h.Verdict, h.Since = CannotSay, at(10, 2)
	h.Instrument.State = "unfit"
	h.Instrument.Findings = []finding.Finding{finding.Of(finding.AboveT2, "", 41, 19)}
	h.Reasons = h.Instrument.Findings
	h.Instrument.Checks[2] = Check{"wavelength standard", 1.9, 1, "nm", at(10, 2), false, false}
	return h
}

func emptyShift() Handover {
	return Handover{Line: "Filler 3", Shift: "night", From: at(22, 0), To: at(30, 0), Zone: shiftZone, Verdict: CannotSay, Late: at(31, 5),
		Complete: Completeness{Gaps: []chart.Span{{From: at(22, 0), To: at(30, 0)}}}}
}

func againstLastWeek() Handover {
	h := sampleHandover(true)
	c := samplePeriodCompare()
	h.Against = &c
	return h
}

func reports() map[string]renderer {
	return map[string]renderer{
		"handover-changed": sampleHandover(true), "handover-usual": sampleHandover(false), "handover-cannot-say": cannotSay(),
		"handover-empty": emptyShift(), "handover-against": againstLastWeek(),
		"card": sampleCard(), "compare": samplePeriodCompare(), "index": sampleIndex(12), "site": sampleSite(nil),
	}
}

// rendered holds every report's page, made once for all tests.
var rendered = sync.OnceValues(func() (map[string]Page, error) {
	all := map[string]Page{}
	for name, r := range reports() {
		p, err := r.Render()
		if err != nil {
			return nil, fmt.Errorf("%s: %w", name, err)
		}
		all[name] = p
	}
	return all, nil
})

func allPages(t *testing.T) map[string]Page {
	t.Helper()
	all, err := rendered()
	if err != nil {
		t.Fatalf("Render() = %v, want a page", err)
	}
	return all
}

// pictureData are the pictures in a page, which have goldens of their own and whose bytes differ between machines.
var pictureData = regexp.MustCompile(`data:image/png;base64,[A-Za-z0-9+/=&#;]+`)

func TestPages(t *testing.T) {
	for name, p := range allPages(t) {
		t.Run(name, func(t *testing.T) {
			got := pictureData.ReplaceAll(p.HTML, []byte("data:image/png;base64,…"))
			golden := filepath.Join("testdata", name+".html")
			if *regen {
				if err := os.WriteFile(golden, got, 0o644); err != nil {
					t.Fatal(err)
				}
				return
			}
			want, err := os.ReadFile(golden)
			if err != nil {
				t.Fatalf("no golden: %v; go test -regen writes it", err)
			}
			if !bytes.Equal(got, want) {
				t.Errorf("Render() differs from %s: %s", golden, firstDifference(string(got), string(want)))
			}
		})
	}
}

func firstDifference(got, want string) string {
	g, w := strings.Split(got, "\n"), strings.Split(want, "\n")
	for i := range min(len(g), len(w)) {
		if g[i] != w[i] {
			return fmt.Sprintf("line %d: got %q, want %q", i+1, g[i], w[i])
		}
	}
	return fmt.Sprintf("got %d lines, want %d", len(g), len(w))
}

func TestSameBytes(t *testing.T) {
	for _, name := range []string{"handover-changed", "index"} {
		a := allPages(t)[name]
		b, err := reports()[name].Render()
		if err != nil || !bytes.Equal(a.HTML, b.HTML) || !reflect.DeepEqual(a.Pictures, b.Pictures) {
			t.Errorf("%s rendered twice: %v, bytes differ; want the same bytes", name, err)
		}
	}
}

// fill sets every text, every number or both in v and all that it holds.
func fill(v reflect.Value, text *string, number *float64) {
	switch v.Kind() {
	case reflect.Pointer:
		if _, ok := v.Interface().(*Language); !ok && !v.IsNil() {
			fill(v.Elem(), text, number)
		}
	case reflect.Struct:
		if _, ok := v.Interface().(time.Time); ok {
			return
		}
		for i := range v.NumField() {
			if f := v.Field(i); f.CanSet() {
				fill(f, text, number)
			}
		}
	case reflect.Slice:
		for i := range v.Len() {
			fill(v.Index(i), text, number)
		}
	case reflect.String:
		if _, ok := v.Interface().(Verdict); !ok && text != nil {
			v.SetString(*text)
		}
	case reflect.Float64:
		if number != nil {
			v.SetFloat(*number)
		}
	}
}

// filled returns each report with every text or number in it replaced.
func filled(t *testing.T, text *string, number *float64) map[string]string {
	t.Helper()
	all := map[string]string{}
	h, c, card, x := againstLastWeek(), samplePeriodCompare(), sampleCard(), sampleIndex(5)
	for name, r := range map[string]any{"handover": &h, "compare": &c, "card": &card, "index": &x} {
		fill(reflect.ValueOf(r).Elem(), text, number)
		p, err := r.(renderer).Render()
		if err != nil {
			t.Fatalf("%s: Render() = %v, want a page", name, err)
		}
		all[name] = string(p.HTML)
	}
	return all
}

// TestEscaped puts what would run, were it not escaped, into every text of every report: names of files, lines, runs,
// groups, conditions, units.
func TestEscaped(t *testing.T) {
	evil := `<img onerror="alert(1)" src=x>"><script>alert(1)</script>' onmouseover='alert(1)</style><b>{{.}}`
	for name, html := range filled(t, &evil, nil) {
		for _, bad := range []string{"<img onerror", "<script", "' onmouseover='", "</style><b>", "<b>"} {
			if strings.Contains(html, bad) {
				t.Errorf("%s holds %q unescaped", name, bad)
			}
		}
	}
	x := sampleIndex(1)
	x.Lines[0].Shifts[0].Href = "javascript:alert(1)"
	p, err := x.Render()
	if err != nil || strings.Contains(string(p.HTML), `href="javascript`) {
		t.Errorf("an index with a link that runs a script: %v, the link is there", err)
	}
	if want := "oat&lt;img onerror=&#34;alert(1)&#34; src=x&gt;.csv"; !strings.Contains(string(allPages(t)["handover-changed"].HTML), want) {
		t.Errorf("the handover does not name the unreadable file as %s", want)
	}
}

// TestNotFinite puts NaN and infinities into every number of every report.
func TestNotFinite(t *testing.T) {
	bad := regexp.MustCompile(`NaN|[+-]Inf|\bInf\b|∞`)
	for _, v := range []float64{math.NaN(), math.Inf(1), math.Inf(-1)} {
		for name, html := range filled(t, nil, &v) {
			html = pictureData.ReplaceAllString(html, "")
			if m := bad.FindStringIndex(html); m != nil {
				t.Errorf("%s with numbers %g shows %q", name, v, html[max(0, m[0]-80):min(len(html), m[1]+20)])
			}
			if name != "index" && !strings.Contains(html, "This picture could not be drawn: ") {
				t.Errorf("%s with numbers %g does not say that a picture could not be drawn", name, v)
			}
		}
	}
}

// TestStructure checks what a screen reader and a printer rely on.
func TestStructure(t *testing.T) {
	heading := regexp.MustCompile(`<h([1-6])`)
	for name, p := range allPages(t) {
		html := pictureData.ReplaceAllString(string(p.HTML), "")
		if !strings.Contains(html, `<html lang="en">`) || strings.Count(html, "<h1>") != 1 || strings.Count(html, "<main") != 1 {
			t.Errorf("%s: want a language, one h1 and one main", name)
		}
		level := 0
		for _, m := range heading.FindAllStringSubmatch(html, -1) {
			if next := int(m[1][0] - '0'); next > level+1 {
				t.Errorf("%s: a heading of level %d follows one of level %d", name, next, level)
			} else {
				level = next
			}
		}
		if n, alts := strings.Count(html, "<img "), regexp.MustCompile(`<img [^>]*alt="[^"]{20,}"`).FindAllString(html, -1); n != len(alts) {
			t.Errorf("%s: %d of %d pictures say in words what they show", name, len(alts), n)
		}
		if n, captions := strings.Count(html, "<table"), strings.Count(html, "<caption")+strings.Count(html, "<table aria-label="); n != captions {
			t.Errorf("%s: %d of %d tables have a caption", name, captions, n)
		}
		for _, bad := range []string{"<script", "http://", "https://", "<th>", "[verdict", "()"} {
			if strings.Contains(html, bad) {
				t.Errorf("%s holds %q", name, bad)
			}
		}
		for _, want := range []string{"No product is released or rejected", "licensed practice come first", "hot and bright", "no concentration"} {
			if !strings.Contains(html, want) {
				t.Errorf("%s does not say %q", name, want)
			}
		}
	}
}

func TestPictureFiles(t *testing.T) {
	for name, want := range map[string][]string{
		"handover-changed": {"distance.png", "score-plot.png", "spectrum.png", "map.png"},
		"handover-against": {"against-score-plot.png", "against-spectrum.png", "against-distances.png"},
		"card":             {"reach.png", "choice.png", "map.png"},
		"compare":          {"score-plot.png", "spectrum.png", "distances.png"},
	} {
		p := allPages(t)[name]
		for _, f := range want {
			if !bytes.HasPrefix(p.Pictures[f], []byte("\x89PNG")) {
				t.Errorf("%s: Pictures[%q] is no PNG", name, f)
			}
		}
	}
}

func TestHeadline(t *testing.T) {
	changed, usual := sampleHandover(true), sampleHandover(false)
	before := changed
	before.Since = at(11, 20).AddDate(0, 0, -1)
	again := usual
	again.Since, again.Episodes = at(12, 30), []Episode{{From: at(10, 0), To: at(12, 30), ChangedSince: at(9, 51)}}
	for _, tt := range []struct {
		h    Handover
		want string
	}{
		{changed, "The process has changed, since about 11:20."},
		{before, "The process has changed, since before this shift: about 24 November, 11:20."},
		{usual, "As usual."},
		{again, "As usual again, since 12:30."},
		{cannotSay(), "Cannot say."},
	} {
		if got := tt.h.headline(newTeller(nil, tt.h.Zone, tt.h.From, tt.h.To)); got != tt.want {
			t.Errorf("headline of %q since %v = %q, want %q", tt.h.Verdict, tt.h.Since, got, tt.want)
		}
	}
}

// TestSmallChange is of a change that only the memory sees, and that ended within the shift.
func TestSmallChange(t *testing.T) {
	h := sampleHandover(true)
	h.Last, h.Typical, h.Episodes[0].To = 0.78, 0, at(13, 9)
	tell := newTeller(nil, h.Zone, h.From, h.To)
	if got, want := strings.Join(h.sinceWhen(tell), " "), "Seen at 11:41. It began at about 11:20. It ended at 13:09. Acknowledged at 11:58 by Ada "+nasty+": oil pump is looked at"; got != want {
		t.Errorf("since when = %q, want %q", got, want)
	}
	if got, want := h.howFar(tell)[0], "Not far, but lasting: one by one"; !strings.HasPrefix(got, want) {
		t.Errorf("how far = %q, want it to begin with %q", got, want)
	}
}

// TestRefusedSaysWhy: what somebody asked of the alarm in vain is told with the reason, in words.
func TestRefusedSaysWhy(t *testing.T) {
	a := Act{What: "acknowledged", Refused: "the alarm is acknowledged already, since 2026-11-25T10:58:00Z"}
	for l, want := range map[*Language]string{
		English(): "acknowledged, refused: the alarm is acknowledged already, since 11:58",
		German():  "zur Kenntnis genommen, abgelehnt: der Alarm ist schon zur Kenntnis genommen, seit 11:58",
	} {
		if got := a.say(newTeller(l, shiftZone, at(6, 0), at(14, 0))); got != want {
			t.Errorf("in %s: %q, want %q", l.Tag, got, want)
		}
	}
	if got, want := English().Answered("the alarm is shelved until 2026-11-25T10:58:00Z; take it from the shelf first, by asusual shelve --off", shiftZone, at(12, 0)), "the alarm is shelved until 11:58; take it from the shelf first, by asusual shelve --off"; got != want {
		t.Errorf("answered %q, want %q", got, want)
	}
}

// TestWhyNothingCanBeSaid: also where no finding tells it, there is a reason.
func TestWhyNothingCanBeSaid(t *testing.T) {
	for _, tt := range []struct {
		received, judged, expected, overtaken int
		want                                  string
	}{
		{0, 0, 0, 0, "No spectra came."},
		{8, 0, 0, 0, "No spectrum was fit to be judged."},
		{8, 8, 0, 0, "All spectra are of named conditions"},
		{8, 8, 6, 5, "The spectra came late"},
		{8, 8, 6, 0, "There were too few spectra of production"},
	} {
		h := Handover{Verdict: CannotSay, Complete: Completeness{Received: tt.received, Judged: tt.judged}, Expected: tt.expected, Overtaken: tt.overtaken}
		if got := h.answers(newTeller(nil, nil, at(6, 0), at(14, 0)))[0].Text; len(got) != 1 || !strings.HasPrefix(got[0], tt.want) {
			t.Errorf("of %+v: why = %q, want %q", tt, got, tt.want)
		}
	}
	h := Handover{Verdict: CannotSay, Complete: Completeness{Received: 8, Judged: 8}, Expected: 6, Instrument: Instrument{State: "unfit"}}
	if got, want := h.answers(newTeller(nil, nil, at(6, 0), at(14, 0)))[0].Text[0], "The instrument is unfit."; got != want {
		t.Errorf("with an unfit instrument: why = %q, want %q", got, want)
	}
}

// TestWhatNow: an instrument that cannot be believed is to be looked at also where all seems as usual, and spectra that came and could
// not be judged are not said to be missing.
func TestWhatNow(t *testing.T) {
	lamp := func(v Verdict, state string, episodes ...Episode) Handover {
		return Handover{Verdict: v, Complete: Completeness{Received: 8, Judged: 8}, Instrument: Instrument{State: state}, Episodes: episodes}
	}
	over := Episode{From: at(8, 0), To: at(9, 0)}
	broken := Handover{Verdict: CannotSay, Complete: Completeness{Received: 8, Unreadable: 8}}
	for _, tt := range []struct {
		h    Handover
		want string
	}{
		{lamp(AsUsual, "fit"), "Nothing, on what the spectra show."},
		{lamp(AsUsual, "ageing"), "Nothing on the line. Plan"},
		{lamp(AsUsual, "unfit"), "Check the instrument before you believe this"},
		{lamp(AsUsual, "unfit", over), "Check the instrument before you believe this"},
		{lamp(AsUsual, "fit", over), "Tell the next shift what happened"},
		{lamp(Changed, "unfit", over), "Check the instrument before the line"},
		{emptyShift(), "See why no spectra came"},
		{broken, "Mend what is named under “Why”."},
	} {
		now := Now{Handover: tt.h, Newest: at(10, 0)}
		now.To = at(14, 0)
		tell := newTeller(nil, nil, at(6, 0), at(14, 0))
		if got := tt.h.whatNow(tell)[0]; !strings.HasPrefix(got, tt.want) {
			t.Errorf("%s, instrument %s: what now = %q, want %q", tt.h.Verdict, tt.h.Instrument.State, got, tt.want)
		}
		if got := now.nextNow(tell)[0]; tt.h.Verdict == AsUsual && !strings.HasPrefix(got, tt.want) {
			t.Errorf("live, %s, instrument %s: what now = %q, want %q", tt.h.Verdict, tt.h.Instrument.State, got, tt.want)
		}
	}
}

// TestNoMeanIsNoLikeness: a shift of rinses alone has no mean spectrum, and nobody is told that it stays within usual.
func TestNoMeanIsNoLikeness(t *testing.T) {
	h := sampleHandover(false)
	tell := newTeller(nil, nil, h.From, h.To)
	if got := h.altSpectrum(tell); !strings.Contains(got, "stays within the usual band") {
		t.Errorf("a usual shift: %q, want it within the band", got)
	}
	h.Spectrum.Period, h.Spectrum.Difference, h.Spectrum.Band = nil, nil, nil
	if got := h.altSpectrum(tell); !strings.Contains(got, "there is none of production") {
		t.Errorf("a shift without a mean: %q, want that there is none", got)
	}
}

// TestReferencesAreNamed: those that judged one after the other are all named.
func TestReferencesAreNamed(t *testing.T) {
	r := Reference{Name: "line.reference", Fingerprint: "7c1e 09ab 44d2"}
	tell := newTeller(nil, nil, at(6, 0), at(14, 0))
	if got, want := r.line(tell), "Judged by the reference line.reference, fingerprint 7c1e 09ab 44d2."; got != want {
		t.Errorf("line = %q, want %q", got, want)
	}
	r.Before = []string{"0123", "4567"}
	if got, want := r.line(tell), "Judged by the reference line.reference, fingerprint 7c1e 09ab 44d2, and before it by 0123 and 4567."; got != want {
		t.Errorf("line = %q, want %q", got, want)
	}
}

// What a page may never tell anyone to do with a product, and how a sentence denies that it does.
var (
	dispose = regexp.MustCompile(`(?i)\b(release|reject|safe to|discard|ship|freigeben|freigegeben|sperren|gesperrt|verwerfen|verworfen|ausliefern|entsorgen|unbedenklich)\b`)
	denied  = regexp.MustCompile(`(?i)\b(no product is|release or reject nothing on this page alone|not|kein produkt wird allein|nichts allein nach dieser seite)\b[^.]*`)
)

// disposes returns what a text tells to do with a product, "" where it tells nothing.
func disposes(text string) string { return dispose.FindString(denied.ReplaceAllString(text, "")) }

// TestNeverRelease checks that no page tells anyone to let a product go or to hold it.
func TestNeverRelease(t *testing.T) {
	pages := map[string]Page{}
	for name, p := range germanPages(t) {
		pages[name+" in German"] = p
	}
	maps.Copy(pages, allPages(t))
	unseen := regexp.MustCompile(`(?s)<style>.*?</style>|data:image/png;base64,[A-Za-z0-9+/=&#;]+`)
	for name, p := range pages {
		if m := disposes(unseen.ReplaceAllString(string(p.HTML), "")); m != "" {
			t.Errorf("%s says %q", name, m)
		}
	}
	for text, want := range map[string]string{
		"Nothing was seen: release it.": "release", "Another lot: discard it.": "discard", "It is not as usual. Reject the lot.": "Reject",
		"Nothing, release": "release", "Nichts fehlt: die Charge freigeben.": "freigeben", "Kein Produkt fehlt, nichts zu sperren.": "sperren",
		"No product is released or rejected on it alone.": "", "Kein Produkt wird allein danach freigegeben oder gesperrt.": "",
	} {
		if got := disposes(text); got != want {
			t.Errorf("disposes(%q) = %q, want %q", text, got, want)
		}
	}
}

func TestBadPeriod(t *testing.T) {
	h := sampleHandover(true)
	h.To = h.From
	if _, err := h.Render(); err == nil || !strings.Contains(err.Error(), "before it begins") {
		t.Errorf("Render() of an empty shift = %v, want an error that says so", err)
	}
	x := sampleIndex(1)
	x.Lines[0].Shifts[0].Verdict = "fine"
	if _, err := x.Render(); err == nil || !strings.Contains(err.Error(), `"fine"`) {
		t.Errorf("Render() of an index with a strange verdict = %v, want an error that names it", err)
	}
}

func BenchmarkRender(b *testing.B) {
	for name, r := range map[string]renderer{"handover": sampleHandover(true), "index/shifts=6000": sampleIndex(1000)} {
		b.Run(name, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				if _, err := r.Render(); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

// germanPages are the pages of the samples in German, by the names of the English ones.
func germanPages(t *testing.T) map[string]Page {
	t.Helper()
	changed, against, cannot, c, k, x := sampleHandover(true), againstLastWeek(), cannotSay(), sampleCard(), samplePeriodCompare(), sampleIndex(12)
	changed.Language, against.Language, against.Against.Language, cannot.Language, c.Language, k.Language, x.Language = German(), German(), German(), German(), German(), German(), German()
	all := map[string]Page{}
	for name, r := range map[string]renderer{"handover-changed": changed, "handover-against": against, "handover-cannot-say": cannot, "card": c, "compare": k, "index": x, "site": sampleSite(German())} {
		p, err := r.Render()
		if err != nil {
			t.Fatalf("%s: Render() = %v, want a page", name, err)
		}
		all[name] = p
	}
	return all
}

// What may lie beside a page is known, so that what one has not can be taken away where an earlier one had it.
func TestAbsent(t *testing.T) {
	for name, p := range allPages(t) {
		kind, _, _ := strings.Cut(name, "-")
		if kind != "handover" && kind != "card" && kind != "compare" {
			continue
		}
		known := ofKind(kind)
		for _, beside := range []map[string][]byte{p.Pictures, p.Figures} {
			for file := range beside {
				if file != "figures.json" && !slices.Contains(known, file) {
					t.Errorf("%s: %s lies beside it, and is not known to", name, file)
				}
			}
		}
		if len(p.Absent) != len(known)+1-len(p.Pictures)-len(p.Figures) {
			t.Errorf("%s: absent are %v, want all but its %d pictures and %d tables", name, p.Absent, len(p.Pictures), len(p.Figures)-1)
		}
	}
}

// Of a period of which another reference judged what came, it is not said that it holds too little.
func TestCompareSaysWhatIsLeft(t *testing.T) {
	for _, c := range []struct {
		findings []finding.Finding
		english  string
		german   string
	}{
		{nil, "One of the two holds too little", "Eine der beiden enthält zu wenig"},
		{[]finding.Finding{finding.Of(finding.OtherReference, "last week", 12840)}, "What is left of one of the two is too little", "Was von einer der beiden übrig ist, ist zu wenig"},
	} {
		for _, l := range []*Language{English(), German()} {
			p := samplePeriodCompare()
			p.Language, p.Verdict, p.Low, p.High, p.Findings = l, CannotSay, 0, 0, c.findings
			page, err := p.Render()
			if want := map[string]string{"en": c.english, "de": c.german}[l.Tag]; err != nil || !strings.Contains(string(page.HTML), want) {
				t.Errorf("a comparison with %v in %s = %v, want it to say %q", c.findings, l.Tag, err, want)
			}
		}
	}
}
