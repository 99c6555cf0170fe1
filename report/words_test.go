package report

import (
	"encoding/json"
	"fmt"
	"io/fs"
	"maps"
	"os"
	"path/filepath"
	"reflect"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"asusual/model/spectrum"
)

// TestWordsComplete checks that every sentence that the pages ask for is there, and that every sentence that is there is
// asked for.
func TestWordsComplete(t *testing.T) {
	var source strings.Builder
	for _, pattern := range []string{"*.go", "../cmd/asusual/pages/*.go"} {
		names, err := filepath.Glob(pattern)
		if err != nil {
			t.Fatal(err)
		}
		for _, name := range names {
			if strings.HasPrefix(name, "words") || strings.HasSuffix(name, "_test.go") {
				continue
			}
			b, err := os.ReadFile(name)
			if err != nil {
				t.Fatal(err)
			}
			source.Write(b)
		}
	}
	if source.Len() == 0 {
		t.Fatal("no source of this package was found to read")
	}
	text := English().Text
	asked := map[string]bool{}
	for _, m := range regexp.MustCompile(`(?:say\(|\bask\(|\.Say |\.Say\(|\bitem\()"([a-zA-Z0-9.]+)"`).FindAllStringSubmatch(source.String(), -1) {
		asked[m[1]] = true
	}
	for _, m := range regexp.MustCompile(`count\("([a-z.]+)"`).FindAllStringSubmatch(source.String(), -1) {
		asked[m[1]+".one"], asked[m[1]+".many"] = true, true
	}
	for key := range asked {
		if _, ok := text[key]; !ok && !strings.HasSuffix(key, ".") {
			t.Errorf("the pages ask for %q, which has no sentence", key)
		}
	}
	written := everyText(t)
	for key := range text {
		of := strings.TrimPrefix(key, "items.") // which takes its place
		joined := written[key] || strings.HasPrefix(key, "seen.") && asked[strings.TrimSuffix(of, ".of")]
		for _, start := range []string{"index.", "instrument.state.", "why.", "live.instrument.", "live.far.", "condition.", "quantity."} {
			ending, ok := strings.CutPrefix(key, start) // which the data choose, among what the code writes
			joined = joined || ok && written[ending]
		}
		if !asked[of] && !joined && key != "decimal" && key != "thousands" {
			t.Errorf("no page asks for %q", key)
		}
	}
}

// everyText returns every text between quotes of one line that the source of the module holds, without its tests and its sentences.
func everyText(t *testing.T) map[string]bool {
	t.Helper()
	all, quoted := map[string]bool{}, regexp.MustCompile(`"([^"\n]*)"`)
	err := filepath.WalkDir("..", func(path string, d fs.DirEntry, err error) error {
		name := filepath.Base(path)
		if err != nil || d.IsDir() || filepath.Ext(name) != ".go" || strings.HasSuffix(name, "_test.go") || strings.HasPrefix(name, "words") {
			return err
		}
		b, err := os.ReadFile(path)
		for _, m := range quoted.FindAllStringSubmatch(string(b), -1) {
			all[m[1]] = true
		}
		return err
	})
	if err != nil || !all["usual"] {
		t.Fatalf("literals of the source = %d texts, %v, want all", len(all), err)
	}
	return all
}

// TestLanguages checks that every language says all that English says, with the same put in, and no more.
func TestLanguages(t *testing.T) {
	put := regexp.MustCompile(`\{[a-zA-Z0-9]+\}`)
	places := func(text string) []string {
		return slices.Compact(slices.Sorted(slices.Values(put.FindAllString(text, -1))))
	}
	english, german := English(), German()
	for key, text := range english.Text {
		other, ok := german.Text[key]
		if a, b := places(text), places(other); !ok || !slices.Equal(a, b) {
			t.Errorf("%q puts in %v in English; German has it: %v, and puts in %v", key, a, ok, b)
		}
	}
	for key := range german.Text {
		if _, ok := english.Text[key]; !ok {
			t.Errorf("German says %q, which no page asks for", key)
		}
	}
	for _, key := range []string{"weekdays", "months"} {
		if a, b := strings.Fields(english.Text[key]), strings.Fields(german.Text[key]); len(a) != len(b) {
			t.Errorf("%s are %d in English and %d in German", key, len(a), len(b))
		}
	}
	e, g := reflect.ValueOf(english.Pictures), reflect.ValueOf(german.Pictures)
	for i := range e.NumField() {
		name := e.Type().Field(i).Name
		a, b := fmt.Sprint(e.Field(i)), fmt.Sprint(g.Field(i))
		if g.Field(i).IsZero() || !slices.Equal(places(a), places(b)) {
			t.Errorf("pictures: %s is %q in English and %q in German", name, a, b)
		}
	}
	for tag, want := range map[string]string{"de": "de", "de-AT": "de", "en": "en", "en-GB": "en", "fi": "", "": "", "deu": ""} {
		if l, ok := Of(tag); ok != (want != "") || ok && l.Tag != want {
			t.Errorf("Of(%q) = %v, %v, want %q", tag, l, ok, want)
		}
	}
}

