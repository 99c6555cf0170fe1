package main

import (
	"context"
	"errors"
	"path/filepath"
	"time"

	"github.com/spf13/cobra"

	"asusual/cmd/asusual/config"
	"asusual/cmd/asusual/pages"
	"asusual/cmd/asusual/shift"
	"asusual/cmd/asusual/words"
	"asusual/monitor/history"
	"asusual/report"
)

type handoverOptions struct {
	shift, date, line string
}

func (a *app) handoverCommand() *cobra.Command {
	var o handoverOptions
	c := &cobra.Command{
		Use:  "handover",
		Args: cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error { return a.handover(c.Context(), o) },
	}
	f := c.Flags()
	a.addHistory(f)
	f.StringVar(&o.shift, "shift", "", "`NAME` of the shift")
	f.StringVar(&o.date, "date", "", "the day on which the shift began, `YYYY-MM-DD`")
	f.StringVar(&o.line, "line", "", "`NAME` of the line, where the configuration has several")
	return c
}

func (a *app) handover(ctx context.Context, o handoverOptions) (err error) {
	c, l, err := a.lineNamed(o.line)
	if err != nil {
		return err
	}
	db, err := a.openHistory(ctx, c)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, db.Close()) }()
	span, err := a.spanOf(ctx, c, db, l, o)
	if err != nil {
		return err
	}
	page, h, err := a.handoverOf(ctx, c, db, l, span, a.now())
	there := filepath.Join(shelfOf(c).At(l.Name, span), pages.HandoverName)
	if errors.Is(err, pages.ErrThere) {
		return &words.ReportThere{Page: there, History: a.historyFile}
	}
	if fuller := new(pages.Fuller); errors.As(err, &fuller) {
		return &words.ReportFuller{Page: there, Why: err}
	}
	if errors.Is(err, pages.ErrNothing) {
		return &words.NoSpectraInPeriod{Line: l.Name, Period: "shift " + span.Name + " of " + span.Date}
	}
	if page == "" {
		return err
	}
	a.status = ofVerdict(string(h.Verdict))
	return errors.Join(a.tellHandover(page, h, span), notBeside(page, err))
}

// notBeside says what could not be written beside a page that is written; nil where all could be.
func notBeside(what string, err error) error {
	if err == nil {
		return nil
	}
	return &words.NotBeside{What: what, Why: err}
}

// spanOf returns the shift that the options mean: without any, the one that ended last, or, where history has nothing of it,
// the one of the newest spectrum, or file that could not be read.
func (a *app) spanOf(ctx context.Context, c *config.Config, db *history.DB, l config.Line, o handoverOptions) (shift.Span, error) {
	plan := c.Plan()
	if o.date != "" {
		span, err := plan.On(o.shift, o.date)
		if err != nil {
			return span, usageError{err}
		}
		return span, nil
	}
	now := a.now()
	_, newest, ok, err := db.Came(ctx, l.Name)
	if err == nil && newest.After(now) { // a file may bear any time; spectra of a day to come are a demo's
		if _, last, some, failed := db.Span(ctx, l.Name); some || failed != nil {
			newest, err = last, failed
		}
	}
	if err != nil {
		return shift.Span{}, err
	}
	if !ok {
		return shift.Span{}, &words.NoSpectraInPeriod{Line: l.Name, Period: "any shift"}
	}
	if o.shift != "" {
		return lastNamed(plan, o.shift, now)
	}
	span := plan.Last(now)
	if n, err := pages.Received(ctx, db, l.Name, span); err != nil || n > 0 {
		return span, err
	}
	// Nobody has watched since, or it was a demo's day.
	if at, running := plan.At(newest); running {
		return at, nil
	}
	return plan.Last(newest), nil
}

// lastNamed returns the shift of that name that began last before now.
func lastNamed(plan shift.Plan, name string, now time.Time) (shift.Span, error) {
	for back := 0; ; back++ {
		span, err := plan.On(name, now.In(plan.Zone).AddDate(0, 0, -back).Format(time.DateOnly))
		if err != nil {
			return span, usageError{err}
		}
		if !span.From.After(now) {
			return span, nil
		}
	}
}

func (a *app) tellHandover(page string, h report.Handover, span shift.Span) error {
	if a.json {
		return writeJSON(a.out, struct {
			Kind    string         `json:"kind"`
			Line    string         `json:"line"`
			Shift   string         `json:"shift"`
			Date    string         `json:"date"`
			From    time.Time      `json:"from"`
			To      time.Time      `json:"to"`
			Verdict report.Verdict `json:"verdict"`
			Since   *time.Time     `json:"since"`
			Spectra int            `json:"spectra"`
			Page    string         `json:"page"`
		}{"handover", h.Line, span.Name, span.Date, h.From, h.To, h.Verdict, orNull(h.Since), h.Complete.Judged, page})
	}
	a.say("%s, %s, %s: %s", h.Line, span.Name, words.Between(h.From, h.To), handoverSentence(h))
	a.say("%s", page)
	return nil
}

// handoverSentence says the verdict at the end of a shift.
func handoverSentence(h report.Handover) string {
	switch h.Verdict {
	case report.Changed:
		if h.Since.IsZero() {
			return "the process has changed."
		}
		return "the process has changed, since about " + words.Moment(h.Since.In(h.Zone)) + "."
	case report.AsUsual:
		if n := len(h.Episodes); n > 0 {
			return "as usual again, after " + words.Count(n, "episode", "episodes") + "."
		}
		return "as usual."
	}
	return "cannot say."
}
