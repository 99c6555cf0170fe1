package finding

import (
	"maps"
	"math"
	"regexp"
	"slices"
	"testing"
)

// Every kind is said in every language, with the same particulars put in.
func TestLanguagesAreComplete(t *testing.T) {
	put := regexp.MustCompile(`\{[a-z0-9]+\}`)
	places := func(text string) []string {
		return slices.Compact(slices.Sorted(slices.Values(put.FindAllString(text, -1))))
	}
	for kind, english := range English() {
		german, ok := German()[kind]
		if !ok {
			t.Errorf("German says nothing of %q", kind)
			continue
		}
		if a, b := places(english), places(german); !slices.Equal(a, b) {
			t.Errorf("%q puts in %v in English and %v in German, want the same", kind, a, b)
		}
	}
	for kind := range maps.Keys(German()) {
		if _, ok := English()[kind]; !ok && kind != decimal {
			t.Errorf("German says %q, which is no kind", kind)
		}
	}
}

// Whoever is sent to the light path is to be cautioned.
func TestAtLamp(t *testing.T) {
	at := regexp.MustCompile(`(look at|check) .*(lamp|window|fibre|probe)`)
	for kind, text := range English() {
		if want := at.MatchString(text); kind.AtLamp() != want {
			t.Errorf("%q, which says %q, is said to send somebody to the lamp: %v, want %v", kind, text, kind.AtLamp(), want)
		}
	}
}

func TestIn(t *testing.T) {
	for _, c := range []struct {
		finding Finding
		words   Words
		want    string
	}{
		{Of(MostUnfit, ""), English(), "more than half of the latest spectra could not be judged"},
		{Of(AboveQ, "", 0.00041, 12345), English(), "has a shape that usual spectra do not have (Q residual 0.00041, limit 12345)"},
		{Of(BandMoved, "nm (centre of gravity)", 1222.5, -0.61, 1), English(), "the band stated at 1222.5 lies -0.61 nm (centre of gravity) beside it, tolerance 1"},
		{Of(OutHere, "cm⁻¹", 1, 10301.5, 40), English(), "the channel at 10301.5 cm⁻¹ stands out alone from those beside it, in 40 % of the latest spectra: look at the detector, or leave it out"},
		{Of(AboveQ, "", 0.00041, 12.5), German(), "hat eine Form, die gewohnte Spektren nicht haben (Q-Residuum 0,00041, Grenze 12,5)"},
		{Of(Overlap, "rinse and air", math.NaN()), English(), "rinse and air lie over each other: – % of the first lie within the second"},
		{Of("not-known-here", "lot 7"), German(), "not-known-here lot 7"},
	} {
		if got := c.finding.In(c.words); got != c.want {
			t.Errorf("%v.In() = %q, want %q", c.finding.Kind, got, c.want)
		}
	}
}
