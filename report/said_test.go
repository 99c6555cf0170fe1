package report

import (
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"asusual/model/finding"
)

// heard are the files whose texts reach pages: why a file could not be read or a spectrum not be judged, what was checked, why the
// reach is not known, and what is answered to who acknowledges, shelves or names.
var heard = []string{"model/spectrum/*.go", "model/light/*.go", "model/check/*.go", "model/intake/*.go", "model/pretreat/*.go", "model/detector/*.go",
	"model/reach/*.go", "model/holdout/*.go", "model/item/*.go", "model/fourier/*.go", "model/alarm/*.go", "model/revise.go", "model/condition/*.go",
	"monitor/request.go", "monitor/arrive/trouble.go", "monitor/alarm.go", "monitor/elsewhere.go", "monitor/reread.go", "monitor/rereaditem.go", "monitor/reference.go", "monitor/watch.go", "cmd/asusual/conditions.go", "cmd/asusual/config/condition.go"}

// unheard are texts of these packages that no page shows: they answer a wrong setting or command, name columns, or are a programmer's mistake.
var unheard = []string{
	"time %q is not one of", "method %q is not one of", "standard %q: ", "a region from ", " first spectra and a pause of ", "the state of the checks", "the limits of %s are", "USP <",
	"role %q is not", "rule %d, for ", "a full channel at ", "a share of %g of the channels", "stale after ", "spectrum: Resampler.Apply", "SQLite format 3", "two columns", "intensity columns",
	"100 % line, ", // keys of settings
	"detector %q ", "is not kept for all", "does not hold {id} once", "names a folder; the id", "nothing tells one item from the next", "a gap of %v, %d spectra trimmed",
	"an item ends after", "an item is told by a level", "alarm state ", "a pretreatment chain has %d steps", "a pretreatment chain that was never", "reference spectra belong to no msc",
	"pretreatment %q ", "pretreatment step %q", ": a setting is ", " is set, but this step has none", " is not above zero", " is not within 1 to ", " is not 1 or 2", "has no derivative of order",
	"is empty; set from and to", "apodization %", "zero filling by", "a phase from %d points", "a path difference of", "wavenumbers from ", "it calls itself", "longer than %d bytes", "is no regular file",
	"leave out ", "%s derivative (", // parts of phrases that are looked up whole
	"condition %s added", "condition %s forgotten", "is not %s, %s or %s", "the folder of requests", "a file among the requests", "shelf is over", "asked of the alarm and refused", "the reference is approved", // the log's
	"group %s %s", "no notifications; listing", "the line is not watched any more", "`NAME` of the line", "not used: %s", "the first %d, which %s", "came before it was seen", "were taken out of history, or ", "… and %d more", "[[line.condition]] needs a name",
	"Smoothing and Differentiation", "Generation and Use of Orthogonal",
}

// columnNames are names that columns and headers have.
var columnNames = regexp.MustCompile(`^(date|acquisition|measurement|axis|x|y|integration|exposure|number of) ?(time|units?|channels|points)?( ?[(\[](ms|s|us|µs)[)\]])?$`)

// TestEverySentenceBelowIsSaid checks that German has what the program says below the pages.
func TestEverySentenceBelowIsSaid(t *testing.T) {
	verb := regexp.MustCompile(`%[#+.\d]*([a-z%])`)
	n := 0
	for _, name := range heard {
		for _, text := range literals(t, name) {
			if columnNames.MatchString(text) || slices.ContainsFunc(unheard, func(u string) bool { return strings.Contains(text, u) }) {
				continue
			}
			n++
			if strings.Contains(text, "piece") {
				t.Errorf("%s says %q; what the user names an item is one everywhere", name, text)
			}
			whole := strings.TrimSpace(verb.ReplaceAllStringFunc(text, func(v string) string {
				return map[byte]string{'d': "7", 'g': "7", '%': "%", 'q': `"seven"`, 'x': "7"}[v[len(v)-1]] + map[byte]string{'s': "seven", 'v': "seven", 'w': "seven"}[v[len(v)-1]]
			}))
			if strings.HasSuffix(whole, ":") || strings.HasSuffix(whole, " but") || strings.HasSuffix(whole, " over") {
				whole += " seven"
			}
			if strings.HasPrefix(whole, "; ") {
				whole = "seven" + whole
			}
			if said := German().Said(whole); said == whole || strings.Contains(said, "{") {
				t.Errorf("%s says %q, which German says as %q", name, whole, said)
			}
		}
	}
	if n < 200 {
		t.Errorf("%d texts were found, want all of them", n)
	}
}

