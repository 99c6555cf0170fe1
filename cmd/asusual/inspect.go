package main

import (
	"context"
	"encoding/json"
	"fmt"
	"io"
	"strings"
	"text/tabwriter"
	"time"

	"github.com/spf13/cobra"

	"asusual/cmd/asusual/gather"
	"asusual/cmd/asusual/words"
	"asusual/model/check"
	"asusual/model/spectrum"
)

func (a *app) inspectCommand() *cobra.Command {
	var o spectraOptions
	c := &cobra.Command{
		Use:  "inspect",
		Args: cobra.MinimumNArgs(1),
		RunE: func(c *cobra.Command, args []string) error { return a.inspect(c.Context(), args, o) },
	}
	o.add(c.Flags())
	return c
}

func (a *app) inspect(ctx context.Context, paths []string, o spectraOptions) error {
	c, err := a.config()
	if err != nil {
		return err
	}
	if len(c.Lines) > 1 && o.line == "" {
		c.Lines = nil // files from anywhere belong to no line until somebody says so
	}
	l, err := o.over(c)
	if err != nil {
		return err
	}
	src, err := a.input(c, l, paths)
	if err != nil {
		return err
	}
	var v gather.Survey
	var use usability
	if err := use.begin(src); err != nil {
		return err
	}
	if use.lights != nil {
		if err := use.lights.fill(ctx, a, src); err != nil {
			return err
		}
	}
	err = a.read(ctx, src, "reading", func(b gather.Batch) error {
		v.Add(b)
		use.take(b)
		if a.json {
			return writeInspected(a.out, b)
		}
		return nil
	})
	if err != nil {
		return err
	}
	v.Finish()
	if a.json {
		err = writeJSON(a.out, surveyJSON(&v, &use, len(src.listing.Ignored)))
	} else {
		err = writeSurvey(a.out, &v, &use, src, c.Zone())
	}
	if err == nil {
		err = noneReadable(strings.Join(paths, ", "), &v, v.Files)
	}
	if err == nil && v.Spectra == 0 {
		a.status = statusFailed
	}
	return err
}

// writeJSON writes v as one line.
func writeJSON(w io.Writer, v any) error {
	b, err := json.Marshal(v)
	if err != nil {
		return err
	}
	_, err = w.Write(append(b, '\n'))
	return err
}

// writeInspected writes what a batch has that could not be read, and the file when it ends.
func writeInspected(w io.Writer, b gather.Batch) error {
	for _, u := range b.Unreadable {
		if err := writeJSON(w, unreadableJSON(u)); err != nil {
			return err
		}
	}
	if !b.Last || b.Info.Format == "" {
		return nil
	}
	return writeJSON(w, struct {
		Kind string `json:"kind"`
		File string `json:"file"`
		spectrum.Info
	}{"file", b.File.Path, b.Info})
}

// An unreadable is a file, or a part of one, that could not be read, as other programs read it.
type unreadable struct {
	Kind   string `json:"kind"` // unreadable
	File   string `json:"file"`
	Row    int    `json:"row,omitempty"`
	Line   int    `json:"line,omitempty"`
	Reason string `json:"reason"`
	Count  int    `json:"count,omitempty"` // how many rows it stands for, where more than one
}

func unreadableJSON(u *spectrum.Unreadable) unreadable {
	n := 0
	if u.More > 0 {
		n = 1 + u.More
	}
	return unreadable{"unreadable", u.File, u.Row, u.Line, u.Reason, n}
}

func surveyJSON(v *gather.Survey, use *usability, ignored int) any {
	type run struct {
		Name    string     `json:"name"`
		Spectra int        `json:"spectra"`
		From    *time.Time `json:"from"`
		To      *time.Time `json:"to"`
	}
	runs := []run{}
	for _, r := range v.Runs {
		runs = append(runs, run{r.Name, r.Spectra, orNull(r.From), orNull(r.To)})
	}
	var own reasons
	if use.lights != nil {
		own = use.lights.bad
	}
	return struct {
		Kind       string     `json:"kind"`
		Files      int        `json:"files"`
		Spectra    int        `json:"spectra"`
		Unreadable int        `json:"unreadable"`
		Ignored    int        `json:"ignored"`
		From       *time.Time `json:"from"`
		To         *time.Time `json:"to"`
		Runs       []run      `json:"runs"`
		Dark       int        `json:"dark"` // the instrument's own spectra, by the configuration
		Reference  int        `json:"reference"`
		Standard   int        `json:"standard"`
		Unusable   int        `json:"unusable"`     // the others that can be neither learned from nor judged
		Why        []string   `json:"unusable_why"` // each reason once
		OwnBad     int        `json:"own_unusable"` // of the instrument's own, those of no use to it
		OwnWhy     []string   `json:"own_unusable_why"`
	}{"summary", v.Files, v.Spectra, v.Bad, ignored, orNull(v.From), orNull(v.To), runs,
		use.own[check.Dark], use.own[check.Reference], use.own[check.Standard], use.not.n, use.not.whys(), own.n, own.whys()}
}

