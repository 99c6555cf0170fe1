package main

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"time"

	"github.com/spf13/cobra"

	"asusual/cmd/asusual/config"
	"asusual/cmd/asusual/pages"
	"asusual/monitor"
	"asusual/monitor/history"
	"asusual/report"
	"asusual/report/live"
)

type siteOptions struct {
	histories []string
	out       string
	fresh     time.Duration
	listen    listening
}

func (a *app) siteCommand() *cobra.Command {
	var o siteOptions
	c := &cobra.Command{
		Use:  "site",
		Args: cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error { return a.site(c.Context(), o) },
	}
	f := c.Flags()
	f.StringArrayVar(&o.histories, "history", nil, "one more history, a `FILE` or postgres://…; may be given again")
	f.StringVar(&o.out, "out", "", "the `FILE` of the page (default site.html among the reports)")
	f.DurationVar(&o.fresh, "fresh", lineFresh, "how old the last spectrum of a line may be; older, nothing can be said of it (0: as old as it likes)")
	o.listen.flags(f)
	return c
}

const (
	siteWait  = 10 * time.Second // for a history; one that does not answer by then stands on the page as a trouble
	siteFresh = 5 * time.Second  // how old a page may be that is shown to one who asks
	siteAgain = 15 * time.Second // after which a browser asks again
	lineFresh = time.Hour        // chosen so that a cleaning or a change of product is no silence
)

// site writes the page over all lines, or shows it at an address.
func (a *app) site(ctx context.Context, o siteOptions) error {
	c, err := a.config()
	if err != nil {
		return err
	}
	from := append([]string{c.Where()}, c.Site.Histories...)
	from = append(from, o.histories...)
	l := o.listen
	if o.fresh < 0 {
		return wrongUse("--fresh takes a duration from 0, such as 1h; it is %s", o.fresh)
	}
	switch {
	case l.address != "" && o.out != "":
		return wrongUse("--out and --listen exclude each other")
	case l.address != "":
		return a.serveSite(ctx, c, from, o)
	case l.unplaced():
		return wrongUse("--token-file, --certificate, --key and --host say something of --listen, which is missing")
	}
	out := o.out
	if out == "" {
		out = filepath.Join(c.Reports, "site.html")
		if err := os.MkdirAll(filepath.Dir(out), 0o755); err != nil {
			return err
		}
	}
	open := &histories{from: from}
	defer open.close()
	s, err := a.siteOf(ctx, c, open, o.fresh)
	if err != nil {
		return err
	}
	link(s.Lines, c, out)
	page, err := s.Render()
	if err != nil {
		return err
	}
	if _, err := pages.Write(filepath.Dir(out), filepath.Base(out), strings.TrimSuffix(filepath.Base(out), filepath.Ext(out))+"-", page); err != nil {
		return err
	}
	a.status = ofVerdict(string(s.Verdict()))
	return a.tellSite(s, out)
}

// link has the lines of the configuration lead to the index of their reports, where there is one.
func link(lines []report.SiteLine, c *config.Config, out string) {
	index := filepath.Join(c.Reports, "index.html")
	to, err := filepath.Rel(filepath.Dir(out), index)
	if c.Reports == "" || !exists(index) || err != nil {
		return
	}
	for i := range lines {
		if _, err := c.Find(lines[i].Name); err == nil {
			lines[i].Href = filepath.ToSlash(to)
		}
	}
}

// siteOf asks all histories, at the same time. What one of them does not say stands on the page; an error is that none said anything.
func (a *app) siteOf(ctx context.Context, c *config.Config, open *histories, fresh time.Duration) (report.Site, error) {
	from := open.from
	s := report.Site{Name: c.Site.Name, Zone: c.Zone(), Language: c.Site.Language, At: a.now(), Fresh: fresh}
	found, errs := make([][]monitor.Standing, len(from)), make([]error, len(from))
	var asking sync.WaitGroup
	for i, where := range from {
		asking.Go(func() { found[i], errs[i] = open.standings(ctx, where) })
	}
	asking.Wait()
	silent := 0
	for i := range from {
		if errs[i] != nil {
			s.Troubles = append(s.Troubles, errs[i].Error())
			silent++
		}
		for _, one := range found[i] {
			s.Lines = append(s.Lines, siteLine(one))
		}
	}
	if silent == len(from) {
		return s, errors.Join(errs...)
	}
	return s, nil
}