func TestSaid(t *testing.T) {
	for text, want := range map[string]string{
		"SNV, then 1st derivative (22.5 nm, degree 2)": "SNV, dann 1. Ableitung (22,5 nm, Grad 2)",
		"no pretreatment":                   "keine Vorbehandlung",
		"498 channels, the header says 512": "498 Kanäle, der Kopf sagt 512",
		"256 channels, 900–1700 nm":         "256 Kanäle, 900–1700 nm",
		"100 % line noise, 900–1000 nm":     "Rauschen der 100-%-Linie, 900–1000 nm",
		"the reference white.csv: the value of channel 3 (900.5) is \"x\", no number":                                                                                                    "die Referenz white.csv: der Wert von Kanal 3 (900,5) ist \"x\", keine Zahl",
		"it begins as gzip does, but unpacking it: unexpected EOF; is it still being written, or damaged?":                                                                               "sie beginnt wie gzip, aber beim Auspacken: unexpected EOF; wird sie noch geschrieben, oder ist sie beschädigt?",
		"the same spectrum as good/a.csv: row 3; it counts once":                                                                                                                         "dasselbe Spektrum wie good/a.csv: Zeile 3; es zählt einmal",
		"time 2300-01-01T00:00:00Z cannot be kept; a history holds the years 1678 to 2261; it is when the file was changed last: set that anew, or have the spectra bear their own time": "die Zeit 2300-01-01T00:00:00Z ist nicht festzuhalten; in eine Historie passen die Jahre 1678 bis 2261; zu dieser Zeit wurde die Datei zuletzt geändert: diese neu setzen, oder die Spektren ihre eigene Zeit tragen lassen",
		"no run in column batch":                                                                                   "kein Lauf in Spalte batch",
		"condition film: 3 spectra, at least 8 are needed":                                                         "Zustand film: 3 Spektren, mindestens 8 werden gebraucht",
		"group 2026-11-25 A is the condition film already":                                                         "Gruppe 2026-11-25 A ist schon der Zustand film",
		"group \"x\" may be \"x1\" or \"x2\"; write more of its name":                                              "Gruppe \"x\" kann \"x1\" oder \"x2\" sein; mehr von ihrem Namen schreiben",
		`its name holds no time of the form "YYYYMMDD-hhmmss"; mend name-pattern, or take the time from elsewhere`: `ihr Name enthält keine Zeit der Form "YYYYMMDD-hhmmss"; name-pattern berichtigen, oder die Zeit woanders hernehmen`,
		`its name holds no time of the form "YYYYMMDD-hhmmss"`:                                                     `ihr Name enthält keine Zeit der Form "YYYYMMDD-hhmmss"`, // in older histories
		"a/1.csv: cannot be read again: is empty":                                                                  "a/1.csv: nicht noch einmal zu lesen: ist leer",
		"a text that a person wrote":                                                                               "a text that a person wrote",
	} {
		if got := German().Said(text); got != want {
			t.Errorf("Said(%q) = %q, want %q", text, got, want)
		}
		if got := English().Said(text); got != text {
			t.Errorf("in English Said(%q) = %q, want it as it stands", text, got)
		}
	}
	if got, want := German().finding(finding.Of(finding.Overlap, "usual and rinse", 12.5)), "Gewohnt und rinse liegen übereinander: 12 % der ersten liegen in der zweiten."; got != want {
		t.Errorf("finding = %q, want %q", got, want)
	}
	unused := finding.Of(finding.NotUsed, "no dark spectrum has its integration time of 20 ms; there are those of 8 ms; measure one of 20 ms")
	if got, want := German().finding(unused), "Kein Dunkelspektrum hat seine Integrationszeit von 20 ms; es gibt die von 8 ms; eines von 20 ms messen."; got != want {
		t.Errorf("finding = %q, want %q", got, want)
	}
}

// TestPhrases checks that each phrase of the book is found by itself, and puts in all that it takes.
func TestPhrases(t *testing.T) {
	for _, p := range slices.Concat(germanPhrases, germanPhrasesMore) {
		n := strings.Count(p.english, "*")
		for i := range n {
			if !strings.Contains(p.other, "{"+strconv.Itoa(i+1)+"}") {
				t.Errorf("%q takes in %d, and German lacks the %d. of them: %q", p.english, n, i+1, p.other)
			}
		}
		if strings.Contains(p.other, "{"+strconv.Itoa(n+1)+"}") {
			t.Errorf("%q takes in %d, and German has more: %q", p.english, n, p.other)
		}
	}
}

// TestChecksInGerman: the figures of the instrument stand in German with their units.
func TestChecksInGerman(t *testing.T) {
	h := Handover{Instrument: Instrument{State: "ageing", Checks: []Check{{Name: "100 % line noise, 900–1000 nm", Value: 9e-4, Limit: 8e-4, Unit: "absorbance", Ageing: true}}}}
	s := h.instrumentSection(newTeller(German(), time.UTC, time.Time{}, time.Time{}), newAlbum(German()))
	got := strings.Join(s.Tables[0].Rows[0].Cells, "|")
	if want := "Rauschen der 100-%-Linie, 900–1000 nm|9 × 10⁻⁴ Absorbanz|8 × 10⁻⁴ Absorbanz|"; !strings.HasPrefix(got, want) {
		t.Errorf("the row is %q, want it to begin with %q", got, want)
	}
}
