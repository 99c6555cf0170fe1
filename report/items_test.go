package report

import (
	"regexp"
	"strings"
	"testing"
)

// plainText is a page without its pictures and marks.
func plainText(p Page) string {
	text := regexp.MustCompile(`(?s)<style>.*?</style>|<[^>]*>`).ReplaceAllString(string(p.HTML), " ")
	return strings.Join(strings.Fields(text), " ")
}

// TestItemsAreCounted: where items were judged, the page counts items, in both languages, and says how many spectra they had.
func TestItemsAreCounted(t *testing.T) {
	for l, want := range map[*Language][]string{
		nil:      {"2,511 items lay within the limits.", "2,690 items received, 2,686 judged", "13,455 spectra of items came, and 812 of the empty belt", "17 spectra came after their items were closed."},
		German(): {"2.511 Stücken lagen innerhalb", "2.690 Stücke erhalten, 2.686 beurteilt", "13.455 Spektren von Stücken kamen, und 812 des leeren Förderbands", "17 Spektren kamen, nachdem ihre Stücke geschlossen waren."},
	} {
		h := sampleHandover(false)
		h.Language = l
		h.Complete.Items = &Items{Spectra: 13455, Empty: 812, Late: 17}
		p, err := h.Render()
		if err != nil {
			t.Fatal(err)
		}
		text := plainText(p)
		for _, w := range want {
			if !strings.Contains(text, w) {
				t.Errorf("the page does not say %q", w)
			}
		}
		if strings.Contains(text, "spectra lay within") || strings.Contains(text, "Spektren lagen") {
			t.Error("the page counts spectra, too")
		}
	}
}

// TestAgeing: an instrument that ages is a state of its own, with the reason and since when.
func TestAgeing(t *testing.T) {
	h := sampleHandover(false)
	h.Instrument.State, h.Instrument.Since = "ageing", at(9, 40)
	h.Instrument.Checks[0].Fit, h.Instrument.Checks[0].Ageing = false, true
	p, err := h.Render()
	if err != nil {
		t.Fatal(err)
	}
	text := plainText(p)
	for _, want := range []string{"It can be believed, but it is ageing.", "The instrument is ageing, since 09:40.", "beyond its first limit: ageing"} {
		if !strings.Contains(text, want) {
			t.Errorf("the page does not say %q", want)
		}
	}
	h.Instrument.Since = h.Instrument.Since.Add(-24 * 1e9 * 3600 * 3)
	if p, err = h.Render(); err != nil || !strings.Contains(plainText(p), "The instrument is ageing, since 22 November, 09:40.") {
		t.Errorf("days before: %v, the page does not say the day", err)
	}
}
