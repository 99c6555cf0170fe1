package main

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"asusual/cmd/asusual/config"
	"asusual/cmd/asusual/gather"
	"asusual/cmd/asusual/words"
	"asusual/model"
	"asusual/model/limits"
	"asusual/model/spectrum"
	"asusual/model/verdict"
)

// An extension is known-good spectra that are added to those that a reference was learned from.
type extension struct {
	paths  []string
	before *model.Reference
	files  map[string]bool // of the extension, by whole path
	aside  map[string]bool // spectra that are not of usual production, by name
	counts map[string]int  // of those, by condition
}

// takes reports whether a spectrum is to be learned from.
func (e *extension) takes(s spectrum.Spectrum) bool { return e == nil || !e.aside[s.Name()] }

// has reports whether a file is of the extension.
func (e *extension) has(f gather.File) bool { return e != nil && e.files[whole(f.Path)] }

func whole(path string) string {
	if full, err := filepath.Abs(path); err == nil {
		return full
	}
	return path
}

// extend learns the reference of a line anew from what it was learned from and more.
func (a *app) extend(ctx context.Context, c *config.Config, l config.Line, paths []string, trust bool) error {
	old, _, err := a.reference("", l)
	if err != nil {
		return err
	}
	e := &extension{paths: paths, before: old, files: map[string]bool{}, aside: map[string]bool{}, counts: map[string]int{}}
	if err := a.look(ctx, c, l, e, trust); err != nil {
		return err
	}
	if l.Auto { // another pretreatment would be another reference, not more of this one
		l.Steps, l.Auto = old.Chain.Steps(), false
	}
	if l.Promise == (limits.Promise{}) {
		l.Promise = old.Limits.Promise
	}
	l.Good = append(slices.Clone(l.Good), paths...)
	now := a.now().Truncate(time.Second)
	done, err := a.teach(ctx, c, l, now, e)
	if err != nil {
		return err
	}
	what := fmt.Sprintf("extended by %s: %s in all", strings.Join(relative(l, paths), ", "), amount(done.reference))
	if err := a.renew(ctx, c, done, old, model.Renewal{At: now, What: what}); err != nil {
		return err
	}
	done.from, done.gone = old, missing(old.Origin, done.reference.Origin)
	collect(400) // the room that the spectra had is large
	if err = done.write(); !isWritten(err) {
		return err
	}
	return errors.Join(a.tellExtended(done, e), err)
}

// look judges what is to be added by the reference as it is. What that calls changed is refused, unless it is trusted; what is in
// a named condition is set aside.
func (a *app) look(ctx context.Context, c *config.Config, l config.Line, e *extension, trust bool) error {
	src, err := a.input(c, l, e.paths)
	if err != nil {
		return err
	}
	for _, f := range src.listing.Files {
		e.files[whole(f.Path)] = true
	}
	if trust {
		return nil
	}
	d, err := a.place(ctx, src, e.before)
	if err != nil {
		return err
	}
	d.zone = c.Zone()
	d.follow(e.before, l)
	if refused := refusals(d); len(refused) > 0 {
		return &words.NotGood{Reference: l.Reference, What: refused}
	}
	for _, s := range d.spectra {
		switch s.Condition {
		case model.Usual, model.Uncharted, model.Unfit:
		default:
			e.aside[spectrum.Spectrum{File: s.file, Row: s.row}.Name()] = true
			e.counts[s.Condition]++
		}
	}
	return nil
}