// TestGerman checks a page in German: its sentences, numbers and dates.
func TestGerman(t *testing.T) {
	h := sampleHandover(true)
	h.Language = German()
	h.Scores.XLabel, h.Scores.YLabel = h.Language.ScoreLabel(1, 0.62), h.Language.ScoreLabel(2, 0.21)
	p, err := h.Render()
	if err != nil {
		t.Fatal(err)
	}
	html := regexp.MustCompile(`(?s)<style>.*?</style>|data:image/png;base64,[A-Za-z0-9+/=&#;]+`).ReplaceAllString(string(p.HTML), "")
	for _, want := range []string{`lang="de"`, "Der Prozess hat sich verändert, seit etwa 11:20.", "Mittwoch, 25. November 2026, 06:00–14:00 Uhr.",
		"Das 2,4-Fache der Grenze in der letzten Stunde der Produktion.", "69 % von 2.511 Spektren", "1 je 30 Tage", "gewohnt", "am selben Ort wie Gruppe 2026-11-12 A, 12. November, 14:05–14:40."} {
		if !strings.Contains(html, want) {
			t.Errorf("the German handover does not say %q", want)
		}
	}
	if dir := os.Getenv("ASUSUAL_KEEP_PAGES"); dir != "" {
		if err := os.WriteFile(filepath.Join(dir, "handover-german.html"), p.HTML, 0o644); err != nil {
			t.Fatal(err)
		}
	}
}

// wordsOf returns the words of texts, in small letters.
func wordsOf(texts ...string) map[string]bool {
	all := map[string]bool{}
	for _, text := range texts {
		text = regexp.MustCompile(`\{[a-zA-Z0-9]+\}`).ReplaceAllString(text, " ")
		for _, w := range regexp.MustCompile(`\pL{3,}`).FindAllString(text, -1) {
			all[strings.ToLower(w)] = true
		}
	}
	return all
}

// sampleWords are those of the samples that a person or the maker of a page would give in the language of the site.
var sampleWords = wordsOf("rinse start-up air oil pump is looked at trial the alarm is not there wavelength standard noise at band at its best place offset slope axis shift times as much "+
	"nine times in ten within 30 spectra day night evening early today last week difference after 95 % of chance smallest band seen F distribution Jackson and Mudholkar Box χ² distribution Q residual run 2026",
	"Osborne, Fearn, Hindle 1993; Workman, Weyer 2012", nasty, "oat works invented empty line reference figures json csv content policy")

// TestNoEnglishOnGermanPages checks every kind of page against all words that only English has.
func TestNoEnglishOnGermanPages(t *testing.T) {
	german := wordsOf(slices.Collect(maps.Values(German().Text))...)
	maps.Copy(german, wordsOf(slices.Collect(maps.Values(German().Findings))...))
	for _, p := range slices.Concat(germanPhrases, germanPhrasesMore) {
		maps.Copy(german, wordsOf(p.other))
	}
	english := wordsOf(slices.Collect(maps.Values(English().Text))...)
	maps.Copy(english, wordsOf(slices.Collect(maps.Values(English().Findings))...))
	for _, p := range slices.Concat(germanPhrases, germanPhrasesMore) {
		maps.Copy(english, wordsOf(p.english))
	}
	for w := range english {
		if german[w] || sampleWords[w] {
			delete(english, w)
		}
	}
	if len(english) < 300 {
		t.Fatalf("only %d words are English alone", len(english))
	}
	h, c, k, x, n := againstLastWeek(), sampleCard(), samplePeriodCompare(), sampleIndex(12), cannotSay()
	h.Language, c.Language, k.Language, x.Language, n.Language, h.Against.Language = German(), German(), German(), German(), German(), German()
	for name, r := range map[string]renderer{"handover": h, "card": c, "compare": k, "index": x, "cannot say": n} {
		p, err := r.Render()
		if err != nil {
			t.Fatal(err)
		}
		html := regexp.MustCompile(`(?s)<head>.*?</head>|data:image/png;base64,[A-Za-z0-9+/=&#;]+`).ReplaceAllString(string(p.HTML), "")
		alt := regexp.MustCompile(`(?:alt|aria-label)="([^"]*)"`).FindAllString(html, -1)
		text := regexp.MustCompile(`<[^>]*>`).ReplaceAllString(html, " ") + strings.Join(alt, " ")
		for w := range wordsOf(strings.NewReplacer("alt=", " ", "aria-label=", " ").Replace(text)) {
			if english[w] {
				t.Errorf("the German %s has the English word %q: …%s…", name, w, regexp.MustCompile(`(?i).{0,40}\b`+w+`\b.{0,40}`).FindString(text))
			}
		}
	}
	texts := slices.Concat(slices.Collect(maps.Values(German().LiveWords())), slices.Collect(maps.Values(German().LiveTexts())))
	for _, now := range germanNows(h, n) {
		texts = append(texts, textsOf(t, now.Tell())...)
	}
	for _, condition := range []string{"usual", "uncharted", "unfit", "transition"} {
		texts = append(texts, German().ConditionName(condition))
	}
	for _, text := range texts {
		for w := range wordsOf(text) {
			if english[w] {
				t.Errorf("the German live page has the English word %q: %s", w, text)
			}
		}
	}
}

