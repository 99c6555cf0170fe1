package report

import "strings"

// englishItems are the sentences that say items where the pages of a stream say spectra: what stands after "items." takes the place of
// the sentence of that key.
func englishItems() map[string]string {
	return map[string]string{
		"items.far.share":               "{share} of {n} items lay within the limits.",
		"items.missing.nothing":         "Nothing: all {n} items were judged.",
		"items.missing.unreadable.one":  "1 of {received} items, spectra or files could not be used.",
		"items.missing.unreadable.many": "{n} of {received} items, spectra or files could not be used.",
		"items.missing.gaps":            "No items for {time}: {spans}.",
		"items.missing.unfit.one":       "1 item could not be judged.",
		"items.missing.unfit.many":      "{n} items could not be judged.",
		"items.col.spectra":             "items",
		"items.complete.line":           "{received} items received, {judged} judged, {unfit} not fit to be judged, {unreadable} items, spectra or files that could not be used.",
		"items.distance.caption":        "Each item; where they are many, their median (strong) and least to greatest (faint). Grey: in a named condition, where distance is no fault.",
		"items.conditions.none":         "No items were given to a condition.",
		"items.gaps.title":              "Stretches without items",
		"items.col.gap":                 "no items",
		"complete.items":                "Each item was judged once, by the mean of its spectra: {spectra} spectra of items came, and {empty} of the empty belt, which take no part.",
		"complete.items.late.one":       "1 spectrum came after its item was closed. It is in no mean, and stands below.",
		"complete.items.late.many":      "{n} spectra came after their items were closed. They are in no mean, and stand below.",
	}
}

func germanItems() map[string]string {
	return map[string]string{
		"items.far.share":               "{share} von {n} Stücken lagen innerhalb der Grenzen.",
		"items.missing.nothing":         "Nichts: alle {n} Stücke wurden beurteilt.",
		"items.missing.unreadable.one":  "1 von {received} Stücken, Spektren oder Dateien war nicht zu verwenden.",
		"items.missing.unreadable.many": "{n} von {received} Stücken, Spektren oder Dateien waren nicht zu verwenden.",
		"items.missing.gaps":            "Keine Stücke für {time}: {spans}.",
		"items.missing.unfit.one":       "1 Stück war nicht zu beurteilen.",
		"items.missing.unfit.many":      "{n} Stücke waren nicht zu beurteilen.",
		"items.col.spectra":             "Stücke",
		"items.complete.line":           "{received} Stücke erhalten, {judged} beurteilt, {unfit} nicht zu beurteilen, {unreadable} Stücke, Spektren oder Dateien nicht zu verwenden.",
		"items.distance.caption":        "Jedes Stück; wo es viele sind, ihr Median (kräftig) und ihr kleinster bis größter Wert (blass). Grau: in einem benannten Zustand, wo Abstand kein Fehler ist.",
		"items.conditions.none":         "Kein Stück wurde einem Zustand zugeordnet.",
		"items.gaps.title":              "Abschnitte ohne Stücke",
		"items.col.gap":                 "keine Stücke",
		"complete.items":                "Jedes Stück wurde einmal beurteilt, nach dem Mittel seiner Spektren: {spectra} Spektren von Stücken kamen, und {empty} des leeren Förderbands, die nicht zählen.",
		"complete.items.late.one":       "1 Spektrum kam, nachdem sein Stück geschlossen war. Es zählt zu keinem Mittel und steht unten.",
		"complete.items.late.many":      "{n} Spektren kamen, nachdem ihre Stücke geschlossen waren. Sie zählen zu keinem Mittel und stehen unten.",
	}
}

// ofItems returns the language as it speaks where what was judged are items.
func (l *Language) ofItems() *Language {
	out := *l
	out.Text = make(map[string]string, len(l.Text))
	for key, text := range l.Text {
		out.Text[key] = text
	}
	for key, text := range l.Text {
		if of, ok := strings.CutPrefix(key, "items."); ok {
			out.Text[of] = text
		}
	}
	return &out
}

// An Items says how much came while single items were gathered.
type Items struct {
	Spectra int // of items, their edges among them
	Empty   int // of the empty belt
	Late    int // of items that were closed before they came
}
