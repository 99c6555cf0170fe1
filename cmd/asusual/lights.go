package main

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"log/slog"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"time"

	"asusual/cmd/asusual/config"
	"asusual/cmd/asusual/gather"
	"asusual/cmd/asusual/words"
	"asusual/model/check"
	"asusual/model/finding"
	"asusual/model/fitness"
	"asusual/model/intake"
	"asusual/model/spectrum"
	"asusual/monitor"
)

// A lights makes spectra of production ready to be judged where a line's instrument writes interferograms, or its own dark,
// reference and standard spectra beside them. It may be used by several goroutines.
type lights struct {
	rules check.Rules

	mu    sync.Mutex
	in    *intake.Intake
	known map[string]bool // checks that were taken at the start, by name and time
	aside map[check.Role]int
	said  map[string]int // what is doubtful about absorbances, and of how many spectra
	order []string       // of said
	bad   reasons        // the instrument's own spectra that could not be used
	stood []standing     // in order of time
	items bool           // spectra are gathered to items
}

// A standing is how the instrument stands from a check on.
type standing struct {
	at    time.Time
	state fitness.State
	why   []finding.Finding
}

// A checked is one spectrum of the instrument's own.
type checked struct {
	role check.Role
	spectrum.Spectrum
}

// storeKeep is how many darks and references are at hand when a whole folder is read: two a day for some years.
const storeKeep = 4096

// newLights returns what the line's instrument asks for, nil for nothing. Items are gathered as the options say; nil gathers none.
func newLights(l config.Line, read spectrum.Options, items *intake.Options) (*lights, error) {
	i := l.Instrument
	if len(i.Rules) == 0 && i.Fourier == nil && items == nil {
		return nil, nil
	}
	opt := intakeNow(i, time.Now())
	if items != nil {
		opt.Items, opt.Trigger, opt.Name, opt.Empty = items.Items, items.Trigger, items.Name, items.Empty
	}
	opt.Check.Light.Keep = storeKeep
	in, err := intake.New(opt, check.BookState{})
	if err != nil {
		return nil, err
	}
	dark, bright, err := instrument(i, read)
	if err != nil {
		return nil, err
	}
	if dark != nil && bright != nil {
		if err := cmp.Or(in.Keep(check.Dark, *dark), in.Keep(check.Reference, *bright)); err != nil {
			return nil, err
		}
	}
	return &lights{items: items != nil, rules: i.Rules, in: in, known: map[string]bool{}, aside: map[check.Role]int{}, said: map[string]int{}}, nil
}

// intakeOptions are what the configuration says of an instrument, as an intake takes it. Interferograms are taken about their
// mean, so that their light has no dark.
func intakeOptions(i config.Instrument) intake.Options {
	opt := intake.Options{Rules: i.Rules, Check: i.Check, Fourier: i.Fourier}
	opt.Check.Light.NoDark = i.Fourier != nil
	return opt
}

// intakeNow is intakeOptions at that time: a since that is still to come has nothing begin anew yet.
func intakeNow(i config.Instrument, now time.Time) intake.Options {
	opt := intakeOptions(i)
	if opt.Check.Since.After(now) {
		opt.Check.Since = time.Time{}
	}
	return opt
}

// mark tells one spectrum from others, from whatever folder its file's name was written.
func mark(s spectrum.Spectrum) string {
	return fmt.Sprintf("%s %d %d", filepath.Base(s.File), s.Row, s.Time.UnixNano())
}

// own reads the dark, reference and standard spectra of the files and of the line's own folders that are newer than that time, in the
// order of time. Only files that may hold some are read.
func (k *lights) own(ctx context.Context, a *app, src *input, after time.Time) (list []checked, err error) {
	var files []gather.File
	for _, f := range src.listing.Files {
		if k.mayCheck(f.Path) {
			files = append(files, f)
		}
	}
	if own := src.line.Instrument.From; len(own) > 0 {
		l, err := gather.List(own, src.line.Spectra.Files)
		if err != nil {
			return nil, err
		}
		files = append(files, l.Files...)
	}
	p := a.progress()
	defer p.end()
	opt := gather.Options{Read: src.opt.Read, Progress: func(done, total int) { p.step("reading darks and references", done, total) }}
	err = gather.Read(ctx, files, opt, func(b gather.Batch) error {
		for _, s := range b.Spectra {
			if role := k.rules.Of(s); role != check.Sample && (after.IsZero() || s.Time.After(after)) {
				list = append(list, checked{role, s})
			}
		}
		return nil
	})
	slices.SortStableFunc(list, func(x, y checked) int { // a dark before the reference that it was taken for
		return cmp.Or(x.Time.Compare(y.Time), cmp.Compare(x.role, y.role), cmp.Compare(x.File, y.File), cmp.Compare(x.Row, y.Row))
	})
	return list, err
}