// germanNows are a line in every state that words are chosen by: its verdict, its instrument, where it is and what became of its alarm.
func germanNows(changed, cannot Handover) (all []Now) {
	usual := changed
	usual.Verdict, usual.Since, usual.Episodes = AsUsual, time.Time{}, nil
	conditions := []string{"usual", "uncharted", "unfit", "transition", "rinse"}
	for _, c := range conditions {
		changed.Conditions = append(changed.Conditions, Stay{Condition: c, Time: time.Hour, Spectra: 30, Over: time.Minute})
	}
	alarms := []string{"", "unacknowledged", "acknowledged", "shelved", "returned to normal"}
	for i, h := range []Handover{changed, cannot, usual} {
		for k, state := range []string{"fit", "ageing", "unfit", "", "fit"} {
			h.Instrument.State = state
			now := Now{Handover: h, Newest: h.To, Condition: conditions[(i+k)%5], Over: k == 4, Alarm: Alarm{State: alarms[k], Since: h.To, Until: h.To}, Instrumental: h.From}
			if i == 0 {
				now.Behind, now.Trouble, now.Complete.Unreadable = k, "is empty", k
			}
			all = append(all, now)
		}
	}
	return all
}

// textsOf returns every text in a value.
func textsOf(t *testing.T, v any) (all []string) {
	t.Helper()
	b, err := json.Marshal(v)
	if err != nil {
		t.Fatal(err)
	}
	var tree any
	if err := json.Unmarshal(b, &tree); err != nil {
		t.Fatal(err)
	}
	var walk func(any)
	walk = func(v any) {
		switch v := v.(type) {
		case string:
			all = append(all, v)
		case []any:
			for _, one := range v {
				walk(one)
			}
		case map[string]any:
			for _, one := range v {
				walk(one)
			}
		}
	}
	walk(tree)
	return all
}

// TestPlaces checks that no {…} is left on any page.
func TestPlaces(t *testing.T) {
	left := regexp.MustCompile(`\{[a-zA-Z0-9]+\}|\[[a-z]+\.[a-z.]+\]`)
	style := regexp.MustCompile(`(?s)<style>.*?</style>`)
	for name, p := range allPages(t) {
		if m := left.FindString(style.ReplaceAllString(string(p.HTML), "")); m != "" {
			t.Errorf("%s holds %q", name, m)
		}
	}
}

// TestBonds checks the conversion of the published stretches: 10,000,000 divided by nanometres is reciprocal centimetres.
func TestBonds(t *testing.T) {
	nm, um, cm := Bonds(spectrum.Nanometre), Bonds(spectrum.Micrometre), Bonds(spectrum.ReciprocalCentimetre)
	for i := range nm {
		if nm[i].From >= nm[i].To || cm[i].From >= cm[i].To {
			t.Errorf("stretch %d: %v nm, %v cm⁻¹; want them to rise", i, nm[i], cm[i])
		}
		if d := um[i].From*1000 - nm[i].From; d > 1e-9 || d < -1e-9 {
			t.Errorf("stretch %d begins at %g µm, want %g nm", i, um[i].From, nm[i].From)
		}
		if d := cm[i].From*nm[i].To - 1e7; d > 1e-6 || d < -1e-6 {
			t.Errorf("stretch %d begins at %g cm⁻¹ and ends at %g nm", i, cm[i].From, nm[i].To)
		}
	}
	if got := Bonds(spectrum.Channel); got != nil {
		t.Errorf("Bonds(channel index) = %v, want none", got)
	}
}
