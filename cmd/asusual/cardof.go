package main

import (
	"encoding/json"
	"errors"
	"maps"
	"path/filepath"
	"slices"
	"strings"

	"asusual/cmd/asusual/config"
	"asusual/cmd/asusual/pages"
	"asusual/cmd/asusual/words"
	"asusual/model"
	"asusual/monitor/keep"
	"asusual/report"
)

// cardOf returns where the card of a reference file lies: line.reference has line-card.html.
func cardOf(reference string) string {
	return strings.TrimSuffix(reference, filepath.Ext(reference)) + "-card.html"
}

// cardInForce returns where the card of the version lies that is in force while the one of the file waits for its approval. It stays, for
// the reports of that time name it.
func cardInForce(reference string) string {
	return strings.TrimSuffix(cardOf(reference), ".html") + "-in-force.html"
}

// isCardOf reports whether the card lies there and is of that version, by the figures beside it: a reference that was copied over its file
// brings no card, and that of another version lies there still.
func isCardOf(path string, ref *model.Reference) bool {
	b, err := keep.ReadFile(filepath.Join(filepath.Dir(path), besideCard(path)+"figures.json"))
	var is struct{ Fingerprint string }
	return err == nil && json.Unmarshal(b, &is) == nil && is.Fingerprint == ref.Fingerprint() && exists(path)
}

// write writes the reference, whole, and its card beside it, unless somebody wrote another version meanwhile. Where the reference is
// written and not all of its card, the error is a *words.NotBeside.
func (d *learned) write() error {
	if err := d.replace(); err != nil {
		return err
	}
	err := d.writeCard(d.reference, cardOf(d.line.Reference))
	if d.keepsBefore() {
		err = errors.Join(err, d.writeCard(d.from, cardInForce(d.line.Reference)))
	}
	if err == nil {
		return nil
	}
	return notBeside(d.line.Reference+" ("+d.reference.Fingerprint()+")", err)
}

// isWritten reports whether the reference is, also where its card is not.
func isWritten(err error) bool {
	var card *words.NotBeside
	return err == nil || errors.As(err, &card)
}

func (d *learned) card(ref *model.Reference) (report.Page, error) {
	return pages.Card(ref, d.line.Name, d.zone, d.language).Render()
}

// besideCard is what the names of the files that belong to a card begin with.
func besideCard(path string) string { return strings.TrimSuffix(filepath.Base(path), ".html") + "-" }

func (d *learned) writeCard(ref *model.Reference, path string) error {
	card, err := d.card(ref)
	if err != nil {
		return err
	}
	written, err := pages.Write(filepath.Dir(path), filepath.Base(path), besideCard(path), card)
	d.files = append(d.files, written...)
	return err
}

// mendCard writes a card of which something is missing or older.
func (d *learned) mendCard(ref *model.Reference, path string) error {
	card, err := d.card(ref)
	if err != nil || pages.IsThere(filepath.Dir(path), filepath.Base(path), besideCard(path), card) {
		return err
	}
	return d.writeCard(ref, path)
}

// onceMore is for who asks again for what the reference holds already: a table of its card may have been in use the first time, and then
// the card is written now. Where the card is whole the error is that the reference holds it already.
func (a *app) onceMore(c *config.Config, l config.Line, ref *model.Reference, already error) error {
	d := &learned{line: l, zone: c.Zone(), language: c.Site.Language, reference: ref}
	cards := map[string]*model.Reference{cardOf(l.Reference): ref}
	if d.waits() {
		before, path, err := a.inForce(l)
		if err != nil {
			return errors.Join(already, err)
		}
		cards[path] = before // the same once more, where no version before is kept
	}
	for _, path := range slices.Sorted(maps.Keys(cards)) {
		if err := d.mendCard(cards[path], path); err != nil {
			return notBeside(l.Reference+" ("+ref.Fingerprint()+")", err)
		}
	}
	if len(d.files) == 0 {
		return already
	}
	if a.json {
		return writeJSON(a.out, struct {
			Kind      string   `json:"kind"`
			Line      string   `json:"line"`
			Reference string   `json:"reference"`
			File      string   `json:"file"`
			Written   []string `json:"written"`
		}{"card", l.Name, ref.Fingerprint(), l.Reference, d.files})
	}
	a.say("%s (%s) holds that already; its card is written anew.", l.Reference, ref.Fingerprint())
	return nil
}