// A histories keeps those open that were asked: opening one anew takes longer than asking it.
type histories struct {
	from []string
	mu   sync.Mutex
	open map[string]*history.DB
}

func (h *histories) standings(ctx context.Context, where string) ([]monitor.Standing, error) {
	ctx, cancel := context.WithTimeout(ctx, siteWait)
	defer cancel()
	h.mu.Lock()
	db := h.open[where]
	h.mu.Unlock()
	if db == nil {
		var err error
		if db, err = history.Read(ctx, where); err != nil {
			return nil, err
		}
		h.mu.Lock()
		if h.open == nil {
			h.open = map[string]*history.DB{}
		}
		h.open[where] = db
		h.mu.Unlock()
	}
	all, err := monitor.Standings(ctx, db)
	if err == nil {
		return all, nil
	}
	h.mu.Lock() // a file may be another one by now
	delete(h.open, where)
	h.mu.Unlock()
	return nil, errors.Join(err, db.Close())
}

func (h *histories) close() {
	for _, db := range h.open {
		_ = db.Close() // it was only read
	}
}

func siteLine(s monitor.Standing) report.SiteLine {
	l := report.SiteLine{Name: s.Line, Verdict: report.Verdict(s.Verdict), Since: s.Since, Newest: s.LastSpectrum, Instrument: s.Instrument,
		Watch: s.Watcher, Unasked: s.Unasked}
	if !s.ChangedSince.IsZero() && l.Verdict == report.Changed {
		l.Since = s.ChangedSince
	}
	return l
}

func (a *app) tellSite(s report.Site, out string) error {
	if !a.json {
		a.say("%s", out)
		for _, trouble := range s.Troubles {
			fmt.Fprintf(a.errOut, "asusual: %s\n", trouble)
		}
		return nil
	}
	stands := s.Stands()
	for i, l := range s.Lines {
		if err := writeJSON(a.out, struct {
			Kind         string         `json:"kind"`
			Line         string         `json:"line"`
			Verdict      report.Verdict `json:"verdict"`
			Since        *time.Time     `json:"since"`
			LastSpectrum *time.Time     `json:"last_spectrum"`
			Instrument   string         `json:"instrument"`
			Watcher      *string        `json:"watched_by"` // "" for nobody; null where it is not known
			LastVerdict  report.Verdict `json:"last_verdict"`
		}{"line", l.Name, stands[i], orNull(l.Since.In(s.Zone)), orNull(l.Newest.In(s.Zone)), l.Instrument, watcherOf(l), l.Verdict}); err != nil {
			return err
		}
	}
	return writeJSON(a.out, struct {
		Kind     string    `json:"kind"`
		Page     string    `json:"page"`
		Troubles []string  `json:"troubles"`
		At       time.Time `json:"at"`
	}{"site", out, append([]string{}, s.Troubles...), s.At.In(s.Zone)})
}

func watcherOf(l report.SiteLine) *string {
	if l.Unasked {
		return nil
	}
	return &l.Watch
}

// serveSite shows the page at an address until it is stopped.
func (a *app) serveSite(ctx context.Context, c *config.Config, from []string, o siteOptions) error {
	d, err := o.listen.door()
	if err != nil {
		return err
	}
	at, err := d.Listen()
	if errors.Is(err, live.ErrToken) {
		return usageError{err}
	} else if err != nil {
		return err
	}
	log := a.logger()
	if elsewhere, enciphered := at.Open(); elsewhere && !enciphered {
		log.Warn("the page and its token go over the network as they are; --certificate and --key encipher them")
	}
	log.Info("the page over all lines is there", "address", at.URL())
	open := &histories{from: from}
	defer open.close()
	var mu sync.Mutex
	var made time.Time
	var last report.Page
	page := func(ctx context.Context) (html, figures []byte, err error) { // however many ask, the histories are asked once
		mu.Lock()
		defer mu.Unlock()
		told := func() ([]byte, []byte, error) { return last.HTML, last.Figures["figures.json"], err }
		if last.HTML != nil && time.Since(made) < siteFresh {
			return told()
		}
		s, err := a.siteOf(ctx, c, open, o.fresh)
		if err != nil && ctx.Err() != nil {
			return nil, nil, err
		}
		var p report.Page
		if p, err = s.Render(); err == nil { // also where no history answers: the page says so
			last, made = p, time.Now()
		}
		return told()
	}
	return live.Plain{Language: c.Site.Language, Log: log, Again: siteAgain, Page: page, JSON: "site-figures.json"}.Serve(ctx, at)
}