// refusals says what of the day its reference does not take for good, a sentence each.
func refusals(d *day) []string {
	var all []string
	for _, e := range d.episodes {
		var in []judged
		for _, s := range d.spectra {
			if s.Condition != model.Unfit && !s.time.Before(e.ChangedSince) && !s.time.After(e.To) {
				in = append(in, s)
			}
		}
		text := fmt.Sprintf("%s, %s", words.Between(e.ChangedSince.In(d.zone), e.To.In(d.zone)), words.Spectra(len(in)))
		if len(in) > 0 {
			text += ", " + in[0].file + " to " + in[len(in)-1].file
		}
		all = append(all, text)
	}
	production, outside := 0, 0
	for _, s := range d.spectra {
		switch s.Condition {
		case model.Usual:
			production++
		case model.Uncharted:
			production++
			outside++
		}
	}
	reasons := butSlow(d.reasons) // that spectra come more slowly than those of before is why to add them
	switch {
	case len(all) > 0:
	case d.verdict == verdict.CannotSay && len(reasons) > 0:
		all = append(all, "nothing can be said of it: "+strings.Join(sentences(reasons), "; "))
	case 2*outside > production:
		all = append(all, fmt.Sprintf("%d of %s lie outside usual", outside, words.Spectra(production)))
	case production == 0:
		all = append(all, "it holds no spectrum of production")
	}
	return all
}

// relative returns the paths as the reference keeps its sources.
func relative(l config.Line, paths []string) []string {
	l.Good = paths
	return strings.Split(origin(l), ", ")
}

// missing returns the sources of one origin that are not in another.
func missing(before, now string) []string {
	var gone []string
	have := strings.Split(now, ", ")
	for _, s := range strings.Split(before, ", ") {
		if s != "" && !slices.Contains(have, s) {
			gone = append(gone, s)
		}
	}
	return gone
}

// A difference is one figure of a reference before and after.
type difference struct {
	What   string   `json:"what"`
	Before *float64 `json:"before"` // null: not known, or no size is seen
	Now    *float64 `json:"now"`
	format string
}

// differences compares two versions of a reference.
func differences(old, next *model.Reference) []difference {
	var all []difference
	add := func(what, format string, before, now float64) {
		all = append(all, difference{what, &before, &now, format})
	}
	add("spectra", "%.0f", float64(old.Learning.Spectra), float64(next.Learning.Spectra))
	add("runs", "%.0f", float64(len(old.Learning.Runs)), float64(len(next.Learning.Runs)))
	add("hours of production", "%.1f", old.Limits.Hours, next.Limits.Hours)
	add("components", "%.0f", float64(old.PCA.K), float64(next.PCA.K))
	add("T² limit", "%.4g", old.Limits.T2, next.Limits.T2)
	add("Q limit", "%.4g", old.Limits.Q, next.Limits.Q)
	add("typical distance", "%.2f", old.Picture.Typical, next.Picture.Typical)
	if old.Reach == nil || next.Reach == nil {
		return all
	}
	return append(all, reachDifferences(old, next)...)
}

// tellExtended says what the new version changes.
func (a *app) tellExtended(d *learned, e *extension) error {
	all := differences(e.before, d.reference)
	if a.json {
		return writeJSON(a.out, struct {
			Kind      string         `json:"kind"`
			Reference string         `json:"reference"`
			Before    string         `json:"before"`
			File      string         `json:"file"`
			Changes   []difference   `json:"changes"`
			SetAside  map[string]int `json:"set_aside"`
			Lost      []string       `json:"conditions_lost"` // none: it is refused now
			Gone      []string       `json:"sources_not_named"`
			LeftOut   int            `json:"left_out"`
			Findings  []string       `json:"findings"`
			Written   []string       `json:"written"`
		}{"extended", d.reference.Fingerprint(), e.before.Fingerprint(), d.line.Reference, all, e.counts, []string{}, orNone(d.gone),
			len(d.reference.Learning.LeftOut), sentences(d.findings()), d.files})
	}
	if a.quiet {
		return nil
	}
	return d.tellExtended(a.out, e, all)
}

// orNone returns the list as JSON shall have it: [] rather than null where there is nothing.
func orNone(list []string) []string { return append([]string{}, list...) }

func sortedKeys(m map[string]int) []string {
	var keys []string
	for k := range m {
		keys = append(keys, k)
	}
	slices.SortFunc(keys, cmp.Compare[string])
	return keys
}
