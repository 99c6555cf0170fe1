package main

import (
	"cmp"
	"context"
	"fmt"
	"time"

	"github.com/spf13/pflag"

	"asusual/cmd/asusual/config"
	"asusual/cmd/asusual/gather"
	"asusual/model"
	"asusual/model/intake"
	"asusual/model/spectrum"
)

// A spectraOptions holds the options of every command that reads spectra. They win over the configuration.
type spectraOptions struct {
	axis, quantity, runs, line string
}

func (o *spectraOptions) add(f *pflag.FlagSet) {
	o.addValues(f)
	f.StringVar(&o.runs, "runs", "", "`WHAT` a run is: folder, gap=DURATION, column=NAME, or auto")
	o.addLine(f)
}

// addValues adds the options that say what the values of a spectrum are.
func (o *spectraOptions) addValues(f *pflag.FlagSet) {
	f.StringVar(&o.axis, "axis", "", "`UNIT` of the axis: nm, cm-1, um, index")
	f.StringVar(&o.quantity, "quantity", "", "`WHAT` the values are: absorbance, reflectance, transmittance, intensity")
}

func (o *spectraOptions) addLine(f *pflag.FlagSet) {
	f.StringVar(&o.line, "line", "", "`NAME` of the line, where the configuration has several")
}

// over returns the line of the configuration that is meant, an empty one where there is no configuration, with the
// options of the command line over it.
func (o *spectraOptions) over(c *config.Config) (config.Line, error) {
	l := config.Line{Auto: true, Grace: config.Grace}
	if o.line != "" || len(c.Lines) > 0 {
		var err error
		if l, err = c.Find(o.line); err != nil {
			return l, err
		}
	}
	var err error
	if o.axis != "" {
		if l.Spectra.Axis, err = spectrum.ParseUnit(o.axis); err != nil {
			return l, wrongUse("--axis: %v", err)
		}
	}
	if o.quantity != "" {
		if l.Spectra.Quantity, err = spectrum.ParseQuantity(o.quantity); err != nil {
			return l, wrongUse("--quantity: %v", err)
		}
	}
	if o.runs != "" {
		if l.Spectra.Runs, err = config.ParseRuns(o.runs); err != nil {
			return l, wrongUse("--runs: %v", err)
		}
	}
	return l, nil
}

// readOptions says to the reader what the configuration says of the files of a line.
func readOptions(l config.Line, zone *time.Location) spectrum.Options {
	s := l.Spectra
	return spectrum.Options{
		Unit: s.Axis, Quantity: s.Quantity, Percent: s.Percent, Time: s.Time, NameLayout: s.Layout, Undated: l.Instrument.Own, Zone: zone,
		TimeColumn: s.Columns.Time, RunColumn: cmp.Or(s.Runs.Column, s.Columns.Run), LabelColumn: s.Columns.Label, MaxBytes: s.MaxBytes,
	}
}

// An input is the files of a command and how they are read.
type input struct {
	listing gather.Listing
	opt     gather.Options
	line    config.Line

	alone    bool        // each spectrum stands for itself, whatever the line says of items
	belt     *model.Belt // what tells items from the empty belt, where a condition does
	gathered itemCount   // once it was read
}

// items says how spectra are gathered to items, nil where each stands for itself.
func (s *input) items() *intake.Options {
	it := s.line.Items
	if it == nil || s.alone {
		return nil
	}
	opt := &intake.Options{Items: &it.Options, Trigger: it.Trigger, Name: it.Name}
	if it.Condition != "" && s.belt != nil {
		opt.Empty = s.belt.Empty
	}
	return opt
}

// input finds the files that the paths mean, and the dark and the reference spectrum where the line has them.
func (a *app) input(c *config.Config, l config.Line, paths []string) (*input, error) {
	read := readOptions(l, c.Zone())
	s := &input{line: l, opt: gather.Options{Read: read}}
	var err error
	if s.opt.Dark, s.opt.Bright, err = instrument(l.Instrument, read); err != nil {
		return nil, err
	}
	s.listing, err = gather.List(paths, l.Spectra.Files)
	return s, err
}

// instrument reads the dark and the reference spectrum of a line, nil for each that it does not have.
func instrument(i config.Instrument, opt spectrum.Options) (dark, bright *spectrum.Spectrum, err error) {
	if i.Dark == "" {
		return nil, nil, nil
	}
	if dark, err = gather.One(i.Dark, opt); err != nil {
		return nil, nil, fmt.Errorf("reading the dark spectrum: %w", err)
	}
	if bright, err = gather.One(i.Reference, opt); err != nil {
		return nil, nil, fmt.Errorf("reading the reference spectrum: %w", err)
	}
	return dark, bright, nil
}

// read reads the files with progress shown, and hands what they hold to take, each spectrum once.
func (a *app) read(ctx context.Context, s *input, stage string, take func(gather.Batch) error) error {
	p := a.progress()
	defer p.end()
	opt := s.opt
	opt.Progress = func(done, total int) { p.step(stage, done, total) }
	var once gather.Once
	return gather.Read(ctx, s.listing.Files, opt, func(b gather.Batch) error { return take(once.Take(b)) })
}