// fill takes all spectra of the instrument's own before any of production: each of those then finds the reference nearest in time.
func (k *lights) fill(ctx context.Context, a *app, src *input) error {
	list, err := k.own(ctx, a, src, time.Time{})
	if err != nil {
		return err
	}
	for _, s := range list {
		if k.known[mark(s.Spectrum)] {
			continue
		}
		k.known[mark(s.Spectrum)] = true
		got, err := k.in.Take(s.Spectrum)
		if err == nil {
			err = useless(got)
		}
		if err != nil {
			k.bad.add(&spectrum.Unreadable{File: s.File, Row: s.Row, Reason: err.Error()})
		}
		state, _, why := k.in.Checks().Instrument()
		k.stood = append(k.stood, standing{s.Time, state, why})
	}
	return nil
}

// useless returns why a spectrum of the instrument's own is of no use, if it is of none.
func useless(t intake.Taken) error {
	for _, r := range t.Results {
		if r.Measure == check.NotMeasured && r.About == t.Role.String() {
			return errors.New(r.Finding.String())
		}
	}
	return nil
}

// mayCheck reports whether a file may hold a check: a rule that goes by label alone may fit in any.
func (k *lights) mayCheck(path string) bool {
	for _, r := range k.rules {
		r.Label = ""
		if r.Folder == "" && r.Name == "" || (check.Rules{r}).Of(spectrum.Spectrum{File: path}) != check.Sample {
			return true
		}
	}
	return false
}

// ready makes a spectrum ready to be judged. One of the instrument's own, as its role tells, is kept and not judged. An error is a
// *spectrum.Unreadable.
func (k *lights) ready(s spectrum.Spectrum) (out spectrum.Spectrum, role check.Role, doubts []finding.Finding, err error) {
	k.mu.Lock()
	defer k.mu.Unlock()
	if role = k.rules.Of(s); role != check.Sample && k.known[mark(s)] {
		k.aside[role]++
		return s, role, nil, nil
	}
	got, err := k.in.Take(s)
	if err != nil {
		return s, role, nil, &spectrum.Unreadable{File: s.File, Row: s.Row, Reason: err.Error()}
	}
	if role != check.Sample {
		k.aside[role]++
		return s, role, nil, nil
	}
	k.doubts(got.Findings)
	return got.Sample, role, got.Findings, nil
}

// doubts counts what is doubtful about a spectrum.
func (k *lights) doubts(all []finding.Finding) {
	for _, f := range all {
		text := string(f.Kind)
		if k.said[text] == 0 {
			k.order = append(k.order, text+"\n"+f.String())
		}
		k.said[text]++
	}
}

// through hands on a batch without the instrument's own spectra, and with the others made ready.
func (k *lights) through(b gather.Batch) gather.Batch {
	kept := b.Spectra[:0]
	for _, s := range b.Spectra {
		out, role, doubts, err := k.ready(s)
		switch {
		case err != nil:
			b.Unreadable = append(b.Unreadable, err.(*spectrum.Unreadable))
		case role == check.Sample:
			kept = append(kept, out)
			b.Notes = append(b.Notes, gather.Note{Findings: doubts})
		}
	}
	b.Spectra = kept
	return b
}

// summary says what was set aside, and what is doubtful about the absorbances.
func (k *lights) summary() (text []string) {
	n := 0
	for _, c := range k.aside {
		n += c
	}
	if n > 0 {
		text = append(text, words.Spectra(n)+" of the instrument's own set aside; asusual instrument looks at them")
	}
	return append(text, k.doubtful()...)
}

// doubtful says which of the instrument's own spectra could not be used, and what is doubtful about the absorbances.
func (k *lights) doubtful() (text []string) {
	for _, one := range k.bad.list {
		also := ""
		if one.n > 1 {
			also = ", and " + words.Count(one.n-1, "other", "others")
		}
		text = append(text, fmt.Sprintf("of no use to the instrument: %s%s: %s", one.first[0].Place(), also, one.first[0].Reason))
	}
	for _, o := range k.order {
		kind, first, _ := strings.Cut(o, "\n")
		many := words.Spectra(k.said[kind])
		if k.said[kind] > 1 {
			many += ", the first"
		}
		text = append(text, many+": "+first)
	}
	return text
}

