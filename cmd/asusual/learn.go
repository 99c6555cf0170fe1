package main

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"asusual/cmd/asusual/config"
	"asusual/cmd/asusual/gather"
	"asusual/model"
	"asusual/model/limits"
	"asusual/model/spectrum"
	"asusual/report"
)

type learnOptions struct {
	spectraOptions
	good       []string
	conditions []string
	reference  string
	pretreat   string
	promise    string
	components int
	keepAll    bool
	extend     []string
	trust      bool
}

func (a *app) learnCommand() *cobra.Command {
	var o learnOptions
	c := &cobra.Command{
		Use: "learn",
		// Paths after --good are known-good too, so that a shell's good/* is taken whole.
		RunE: func(c *cobra.Command, args []string) error {
			switch {
			case len(args) > 0 && len(o.extend) > 0:
				o.extend = append(o.extend, args...)
			case len(args) > 0 && len(o.good) == 0:
				return wrongUse("%s: what is this for? known-good spectra are named by --good %s", args[0], args[0])
			default:
				o.good = append(o.good, args...)
			}
			if o.trust && len(o.extend) == 0 {
				return wrongUse("--trust goes with --extend; --keep-all takes all known-good spectra as they are")
			}
			return a.learn(c.Context(), o)
		},
		Args: cobra.ArbitraryArgs,
	}
	f := c.Flags()
	f.StringArrayVar(&o.good, "good", nil, "`PATH` of known-good spectra; more may follow it")
	f.StringArrayVar(&o.conditions, "condition", nil, "`NAME=PATH` of the spectra of another state of the line (may be given several times)")
	f.StringVar(&o.reference, "reference", "", "the reference `FILE` to write")
	f.StringVar(&o.pretreat, "pretreat", "", "auto, none, or `STEPS` such as \"snv, derivative window=15 degree=2 order=1\"")
	f.StringVar(&o.promise, "promise", "", "how many false episodes are accepted, a `PROMISE` such as \"1 per 30 days\"")
	f.IntVar(&o.components, "components", 0, "how `MANY` components; 0: chosen on runs held out")
	f.BoolVar(&o.keepAll, "keep-all", false, "learn also from known-good spectra that do not belong with the others")
	f.StringArrayVar(&o.extend, "extend", nil, "`PATH` of further good runs, to add to what the reference was learned from; more may follow it")
	f.BoolVar(&o.trust, "trust", false, "with --extend: take them also where the reference calls them changed")
	o.add(f)
	return c
}

// over lays the options of learn over the line of the configuration.
func (o *learnOptions) over(c *config.Config) (config.Line, error) {
	l, err := o.spectraOptions.over(c)
	if err != nil {
		return l, err
	}
	if len(o.good) > 0 {
		l.Good = o.good
	}
	for _, s := range o.conditions {
		name, path, ok := strings.Cut(s, "=")
		if !ok || name == "" || path == "" {
			return l, wrongUse("--condition: %q is not NAME=PATH", s)
		}
		if err := config.CheckCondition(name); err != nil {
			return l, wrongUse("--condition: %v", err)
		}
		if i := slices.IndexFunc(l.Conditions, func(c config.Condition) bool { return strings.EqualFold(c.Name, name) }); i >= 0 {
			name = l.Conditions[i].Name // as the configuration writes it
			l.Conditions = slices.Delete(slices.Clone(l.Conditions), i, i+1)
		}
		l.Conditions = append(l.Conditions, config.Condition{Name: name, From: []string{path}})
	}
	if o.reference != "" {
		l.Reference = o.reference
	}
	if o.pretreat != "" {
		if l.Steps, l.Auto, err = config.ParseSteps(o.pretreat); err != nil {
			return l, wrongUse("--pretreat: %v", err)
		}
	}
	if o.promise != "" {
		if l.Promise, err = limits.ParsePromise(o.promise); err != nil {
			return l, wrongUse("--promise: %v", err)
		}
	}
	if o.components < 0 {
		return l, wrongUse("--components: %d is below 0", o.components)
	}
	if o.components > 0 {
		l.Components = o.components
	}
	l.KeepAll = l.KeepAll || o.keepAll
	switch {
	case len(l.Good) == 0:
		return l, &config.Missing{What: "no known-good spectra were named", Try: "--good FOLDER, or good = \"…\" of the line in " + config.Name}
	case l.Reference == "":
		return l, &config.Missing{What: "no reference file to write was named", Try: tryReference}
	}
	return l, nil
}

