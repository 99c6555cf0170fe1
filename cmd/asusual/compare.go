package main

import (
	"context"
	"errors"
	"path/filepath"
	"slices"
	"time"

	"github.com/spf13/cobra"

	"asusual/cmd/asusual/pages"
	"asusual/cmd/asusual/shift"
	"asusual/cmd/asusual/words"
	"asusual/monitor/keep"
	"asusual/report"
)

type compareOptions struct {
	this, that, line string
}

func (a *app) compareCommand() *cobra.Command {
	var o compareOptions
	c := &cobra.Command{
		Use:  "compare",
		Args: cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error { return a.compare(c.Context(), o) },
	}
	f := c.Flags()
	a.addHistory(f)
	f.StringVar(&o.this, "this", "", "the `PERIOD` that is asked about")
	f.StringVar(&o.that, "that", "", "the `PERIOD` that it is laid beside")
	f.StringVar(&o.line, "line", "", "`NAME` of the line, where the configuration has several")
	return c
}

func (a *app) compare(ctx context.Context, o compareOptions) (err error) {
	c, l, err := a.lineNamed(o.line)
	if err != nil {
		return err
	}
	names := [2]string{o.this, o.that} // as words such as today stand on the page; others are said by their times
	var periods [2]shift.Period
	for i, option := range []string{"--this", "--that"} {
		if names[i] == "" {
			return wrongUse("%s is missing: which period?", option)
		}
		if periods[i], err = c.Plan().Period(names[i], a.now()); err != nil {
			return wrongUse("%s: %v", option, err)
		}
		if !slices.Contains([]string{"today", "yesterday", "last-week"}, names[i]) {
			names[i] = ""
		}
	}
	db, err := a.openHistory(ctx, c)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, db.Close()) }()
	ref, _, err := a.inForce(l)
	if err != nil {
		return err
	}
	cmp, err := pages.Source{History: db, Reference: ref, Line: l.Name, Zone: c.Zone(), Language: c.Site.Language}.Compare(ctx, names, periods)
	if errors.Is(err, pages.ErrNothing) {
		return &words.NoSpectraInPeriod{Line: l.Name, Period: "one of the periods"}
	}
	if err != nil {
		return err
	}
	page, err := cmp.Render()
	if err != nil {
		return err
	}
	names = [2]string{spanName(c.Plan(), periods[0]), spanName(c.Plan(), periods[1])}
	folder := filepath.Join(c.Reports, "compare", keep.FolderName(l.Name+" "+names[0]+" with "+names[1]))
	paths, err := pages.Write(folder, "compare.html", "", page)
	if len(paths) == 0 {
		return err
	}
	a.status = ofVerdict(string(cmp.Verdict))
	return errors.Join(a.tellCompared(cmp, o, paths[0]), notBeside(paths[0], err))
}

// spanName names a period by its times, which "today" does not; no two periods have one name.
func spanName(plan shift.Plan, p shift.Period) string {
	day := clockName(p.From, plan.Zone)[:len(time.DateOnly)]
	if whole, err := plan.When(day); err == nil && whole.From.Equal(p.From) && whole.To.Equal(p.To) {
		return day
	}
	return clockName(p.From, plan.Zone) + " to " + clockName(p.To, plan.Zone)
}

// clockName names a moment by the clock on the wall: with its seconds where there are any, and with how far the clock is from UTC where it
// shows that time twice.
func clockName(t time.Time, zone *time.Location) string {
	layout := "2006-01-02 15:04"
	t = t.In(zone)
	if !t.Equal(t.Truncate(time.Minute)) {
		layout += ":05.999999999"
	}
	text := t.Format(layout)
	if first, err := time.ParseInLocation(layout, text, zone); err != nil || !first.Equal(t) {
		text += t.Format(" -0700")
	}
	return text
}

func (a *app) tellCompared(c report.Compare, o compareOptions, page string) error {
	if a.json {
		return writeJSON(a.out, struct {
			Kind    string         `json:"kind"`
			Line    string         `json:"line"`
			Verdict report.Verdict `json:"verdict"`
			Effect  float64        `json:"effect"` // in spreads of usual between runs
			Low     float64        `json:"low"`
			High    float64        `json:"high"`
			Runs    [2]int         `json:"runs"`
			Spectra [2]int         `json:"spectra"`
			Page    string         `json:"page"`
			False   float64        `json:"false_alarms"` // share of usual periods that are said to differ, on simulated lines
		}{"compare", c.Line, c.Verdict, c.Effect, c.Low, c.High, [2]int{c.This.Runs, c.That.Runs}, [2]int{c.This.Spectra, c.That.Spectra}, page, c.FalseAlarms})
	}
	a.say("%s, %s against %s: %s.", c.Line, o.this, o.that, c.Verdict)
	for _, f := range c.Findings {
		a.say("%s.", f)
	}
	if c.Verdict == report.CannotSay && len(c.Reasons) == 0 {
		if c.IsLeftOut() { // as was said
			a.say("What is left of one of the two is too little: less than a tenth of a usual run.")
		} else {
			a.say("One of the two holds too little: less than a tenth of a usual run.")
		}
		a.say("%s", page)
		return nil
	}
	a.say("They differ by %.2g times the usual spread between runs (%.2g to %.2g), from %s and %s.", c.Effect, c.Low, c.High,
		words.Count(c.This.Runs, "run", "runs"), words.Count(c.That.Runs, "run", "runs"))
	a.say("%s", page)
	return nil
}
