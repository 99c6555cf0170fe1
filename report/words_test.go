package report

import (
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"asusual/model/spectrum"
)

// TestWordsComplete checks that every sentence that the pages ask for is there, and that every sentence that is there is
// asked for.
func TestWordsComplete(t *testing.T) {
	var source strings.Builder
	for _, pattern := range []string{"*.go", "templates/*.html"} {
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
	for _, m := range regexp.MustCompile(`(?:say\(|\bask\(|\.Say |\bitem\()"([a-zA-Z0-9.]+)"`).FindAllStringSubmatch(source.String(), -1) {
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
	for key := range text {
		joined := false // with an ending that the data choose
		for _, start := range []string{"index.", "instrument.state.", "far.", "live.instrument.", "live.far."} {
			joined = joined || strings.HasPrefix(key, start)
		}
		if !asked[key] && !joined && key != "decimal" && key != "thousands" {
			t.Errorf("no page asks for %q", key)
		}
	}
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