func (a *app) learn(ctx context.Context, o learnOptions) error {
	c, err := a.config()
	if err != nil {
		return err
	}
	l, err := o.over(c)
	if err != nil {
		return err
	}
	if len(o.extend) > 0 {
		return a.extend(ctx, c, l, o.extend, o.trust)
	}
	old, unread, err := a.before(l)
	if err != nil {
		return err
	}
	done, err := a.teach(ctx, c, l, time.Time{}, nil)
	if err != nil {
		return err
	}
	done.from, done.unread = old, unread
	if old != nil {
		done.gone = missing(old.Origin, done.reference.Origin)
		how := model.Renewal{At: done.reference.Learned, What: "learned anew from " + amount(done.reference), NamedOnly: true}
		if err := a.renew(ctx, c, done, old, how); err != nil {
			return err
		}
	}
	collect(400) // the room that the spectra had is large
	if err = done.write(); !isWritten(err) {
		return err
	}
	return errors.Join(a.tellLearned(done), err)
}

// A learned is what one learn made.
type learned struct {
	line       config.Line
	zone       *time.Location
	language   *report.Language
	reference  *model.Reference
	from       *model.Reference // the version before, of which it is the next; nil for none
	files      []string         // that were written
	kept       []string         // conditions of the version before that no folder was learned from
	dropped    []string         // conditions of the version before that are not known any more
	gone       []string         // what the version before was learned from, too, and nothing names now
	unread     error            // why the version before could not be read, if it could not
	read       gather.Extent    // of usual production
	unreadable []*spectrum.Unreadable
	exposure   time.Duration // the longest integration time that the files say; 0 for none
	belt       *model.Belt   // what tells the empty belt; nil for none
	items      itemCount     // of usual production
	more       *extension    // that is added to an earlier version; nil for none
}

// learnLine learns the first reference of a line and writes it and its card. now is when it says that it was learned; the zero
// time is the clock's.
func (a *app) learnLine(ctx context.Context, c *config.Config, l config.Line, now time.Time) (*learned, error) {
	done, err := a.teach(ctx, c, l, now, nil)
	if err != nil {
		return nil, err
	}
	return done, done.write()
}

// teach learns the reference of a line and writes nothing yet. more is what was added to what it was learned from before, nil for
// nothing.
func (a *app) teach(ctx context.Context, c *config.Config, l config.Line, now time.Time, more *extension) (*learned, error) {
	if info, err := os.Stat(filepath.Dir(l.Reference)); err != nil || !info.IsDir() {
		return nil, fmt.Errorf("%s: the folder of the reference does not exist", filepath.Dir(l.Reference))
	}
	done := &learned{line: l, zone: c.Zone(), language: c.Site.Language, more: more}
	var t model.Training
	var err error
	if done.belt, err = a.learnBelt(ctx, c, l, done); err != nil {
		return nil, err
	}
	gap, err := a.train(ctx, c, l, &t, done)
	if err != nil {
		return nil, err
	}
	source := model.Source{} // of a demo, which is the same everywhere
	if now.IsZero() || more != nil {
		source = sourceOf(l, done.read)
	}
	if now.IsZero() {
		now = a.now().Truncate(time.Second)
	}
	name := l.Name
	if name == "" {
		name = strings.TrimSuffix(filepath.Base(l.Reference), filepath.Ext(l.Reference))
	}
	p := a.progress()
	defer p.end()
	done.reference, err = model.Learn(&t, model.Options{
		Name: name, Origin: origin(l), Source: source, Now: now, Promise: l.Promise,
		Pretreat: l.Steps, Auto: l.Auto, Components: l.Components, Gap: gap, KeepAll: l.KeepAll, KeepCarbonDioxide: l.KeepCO2,
		PerItem: done.items.per(), Belt: done.belt,
		Each: gather.Each, Progress: func(stage string) { p.step(stage, 0, 0) },
	})
	if err != nil {
		return nil, err
	}
	runtime.GC() // the spectra are not needed any more: the card is drawn in the room that they had
	done.reference.Findings = append(done.reference.Findings, lookAtDetector(l, done.reference, done.exposure)...)
	if l.Items != nil {
		done.reference.Findings = append(done.reference.Findings, done.items.finding())
	}
	return done, nil
}

