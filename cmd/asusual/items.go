package main

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"slices"

	"asusual/cmd/asusual/config"
	"asusual/cmd/asusual/gather"
	"asusual/cmd/asusual/words"
	"asusual/model"
	"asusual/model/check"
	"asusual/model/finding"
	"asusual/model/intake"
	"asusual/model/spectrum"
)

// An itemCount is how much was gathered to items.
type itemCount struct {
	items   int // that may be judged
	spectra int // of those, without their edges
	edges   int
	few     int // items that are left with too few spectra
	empty   int // spectra of the empty belt
}

// finding says it to whoever reads the reference's card.
func (n itemCount) finding() finding.Finding {
	return finding.Of(finding.OfItems, "", float64(n.items), float64(n.spectra), float64(n.empty))
}

// per returns how many spectra an item has.
func (n itemCount) per() float64 { return float64(n.spectra) / float64(max(n.items, 1)) }

// some says what is wrong where items were to be gathered and there is none.
func (n itemCount) some(src *input, unused []*spectrum.Unreadable) error {
	if src.items() == nil || n.items > 0 {
		return nil
	}
	also := ""
	if len(unused) > 0 {
		also = fmt.Sprintf("; %s could not be used, the first: %v", words.Count(gather.Count(unused), "file or row", "files or rows"), unused[0])
	}
	return fmt.Errorf("no item was found by [line.items]: %s of the empty belt, %s at edges, %s with too few spectra%s",
		words.Spectra(n.empty), words.Spectra(n.edges), words.Count(n.few, "item", "items"), also)
}

// A gathering gathers the spectra of a folder to items, in the order of time, whatever the order of its files. Items do not reach
// from one folder to another.
type gathering struct {
	lights *lights
	take   func(gather.Batch) error
	folder string
	all    []spectrum.Spectrum
	files  map[string]gather.File
	count  itemCount
}

// add takes what was read of a file.
func (g *gathering) add(b gather.Batch) error {
	if b.File.Folder != g.folder {
		if err := g.flush(); err != nil {
			return err
		}
		g.folder, g.files = b.File.Folder, map[string]gather.File{}
	}
	g.files[b.File.Path] = b.File
	kept := b
	kept.Spectra = nil
	for _, s := range b.Spectra {
		if g.lights.rules.Of(s) == check.Sample {
			g.all = append(g.all, s)
			continue
		}
		if _, _, _, err := g.lights.ready(s); err != nil {
			kept.Unreadable = append(kept.Unreadable, err.(*spectrum.Unreadable))
		}
	}
	if len(kept.Unreadable) == 0 {
		return nil
	}
	return g.take(kept)
}

// flush hands on the items of the folder that was read.
func (g *gathering) flush() error {
	slices.SortStableFunc(g.all, func(x, y spectrum.Spectrum) int {
		return cmp.Or(x.Time.Compare(y.Time), cmp.Compare(x.File, y.File), cmp.Compare(x.Row, y.Row))
	})
	k := g.lights
	before := k.in.Empty()
	for _, s := range g.all {
		got, err := k.in.Take(s)
		switch {
		case err != nil:
			err = g.unusable(s, err.Error())
		case got.Late != nil:
			err = g.unusable(s, words.List(sentences(got.Findings)))
		}
		if err != nil {
			return err
		}
		if err := g.ended(got); err != nil {
			return err
		}
	}
	g.all = g.all[:0]
	err := g.ended(k.in.Finish())
	g.count.empty += k.in.Empty() - before
	return err
}

// unusable hands on why nothing can be made of a spectrum.
func (g *gathering) unusable(s spectrum.Spectrum, reason string) error {
	return g.take(gather.Batch{File: g.files[s.File], Unreadable: []*spectrum.Unreadable{{File: s.File, Row: s.Row, Reason: reason}}})
}

// ended hands on an item.
func (g *gathering) ended(got intake.Taken) error {
	if got.Ended == nil {
		return nil
	}
	s := got.Sample
	b := gather.Batch{File: g.files[s.File]}
	g.count.edges += got.Ended.Trimmed
	if !got.Ready {
		g.count.few++
		return g.unusable(s, words.List(sentences(got.Findings)))
	}
	g.count.items++
	g.count.spectra += got.Count
	g.lights.doubts(got.Findings)
	b.Spectra = []spectrum.Spectrum{s}
	b.Notes = []gather.Note{{Findings: got.Findings, Item: got.Ended.ID, Count: got.Count}}
	return g.take(b)
}

// say says in one line what was gathered.
func (n itemCount) say() string {
	text := fmt.Sprintf("%s of %s", words.Count(n.items, "item", "items"), words.Spectra(n.spectra))
	for _, more := range []struct {
		n    int
		what string
	}{{n.empty, "of the empty belt"}, {n.edges, "at edges of items"}} {
		if more.n > 0 {
			text += fmt.Sprintf("; %s %s left out", words.Spectra(more.n), more.what)
		}
	}
	if n.few > 0 {
		text += fmt.Sprintf("; %s with too few spectra", words.Count(n.few, "item", "items"))
	}
	return text
}

// fitsItems says where a reference was learned from items and spectra are judged by it that are none, or the other way about.
func fitsItems(l config.Line, ref *model.Reference) error {
	switch {
	case l.Items == nil && ref.PerItem > 0:
		return &config.Missing{What: "the reference was learned from single items, about " + words.Figure(ref.PerItem) + " spectra each, and no [line.items] says how items are gathered",
			Try: "[line.items] in " + config.Name + ", as it was when the reference was learned; or asusual learn without it"}
	case l.Items != nil && ref.PerItem == 0:
		return errors.New("[line.items] gathers single items, and the reference was learned from spectra that stand for themselves; learn it again")
	case l.Items != nil && l.Items.Condition != "" && (ref.Belt == nil || ref.Belt.Class.Name != l.Items.Condition):
		return fmt.Errorf("[line.items] tells the empty belt by the condition %q, which the reference was not learned with; learn it again", l.Items.Condition)
	}
	return nil
}

// learnBelt learns what tells the empty belt, where a condition does; nil where none does.
func (a *app) learnBelt(ctx context.Context, c *config.Config, l config.Line, done *learned) (*model.Belt, error) {
	if l.Items == nil || l.Items.Condition == "" {
		return nil, nil
	}
	i := slices.IndexFunc(l.Conditions, func(one config.Condition) bool { return one.Name == l.Items.Condition })
	if i < 0 {
		return nil, &config.Missing{What: fmt.Sprintf("the condition %q, which is to tell the empty belt, has no spectra", l.Items.Condition),
			Try: fmt.Sprintf("[[line.condition]] in %s with name = %q and from = \"…\", a folder of spectra of the empty belt", config.Name, l.Items.Condition)}
	}
	var t model.Training
	aside := *done // what cannot be read is told when the condition itself is learned
	if _, err := a.trainOne(ctx, c, l, l.Items.Condition, l.Conditions[i].From, &t, &aside); err != nil {
		return nil, err
	}
	b, err := model.NewBelt(&t, l.Items.Condition, model.Options{Gap: l.Spectra.Runs.Gap, Each: gather.Each})
	if err != nil {
		return nil, fmt.Errorf("telling the empty belt: %w", err)
	}
	return b, nil
}