// production reads spectra as read does, made ready to be judged, and without the instrument's own.
func (a *app) production(ctx context.Context, src *input, stage string, take func(gather.Batch) error) error {
	_, err := a.followed(ctx, src, stage, take)
	return err
}

// followed does as production, and returns how the instrument stood by its checks.
func (a *app) followed(ctx context.Context, src *input, stage string, take func(gather.Batch) error) ([]standing, error) {
	k, err := newLights(src.line, src.opt.Read, src.items())
	if err != nil {
		return nil, err
	}
	if k == nil {
		return nil, a.read(ctx, src, stage, take)
	}
	whole, plain := src, *src // as it was read: what it becomes is decided here
	plain.opt.Dark, plain.opt.Bright = nil, nil
	plain.opt.Reuse = false // what is set aside is kept
	src = &plain
	if err := k.fill(ctx, a, src); err != nil {
		return nil, err
	}
	if g := (&gathering{lights: k, take: take}); k.items {
		if err = a.read(ctx, src, stage, g.add); err == nil {
			err = g.flush()
		}
		whole.gathered = g.count
	} else {
		err = a.read(ctx, src, stage, func(b gather.Batch) error { return take(k.through(b)) })
	}
	if !a.quiet && !a.json {
		for _, text := range k.summary() {
			fmt.Fprintln(a.errOut, text)
		}
		if k.items && err == nil {
			fmt.Fprintln(a.errOut, whole.gathered.say())
		}
	}
	return k.stood, err
}

// instrumentOf says to a watch what the line's instrument gives and which spectra are its own, nil where all are of production.
// again makes ready a spectrum that the watch judged before: with all darks and references that there are now.
func (a *app) instrumentOf(ctx context.Context, l config.Line, read spectrum.Options, log *slog.Logger) (in *monitor.Instrument, again func(spectrum.Spectrum) (spectrum.Spectrum, error), err error) {
	dark, bright, err := instrument(l.Instrument, read)
	if err != nil {
		return nil, nil, err
	}
	k, err := newLights(l, read, nil)
	if err != nil {
		return nil, nil, err
	}
	if k == nil && l.Items == nil {
		return nil, func(s spectrum.Spectrum) (spectrum.Spectrum, error) { return gather.Absorb(s, dark, bright) }, nil
	}
	in = &monitor.Instrument{Options: intakeOptions(l.Instrument), Dark: dark, Bright: bright, Folders: l.Instrument.From}
	if it := l.Items; it != nil {
		in.Options.Items, in.Options.Trigger, in.Options.Name, in.ByBelt = &it.Options, it.Trigger, it.Name, it.Condition != ""
	}
	if k == nil {
		return in, func(s spectrum.Spectrum) (spectrum.Spectrum, error) { return gather.Absorb(s, dark, bright) }, nil
	}
	in.Before = func(ctx context.Context, after time.Time) (before []spectrum.Spectrum, err error) {
		src := &input{line: l, opt: gather.Options{Read: read}} // of its own folders: those in the watched one arrive
		src.line.Instrument.From = present(l, log)
		list, err := k.own(ctx, a, src, after)
		for _, s := range list {
			before = append(before, s.Spectrum)
		}
		return before, err
	}
	fill := sync.OnceValue(func() (err error) { // of what is there when the first is made ready: one naming asks for each of its spectra
		src := &input{line: l, opt: gather.Options{Read: read}}
		src.line.Instrument.From = present(l, log)
		if src.listing, err = gather.List([]string{l.Watch}, l.Spectra.Files); err != nil && !errors.Is(err, gather.ErrNone) {
			return err
		}
		return k.fill(ctx, a, src)
	})
	return in, func(s spectrum.Spectrum) (spectrum.Spectrum, error) {
		if err := fill(); err != nil {
			return s, err
		}
		out, _, _, err := k.ready(s)
		return out, err
	}, nil
}

// present returns those of the folders of the instrument's own spectra in which something lies. A line is watched without the others:
// what comes to them is taken in when it is there.
func present(l config.Line, log *slog.Logger) (folders []string) {
	for _, folder := range l.Instrument.From {
		switch _, err := gather.List([]string{folder}, l.Spectra.Files); {
		case err == nil:
			folders = append(folders, folder)
		case !errors.Is(err, gather.ErrNone):
			log.Warn("the instrument's own spectra cannot be read yet; the line is watched without them", "line", l.Name, "reason", err)
		}
	}
	return folders
}
