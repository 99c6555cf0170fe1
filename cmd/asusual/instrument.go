package main

import (
	"bufio"
	"cmp"
	"context"
	"errors"
	"fmt"
	"io"
	"maps"
	"math"
	"slices"
	"text/tabwriter"
	"time"

	"github.com/spf13/cobra"

	"asusual/cmd/asusual/config"
	"asusual/cmd/asusual/gather"
	"asusual/cmd/asusual/words"
	"asusual/model/check"
	"asusual/model/finding"
	"asusual/model/fitness"
	"asusual/model/intake"
	"asusual/model/spectrum"
	"asusual/monitor"
	"asusual/monitor/history"
)

type instrumentOptions struct {
	spectraOptions
	reference string
}

func (a *app) instrumentCommand() *cobra.Command {
	var o instrumentOptions
	c := &cobra.Command{
		Use:  "instrument",
		RunE: func(c *cobra.Command, args []string) error { return a.instrument(c.Context(), args, o) },
	}
	o.addValues(c.Flags())
	o.addLine(c.Flags())
	c.Flags().StringVar(&o.reference, "reference", "", "the reference `FILE` to lay beside the detector (default that of the line)")
	return c
}

// An examined is what the instrument's own spectra say of it.
type examined struct {
	zone       *time.Location
	counts     map[check.Role]int
	from, to   time.Time
	state      fitness.State
	since      time.Time
	reasons    []finding.Finding
	latest     []check.Result
	all        []check.Result
	exposure   time.Duration // the longest integration time that the files of production say
	detector   []finding.Finding
	unreadable []*spectrum.Unreadable
}

func (a *app) instrument(ctx context.Context, paths []string, o instrumentOptions) error {
	c, err := a.config()
	if err != nil {
		return err
	}
	l, err := o.over(c)
	if err != nil {
		return err
	}
	e, err := a.recorded(ctx, c, l, paths)
	if err != nil {
		return err
	}
	if e != nil && (o.axis != "" || o.quantity != "") {
		return wrongUse("--axis and --quantity say how files are read; what the watch recorded is shown without: name a folder, too")
	}
	if e == nil && len(l.Instrument.Rules) == 0 {
		return &config.Missing{What: "nothing tells dark, reference and standard spectra from those of production; [[line.instrument.check]] does",
			Try: "[[line.instrument.check]] in " + config.Name + ", with the folder, name or label that tells them; asusual init --print shows some"}
	}
	if e == nil {
		if e, err = a.examine(ctx, c, l, paths); err != nil {
			return err
		}
	}
	if err := a.detector(e, o, l); err != nil {
		return err
	}
	a.status = statusDone
	if e.state == fitness.Bad {
		a.status = statusCannotSay
	}
	w := bufio.NewWriter(a.out)
	switch {
	case a.json:
		err = e.writeJSON(w)
	case !a.quiet:
		err = e.write(w)
	}
	if err != nil {
		return err
	}
	return w.Flush()
}