// train reads the spectra of a line into the training. It returns the pause that ends a run, 0 where runs have names.
func (a *app) train(ctx context.Context, c *config.Config, l config.Line, t *model.Training, done *learned) (time.Duration, error) {
	runs, err := a.trainOne(ctx, c, l, model.Usual, l.Good, t, done)
	if err != nil {
		return 0, err
	}
	for _, cond := range l.Conditions {
		if len(cond.From) == 0 { // only its times are stated
			continue
		}
		if _, err := a.trainOne(ctx, c, l, cond.Name, cond.From, t, done); err != nil {
			return 0, fmt.Errorf("condition %s: %w", cond.Name, err)
		}
	}
	switch {
	case l.Spectra.Runs.Gap > 0:
		return l.Spectra.Runs.Gap, nil
	case l.Spectra.Runs == (config.Runs{}) && runs == 1:
		return usualGap, nil
	}
	return 0, nil
}

// usualGap ends a run where nothing names runs and all known-good spectra lie in one folder: longer than the pauses of
// a line that runs, shorter than those of one that stands. Chosen so; common practice, no source.
const usualGap = 30 * time.Minute

// trainOne adds the spectra of one condition to the training and returns how many runs they name.
func (a *app) trainOne(ctx context.Context, c *config.Config, l config.Line, condition string, paths []string, t *model.Training, done *learned) (int, error) {
	src, err := a.input(c, l, paths)
	if err != nil {
		return 0, err
	}
	if condition == model.Usual {
		src.opt.Extent = &done.read
	}
	src.opt.Reuse = true // the training copies what it takes
	src.belt, src.alone = done.belt, l.Items != nil && condition == l.Items.Condition
	runs := map[string]bool{} // those that are no extension
	expected := false
	unused := func(all ...*spectrum.Unreadable) {
		done.unreadable = append(done.unreadable, all...)
		for _, u := range all {
			t.CannotUse(condition, u)
		}
	}
	err = a.production(ctx, src, "reading "+condition, func(b gather.Batch) error {
		unused(b.Unreadable...)
		for _, s := range b.Spectra {
			if l.Spectra.Runs.Column != "" && s.Run == "" {
				unused(&spectrum.Unreadable{File: s.File, Row: s.Row, Reason: "no run in column " + l.Spectra.Runs.Column})
				continue
			}
			if !done.more.takes(s) {
				continue
			}
			if !expected && b.Last && len(b.Spectra) == 1 {
				t.Expect(condition, s.Axis, gather.Room(len(src.listing.Files)*s.Axis.Len())) // a file a spectrum: it need not grow
			}
			expected = true
			done.exposure = max(done.exposure, s.Exposure)
			s.Run = gather.RunOf(b.File, s)
			if l.Spectra.Runs.Folder {
				s.Run = b.File.Folder
			}
			if !done.more.has(b.File) {
				runs[s.Run] = true
			} else if runs[s.Run] { // another folder of the same name is another run
				s.Run += " (added)"
			}
			t.Add(condition, s)
		}
		return nil
	})
	if err == nil && condition == model.Usual {
		done.items = src.gathered
		err = done.items.some(src, done.unreadable)
	}
	return len(runs), err
}

// origin says where the known-good spectra came from, seen from the folder of the reference, so that a set-up that is copied
// elsewhere learns the same.
func origin(l config.Line) string {
	var all []string
	for _, good := range l.Good {
		if rel, err := filepath.Rel(filepath.Dir(l.Reference), good); err == nil {
			good = filepath.ToSlash(rel)
		}
		all = append(all, good)
	}
	return strings.Join(all, ", ")
}
