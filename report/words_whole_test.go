package report

import (
	"reflect"
	"slices"
	"strings"
	"testing"

	"asusual/model/check"
	"asusual/model/finding"
)

// same are the texts that German has in common with English: forms of times and numbers, and words that both trades use.
var same = []string{"decimal", "thousands", "date.time", "lasts.s", "lasts.min", "lasts.h", "lasts.hmin", "group.name",
	"compare.lede", "live.names", "live.title", "live.title.all", "period.times", "card.version"}

// TestGermanIsNotEnglish checks that every sentence, every finding and every word of the pictures has a German of its own.
func TestGermanIsNotEnglish(t *testing.T) {
	english, german := English(), German()
	for key, text := range english.Text {
		if said := german.Text[key]; (said == "" || said == text) && !slices.Contains(same, key) {
			t.Errorf("German says %q of %q, as English does", said, key)
		}
	}
	for _, kind := range kinds(t) {
		e, g := finding.English()[kind], finding.German()[kind]
		switch {
		case e == "" || g == "":
			t.Errorf("the kind %q is said as %q and in German as %q", kind, e, g)
		case e == g && e != "{about}": // what such a finding is about has a German of its own: TestEverySentenceBelowIsSaid
			t.Errorf("German says %q of the kind %q, as English does", g, kind)
		}
	}
	e, g := reflect.ValueOf(english.Pictures), reflect.ValueOf(german.Pictures)
	for i := range e.NumField() {
		if name := e.Type().Field(i).Name; e.Field(i).Kind() == reflect.String && e.Field(i).String() == g.Field(i).String() && !slices.Contains(same, name) {
			t.Errorf("pictures: German says %q of %s, as English does", g.Field(i), name)
		}
	}
}

// TestEveryMeasureIsSaid checks that the names of all measures of an instrument have a German of their own.
func TestEveryMeasureIsSaid(t *testing.T) {
	n := 0
	for _, name := range constants(t, "model/check/*.go", "Measure") {
		n++
		if said := German().Said(name); said == name {
			t.Errorf("German has no name for the measure %q", name)
		}
		about := name + ", 900–1000 nm"
		if said := German().Said(about); said == about {
			t.Errorf("German says %q of %q", said, about)
		}
	}
	if n < 10 {
		t.Errorf("%d measures were found, want all of them, %s among them", n, check.NotMeasured)
	}
}

// TestEveryFindingAboutIsSaid checks that a finding that is nothing but what it is about is looked up in German.
func TestEveryFindingAboutIsSaid(t *testing.T) {
	for kind, text := range finding.German() {
		if text != "{about}" {
			continue
		}
		if said := German().finding(finding.Of(kind, "the spectrum is flat and cannot be scaled")); !strings.Contains(said, "Spektrum ist flach") {
			t.Errorf("German says %q of the kind %q", said, kind)
		}
	}
}

// kinds returns all kinds of findings, from the source that declares them.
func kinds(t *testing.T) (all []finding.Kind) {
	t.Helper()
	for _, k := range constants(t, "model/finding/kinds.go", "Kind") {
		all = append(all, finding.Kind(k))
	}
	if len(all) < 50 {
		t.Fatalf("%d kinds of findings were found, want all of them", len(all))
	}
	return all
}
