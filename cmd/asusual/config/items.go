package config

import (
	"strings"
	"time"

	"asusual/model/check"
	"asusual/model/intake"
	"asusual/model/item"
	"asusual/model/spectrum"
)

// Items says how the spectra of single items that pass the instrument are gathered: each item is then judged once, by their mean.
type Items struct {
	item.Options
	Trigger   intake.Trigger
	Name      intake.NamePattern // where Trigger is by name
	Condition string             // whose spectra show the empty belt; "" where a level or nothing tells it
}

// itemGap ends an item where nothing is set: longer than the time between two spectra of one item, shorter than that in which an id comes
// again. Chosen so; common practice, no source.
const itemGap = time.Minute

// decodeItems reads [line.items].
func decodeItems(t *table, conditions []Condition) *Items {
	it := Items{Options: item.Options{Gap: itemGap}}
	t.parse("id", func(s string) (err error) {
		switch strings.ToLower(s) {
		case "label":
			it.Trigger = intake.ByLabel
		case "run":
			it.Trigger = intake.ByRun
		default:
			it.Trigger = intake.ByName
			it.Name, err = intake.ParseName(s)
		}
		return err
	})
	it.ByID = it.Trigger != intake.NoTrigger
	told := t.has("above") || t.has("below")
	if told {
		it.Presence = decodePresence(t)
	}
	t.asked = append(t.asked, "above", "below", "from", "to", "empty") // some exclude others, so that not all are asked for
	if t.has("empty") {
		t.text("empty", &it.Condition)
	}
	it.ByBelt = it.Condition != ""
	switch {
	case told && it.ByBelt:
		t.doc.wrong(t.at("empty"), "[line.items] tells the empty belt by a level and by the condition %q; one of them has to go", it.Condition)
	case it.ByBelt && learnt(conditions, &it.Condition):
	case it.ByBelt:
		t.doc.wrong(t.at("empty"), "empty: %q is no [[line.condition]] with spectra to learn it from", it.Condition)
	case !told && !it.ByBelt && !it.ByID && !t.has("gap"):
		t.doc.wrong(t.path, "[line.items] does not say how one item is told from the next: by id, by gap, by a level above or below which one is there, or by the condition empty")
	}
	t.parse("gap", func(s string) (err error) {
		it.Gap, err = positive(s)
		return err
	})
	t.count("edges", &it.Trim)
	t.count("least", &it.Least)
	t.count("most", &it.Most)
	t.end()
	opt := intake.Options{Items: &it.Options, Trigger: it.Trigger, Name: it.Name}
	if it.ByBelt {
		opt.Empty = func(spectrum.Spectrum) (bool, error) { return false, nil }
	}
	if _, err := intake.New(opt, check.BookState{}); err != nil && len(t.doc.problems) == 0 {
		t.doc.wrong(t.path, "[line.items]: %v", err)
	}
	return &it
}

func decodePresence(t *table) *item.Presence {
	var p item.Presence
	if t.has("above") && t.has("below") {
		t.doc.wrong(t.path, "[line.items] has above and below; an item is there on one side of a level only")
	}
	t.number("above", &p.Above)
	if t.has("below") {
		p.Below = true
		t.number("below", &p.Above)
	}
	t.number("from", &p.From)
	t.number("to", &p.To)
	if p.From > p.To {
		p.From, p.To = p.To, p.From
	}
	return &p
}

// learnt reports whether there are spectra to learn a condition from, and writes its name as the configuration does there.
func learnt(all []Condition, name *string) bool {
	for _, c := range all {
		if strings.EqualFold(c.Name, *name) && len(c.From) > 0 {
			*name = c.Name
			return true
		}
	}
	return false
}
