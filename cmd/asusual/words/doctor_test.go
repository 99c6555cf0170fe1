package words

import (
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
)

// Every text of doctor is there in both languages with the same put in; what code asks for is there, and nothing else; and
// whatever is to be looked at or wrong has something to try.
func TestDoctorSpeaksBothLanguages(t *testing.T) {
	places := func(s string) []string {
		return slices.Compact(slices.Sorted(slices.Values(regexp.MustCompile(`\{[a-z]+\}`).FindAllString(s, -1))))
	}
	for key, text := range doctorEnglish() {
		if other, ok := doctorGerman()[key]; !ok || !slices.Equal(places(text), places(other)) {
			t.Errorf("%q puts in %v in English, %v in German, want the same", key, places(text), places(other))
		}
	}
	for key := range doctorGerman() {
		if _, ok := doctorEnglish()[key]; !ok {
			t.Errorf("German says %q, which English does not", key)
		}
	}
	names, err := filepath.Glob("../doctor*.go")
	if err != nil || len(names) == 0 {
		t.Fatalf("found %v, %v, want the files of doctor", names, err)
	}
	var source strings.Builder
	for _, n := range names {
		b, err := os.ReadFile(n)
		if err != nil {
			t.Fatal(err)
		}
		source.Write(b)
	}
	asked := map[string]bool{}
	for _, m := range regexp.MustCompile(`\.(fine|look|wrong|say)\((?:"", |l\.Name, )?"([a-z.]+)"`).FindAllStringSubmatch(source.String(), -1) {
		asked[m[2]] = true
		if m[1] == "look" || m[1] == "wrong" {
			asked[m[2]+".try"] = true
		}
	}
	for key := range asked {
		if _, ok := doctorEnglish()[key]; !ok {
			t.Errorf("doctor asks for %q, which has no text", key)
		}
	}
	for key := range doctorEnglish() {
		if !asked[key] {
			t.Errorf("nobody asks for %q", key)
		}
	}
}

func TestDoctorPutsIn(t *testing.T) {
	if got, want := Doctor("en", "sum", "fine", "3", "look", "1", "wrong", "0"), "3 fine, 1 to look at, 0 wrong"; got != want {
		t.Errorf("Doctor = %q, want %q", got, want)
	}
	if got, want := Doctor("de", "sum", "fine", "3", "look", "1", "wrong", "0"), "3 gut, 1 anzusehen, 0 falsch"; got != want {
		t.Errorf("Doctor in German = %q, want %q", got, want)
	}
}

// German has one word for one thing, the one that pages have.
func TestDoctorInGermanSpeaksAsPagesDo(t *testing.T) {
	for key, text := range doctorGerman() {
		for _, w := range []struct{ other, word string }{{"Verlauf", "Historie"}, {"eobacht", "überwachen"}, {"Instrument", "Gerät"}, {" watch ", "die Überwachung"}} {
			if strings.Contains(strings.ReplaceAll(text, "asusual watch ", ""), w.other) {
				t.Errorf("%s: %q says %q for %q", key, text, w.other, w.word)
			}
		}
	}
}
