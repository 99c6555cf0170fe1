package main

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
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
	fresh     *time.Duration // nil: as is stated of each line
	listen    listening
}

func (a *app) siteCommand() *cobra.Command {
	var o siteOptions
	var fresh time.Duration
	c := &cobra.Command{
		Use:  "site",
		Args: cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error {
			if c.Flags().Changed("fresh") {
				o.fresh = &fresh
			}
			return a.site(c.Context(), o)
		},
	}
	f := c.Flags()
	f.StringArrayVar(&o.histories, "history", nil, "one more history, a `FILE` or postgres://…; may be given again")
	f.StringVar(&o.out, "out", "", "the `FILE` of the page (default site.html among the reports)")
	f.DurationVar(&fresh, "fresh", config.Fresh, "the `DURATION` for which the last spectrum of a line counts; older, nothing can be said of it (0: for ever). Left out, it is as fresh under [[line]] has it")
	f.Lookup("fresh").DefValue = "0s" // the default is each line's own
	o.listen.flags(f)
	return c
}

const (
	siteWait  = 10 * time.Second // for a history; one that does not answer by then stands on the page as a trouble
	siteFresh = 5 * time.Second  // how old a page may be that is shown to one who asks
	siteAgain = 15 * time.Second // after which a browser asks again

	// leftAfter is how long nothing was heard of a line that is out of use where no configuration says so. Chosen so that a summer's stop is
	// none; common practice, no source.
	leftAfter = 30 * 24 * time.Hour
)

// site writes the page over all lines, or shows it at an address.
func (a *app) site(ctx context.Context, o siteOptions) error {
	c, err := a.config()
	if err != nil {
		return err
	}
	from := append([]string{c.Where()}, c.Site.Histories...)
	from = distinct(append(from, o.histories...))
	l := o.listen
	if o.fresh != nil && *o.fresh < 0 {
		return wrongUse("--fresh takes a duration from 0, such as 1h; it is %s", *o.fresh)
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
	paths, err := pages.Write(filepath.Dir(out), filepath.Base(out), strings.TrimSuffix(filepath.Base(out), filepath.Ext(out))+"-", page)
	if len(paths) == 0 {
		return err
	}
	a.status = ofVerdict(string(s.Verdict()))
	return errors.Join(a.tellSite(s, out), notBeside(out, err))
}

// distinct leaves out what names a history that was named before: its lines would stand on the page twice.
func distinct(from []string) (all []string) {
	for _, where := range from {
		if !slices.ContainsFunc(all, func(before string) bool { return isSame(before, where) }) {
			all = append(all, where)
		}
	}
	return all
}

// isSame reports whether two names are of one history, as far as they tell.
func isSame(a, b string) bool {
	if a == b || history.IsServer(a) || history.IsServer(b) {
		return a == b
	}
	one, err1 := os.Stat(a)
	other, err2 := os.Stat(b)
	if err1 == nil && err2 == nil {
		return os.SameFile(one, other)
	}
	return err1 != nil && err2 != nil && filepath.Clean(a) == filepath.Clean(b)
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
// fresh is how old the last spectrum of a line may be; nil: as the configuration states it of the line.
func (a *app) siteOf(ctx context.Context, c *config.Config, open *histories, fresh *time.Duration) (report.Site, error) {
	from := open.from
	s := report.Site{Name: c.Site.Name, Zone: c.Zone(), Language: c.Site.Language, At: a.now()}
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
		var names []string
		for _, one := range found[i] {
			names = append(names, one.Line)
		}
		for _, one := range found[i] {
			l := siteLine(one)
			l.Fresh = config.Fresh
			its, isNamed := named(c, l.Name, names)
			stated := isNamed && from[i] == c.Where() // of another history nothing is stated here
			if stated {
				l.Fresh = open.fresh(a, its)
			}
			if fresh != nil {
				l.Fresh = *fresh
			}
			// Who watches that file names all lines that are in use; but the watch may know another configuration than is read here.
			renamed := !isNamed && len(c.Lines) > 0 && from[i] == c.History && s.At.Sub(l.Newest) > config.Fresh
			silent := l.Watch == "" && !l.Newest.IsZero() && s.At.Sub(l.Newest) > leftAfter
			l.Left = !stated && (renamed || silent)
			s.Lines = append(s.Lines, l)
		}
	}
	if len(from) == 1 && from[0] == c.Where() && errors.Is(errs[0], fs.ErrNotExist) {
		return s, noHistory(from[0])
	}
	if silent == len(from) {
		return s, errors.Join(errs...)
	}
	return s, nil
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
			OutOfUse     bool           `json:"out_of_use"`
		}{"line", l.Name, stands[i], orNull(l.Since.In(s.Zone)), orNull(l.Newest.In(s.Zone)), l.Instrument, watcherOf(l), l.Verdict, l.Left}); err != nil {
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
	p := &sitePage{app: a, config: c, open: open, fresh: o.fresh}
	// Not the reader's context: the answer is for all who ask, and one of them may go away.
	page := func(context.Context) (html, figures []byte, err error) { return p.told(ctx) }
	return live.Plain{Language: c.Site.Language, Log: log, Again: siteAgain, Page: page, JSON: "site-figures.json"}.Serve(ctx, at)
}

// A sitePage is the page that is shown: however many ask, the histories are asked once.
type sitePage struct {
	app    *app
	config *config.Config
	open   *histories
	fresh  *time.Duration

	mu   sync.Mutex
	made time.Time
	last report.Page
}

// told returns the page, and its figures.
func (p *sitePage) told(ctx context.Context) (html, figures []byte, err error) {
	p.mu.Lock()
	defer p.mu.Unlock()
	if p.last.HTML == nil || time.Since(p.made) >= siteFresh {
		s, _ := p.app.siteOf(ctx, p.config, p.open, p.fresh) // also where no history answers: the page says so
		if ctx.Err() != nil {                                // which is no trouble of theirs
			return nil, nil, ctx.Err()
		}
		page, err := s.Render()
		if err != nil {
			return p.last.HTML, p.last.Figures["figures.json"], err
		}
		p.last, p.made = page, time.Now()
	}
	return p.last.HTML, p.last.Figures["figures.json"], nil
}