// orNull returns nil for a time that is not known.
func orNull(t time.Time) *time.Time {
	if t.IsZero() {
		return nil
	}
	return &t
}

// maxRows is how many runs, and how many troubles, are written to a person at most; --json writes all.
const maxRows = 40

func writeSurvey(w io.Writer, v *gather.Survey, use *usability, src *input, zone *time.Location) error {
	t := tabwriter.NewWriter(w, 0, 4, 2, ' ', 0)
	fmt.Fprintf(t, "%s in %s\n", words.Spectra(v.Spectra), words.Count(v.Files, "file", "files"))
	for _, k := range v.Kinds {
		if len(v.Kinds) > 1 {
			fmt.Fprintf(t, "\n%s, such as %s\n", words.Count(k.Files, "file", "files"), k.First)
		}
		fmt.Fprintf(t, "  format\t%s\n  axis\t%s\n  quantity\t%s\n  time\t%s\n", formatWords(k.Info), axisWords(k.Info), quantityWords(k.Info), timeWords(k.Info))
		if len(k.Ignored) > 0 {
			fmt.Fprintf(t, "  not read\tcolumns %s\n", words.List(k.Ignored))
		}
	}
	if !v.From.IsZero() {
		fmt.Fprintf(t, "\nfrom %s to %s\n", words.Moment(v.From.In(zone)), words.Moment(v.To.In(zone)))
	}
	if v.Timeless > 0 {
		fmt.Fprintf(t, "%s without a time\n", words.Count(v.Timeless, "spectrum is", "spectra are"))
	}
	if v.Spectra > 0 {
		fmt.Fprintf(t, "\n%s\n", words.Count(len(v.Runs), "run", "runs"))
	}
	for i, r := range v.Runs {
		if i == maxRows {
			fmt.Fprintf(t, "  … and %d more\n", len(v.Runs)-i)
			break
		}
		when := ""
		if !r.From.IsZero() {
			when = words.Between(r.From.In(zone), r.To.In(zone))
		}
		fmt.Fprintf(t, "  %s\t%s\t%s\n", r.Name, words.Spectra(r.Spectra), when)
	}
	if err := t.Flush(); err != nil {
		return err
	}
	use.write(w)
	writeUnreadable(w, v.Unreadable, v.Bad)
	if n := len(src.listing.Ignored); n > 0 {
		fmt.Fprintf(w, "\n%s looked at: hidden, temporary, or not of the patterns in the configuration\n", words.Count(n, "file was not", "files were not"))
	}
	return nil
}

func formatWords(i spectrum.Info) string {
	text := string(i.Format)
	if i.Delimiter != "" {
		text += ", " + i.Delimiter + " between"
	}
	switch i.Decimal {
	case ".":
		text += ", decimal point"
	case ",":
		text += ", decimal comma"
	}
	return text
}

func axisWords(i spectrum.Info) string {
	if n, _, ok := strings.Cut(i.Axis, " channels"); ok && i.Quantity == spectrum.Interferogram {
		return n + " points of path difference"
	}
	return i.Axis + known(i.UnitFrom)
}

func quantityWords(i spectrum.Info) string {
	text := i.Quantity.String()
	if i.Percent {
		text += " in percent"
	}
	return text + known(i.QuantityFrom)
}

func timeWords(i spectrum.Info) string {
	switch i.TimeFrom {
	case spectrum.TimeHeader:
		if i.TimeColumn != "" {
			return "from column " + i.TimeColumn
		}
		return "from the header"
	case spectrum.TimeName:
		return "from the file's name"
	case spectrum.TimeModified:
		return "when the file was last written"
	}
	return "none"
}

// known says how something is known, where a person should look twice.
func known(k spectrum.Known) string {
	switch k {
	case spectrum.Guessed:
		return ", guessed from the numbers: say it with an option if this is wrong"
	case spectrum.NotKnown:
		return ", not known"
	}
	return ""
}