// recorded returns what a watch has recorded of the instrument, nil where no history has anything of it, or a folder is named.
func (a *app) recorded(ctx context.Context, c *config.Config, l config.Line, paths []string) (e *examined, err error) {
	if len(paths) > 0 {
		return nil, nil
	}
	db, err := a.openHistory(ctx, c)
	if none := (*words.NoHistory)(nil); errors.As(err, &none) {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	defer func() { err = errors.Join(err, db.Close()) }()
	now, ok, err := monitor.FitnessOf(ctx, db, l.Name)
	if err != nil || !ok {
		return nil, err
	}
	e = &examined{zone: c.Zone(), counts: map[check.Role]int{}, latest: now.Latest, state: now.State, since: now.Since, reasons: now.Why}
	q := history.Query{Line: l.Name}
	for own, err := range db.Own(ctx, q) {
		if err != nil {
			return nil, err
		}
		if slices.Contains(history.Gathered(), own.Role) {
			continue
		}
		var role check.Role
		if err := role.UnmarshalText([]byte(own.Role)); err != nil {
			return nil, fmt.Errorf("%s: %s: %w", db.Path(), own.File, err)
		}
		e.counts[role]++
		if e.from.IsZero() {
			e.from = own.Time
		}
		e.to = own.Time
	}
	for m, err := range db.Checks(ctx, q) {
		if err != nil {
			return nil, err
		}
		r := check.Result{Measure: check.Measure(m.Measure), About: m.About, Time: m.Time, Value: m.Value, Unit: m.Unit,
			Limit: check.Pair{Ageing: m.Ageing, Unfit: m.Unfit}, State: fitness.State(m.State)}
		if len(m.Reasons) > 0 {
			r.Finding = m.Reasons[0]
		}
		e.all = append(e.all, r)
	}
	return e, nil
}

// examine reads the spectra and checks those of the instrument in the order of time.
func (a *app) examine(ctx context.Context, c *config.Config, l config.Line, paths []string) (*examined, error) {
	if len(paths) == 0 && l.Watch != "" {
		paths = []string{l.Watch}
		paths = append(paths, l.Instrument.From...)
	}
	if len(paths) == 0 {
		return nil, &config.Missing{What: "no folder of spectra was named", Try: "asusual instrument FOLDER, or watch = \"…\" of the line in " + config.Name}
	}
	src := &input{line: l, opt: gather.Options{Read: readOptions(l, c.Zone())}}
	var err error
	if src.listing, err = gather.List(paths, l.Spectra.Files); err != nil {
		return nil, err
	}
	e := &examined{zone: c.Zone(), counts: map[check.Role]int{}}
	var list []checked
	err = a.read(ctx, src, "reading", func(b gather.Batch) error {
		e.unreadable = append(e.unreadable, b.Unreadable...)
		for _, s := range b.Spectra {
			role := l.Instrument.Rules.Of(s)
			e.counts[role]++
			if role != check.Sample {
				list = append(list, checked{role, s})
			} else {
				e.exposure = max(e.exposure, s.Exposure)
			}
		}
		return nil
	})
	if err != nil {
		return nil, err
	}
	if len(list) == 0 {
		return nil, fmt.Errorf("none of %s is a dark, reference or standard by the rules of [[line.instrument.check]]", words.Spectra(e.counts[check.Sample]))
	}
	slices.SortStableFunc(list, func(x, y checked) int { // a dark before the reference that it was taken for
		return cmp.Or(x.Time.Compare(y.Time), cmp.Compare(x.role, y.role), cmp.Compare(x.File, y.File), cmp.Compare(x.Row, y.Row))
	})
	in, err := intake.New(intakeNow(l.Instrument, a.now()), check.BookState{})
	if err != nil {
		return nil, err
	}
	for _, s := range list {
		got, err := in.Take(s.Spectrum)
		if err != nil {
			e.unreadable = append(e.unreadable, &spectrum.Unreadable{File: s.File, Row: s.Row, Reason: err.Error()})
		}
		e.all = append(e.all, got.Results...)
	}
	book := in.Checks()
	e.from, e.to = list[0].Time, list[len(list)-1].Time
	e.state, e.since, e.reasons = book.Instrument()
	e.latest = book.State.Latest
	return e, nil
}

// write says to a person how the instrument stands.
func (e *examined) write(w io.Writer) error {
	text := "The instrument is " + string(e.state)
	if !e.since.IsZero() {
		text += ", since " + words.Moment(e.since.In(e.zone))
	}
	if began := ageingSince(e.all); e.state == fitness.Bad && !began.IsZero() && began.Before(e.since) {
		text += ", and not fit since " + words.Moment(began.In(e.zone))
	}
	fmt.Fprintf(w, "%s.\n", text)
	for _, r := range slices.Concat(e.reasons, e.detector) {
		fmt.Fprintf(w, "  %s\n", r)
	}
	fmt.Fprint(w, words.Caution("  ", e.reasons...))
	fmt.Fprintf(w, "\n%s, %s and %s", words.Count(e.counts[check.Dark], "dark spectrum", "dark spectra"),
		words.Count(e.counts[check.Reference], "reference", "references"), words.Count(e.counts[check.Standard], "standard", "standards"))
	if !e.from.IsZero() {
		fmt.Fprintf(w, ", %s", words.Between(e.from.In(e.zone), e.to.In(e.zone)))
	}
	fmt.Fprintln(w)
	t := tabwriter.NewWriter(w, 0, 4, 2, ' ', 0)
	for _, r := range e.latest {
		switch {
		case r.Measure == check.NotMeasured || r.State == "" && r.Finding.Kind != "":
			fmt.Fprintf(t, "  %s\t%s\t–\t\t%s\n", r.Measure, r.About, "cannot be told")
		case r.State == "":
			fmt.Fprintf(t, "  %s\t%s\t–\t\t%s\n", r.Measure, r.About, "among the first")
		default:
			fmt.Fprintf(t, "  %s\t%s\t%.3g %s\tlimit %.3g\t%s\n", r.Measure, r.About, r.Value, r.Unit, r.Limit.Next(r.Value), r.State)
		}
	}
	if err := t.Flush(); err != nil {
		return err
	}
	writeUnreadable(w, e.unreadable, gather.Count(e.unreadable))
	return nil
}

// ageingSince returns when the stretch began in which the checks found the instrument not fit and which lasts; zero where it is fit.
func ageingSince(all []check.Result) (since time.Time) {
	type which struct {
		check.Measure
		about string
	}
	latest := map[which]fitness.State{}
	for i, r := range all {
		latest[which{r.Measure, r.About}] = r.State
		if i+1 < len(all) && all[i+1].Time.Equal(r.Time) {
			continue // of the same spectrum
		}
		switch now := check.Worst(slices.Collect(maps.Values(latest))...); {
		case now != fitness.Ageing && now != fitness.Bad:
			since = time.Time{}
		case since.IsZero():
			since = r.Time
		}
	}
	return since
}

// The lines that instrument --json writes. Their fields are a promise: new ones may come after them, none goes or changes.
type (
	checkLine struct {
		Kind    string        `json:"kind"` // check
		Measure check.Measure `json:"measure"`
		About   string        `json:"about"`
		Time    *time.Time    `json:"time"`
		Value   *float64      `json:"value"` // null where it could not be told
		Unit    string        `json:"unit"`
		Ageing  float64       `json:"ageing"` // the limits
		Unfit   float64       `json:"unfit"`
		State   fitness.State `json:"state"` // "" where it could not be told
		Reason  string        `json:"reason,omitempty"`
	}
	instrumentLine struct {
		Kind       string         `json:"kind"` // instrument
		State      fitness.State  `json:"state"`
		Since      *time.Time     `json:"since"`
		Reasons    []string       `json:"reasons"`
		Detector   []string       `json:"detector"`
		Spectra    map[string]int `json:"spectra"` // by role
		Unreadable int            `json:"unreadable"`
		Ageing     *time.Time     `json:"ageing_since"` // since when the checks find it not fit; null while they do
		From       *time.Time     `json:"from"`         // of its spectra
		To         *time.Time     `json:"to"`
	}
)

// writeJSON writes one object a line: every result in the order of time, what could not be read, and how the instrument stands.
func (e *examined) writeJSON(w io.Writer) error {
	moment := func(t time.Time) *time.Time {
		if t.IsZero() {
			return nil
		}
		t = t.In(e.zone)
		return &t
	}
	text := func(fs []finding.Finding) []string {
		out := []string{}
		for _, f := range fs {
			out = append(out, f.String())
		}
		return out
	}
	for _, r := range e.all {
		line := checkLine{Kind: "check", Measure: r.Measure, About: r.About, Time: moment(r.Time), Unit: r.Unit, Ageing: r.Limit.Ageing, Unfit: r.Limit.Unfit, State: r.State}
		if r.State != "" && !math.IsNaN(r.Value) {
			line.Value = &r.Value
		}
		if r.Finding.Kind != "" {
			line.Reason = r.Finding.String()
		}
		if err := writeJSON(w, line); err != nil {
			return err
		}
	}
	for _, u := range e.unreadable {
		if err := writeJSON(w, unreadableJSON(u)); err != nil {
			return err
		}
	}
	spectra := map[string]int{}
	for role, n := range e.counts {
		spectra[role.String()] = n
	}
	return writeJSON(w, instrumentLine{Kind: "instrument", State: e.state, Since: moment(e.since), Reasons: text(e.reasons),
		Detector: text(e.detector), Spectra: spectra, Unreadable: gather.Count(e.unreadable), Ageing: moment(ageingSince(e.all)), From: moment(e.from), To: moment(e.to)})
}
