package main

import (
	"bufio"
	"cmp"
	"context"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"asusual/cmd/asusual/config"
	"asusual/cmd/asusual/words"
	"asusual/model"
	"asusual/monitor/history"
	"asusual/report"
)

type exportOptions struct {
	line, from, to, format, month string
}

func (a *app) exportCommand() *cobra.Command {
	var o exportOptions
	c := &cobra.Command{
		Use:  "export",
		Args: cobra.MaximumNArgs(1),
		RunE: func(c *cobra.Command, args []string) error {
			switch {
			case o.month != "" && len(args) == 1:
				return a.exportMonth(c.Context(), o, args[0])
			case o.month != "":
				return wrongUse("--month needs the folder to write the month to")
			case len(args) == 1:
				return wrongUse("%s: what is this for? a month is written to a folder with --month 2026-11", args[0])
			}
			return a.export(c.Context(), o)
		},
	}
	f := c.Flags()
	a.addHistory(f)
	f.StringVar(&o.from, "from", "", "the first day or moment `T` (default all that there is)")
	f.StringVar(&o.to, "to", "", "the day `T`, included, or the moment before which to stop")
	f.StringVar(&o.month, "month", "", "the month `YYYY-MM`: everything that history holds of it, as CSV files in a folder of its own")
	f.StringVar(&o.format, "format", "csv", "the `FORMAT`: csv or json")
	f.StringVar(&o.line, "line", "", "`NAME` of the line (default all lines)")
	return c
}

func (a *app) export(ctx context.Context, o exportOptions) (err error) {
	c, err := a.config()
	if err != nil {
		return err
	}
	q, err := o.query(c)
	if err != nil {
		return err
	}
	var write func(history.Record) error
	var finish func() error
	switch {
	case o.format == "json" || a.json:
		w := bufio.NewWriter(a.out)
		write = func(r history.Record) error { return writeJSON(w, exportLine(r, c.Zone())) }
		finish = w.Flush
	case o.format == "csv":
		if write, finish, err = csvWriter(a.out, c.Zone()); err != nil {
			return err
		}
	default:
		return wrongUse("--format: %q is not csv or json", o.format)
	}
	db, err := a.openHistory(ctx, c)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, db.Close()) }()
	lines, err := o.lines(ctx, c, db)
	if err != nil {
		return err
	}
	for _, line := range lines {
		q.Line = line
		for r, err := range db.Spectra(ctx, q) {
			if err == nil {
				err = write(r)
			}
			if err != nil && ctx.Err() != nil {
				err = &words.TableHalf{}
			}
			if err != nil {
				return cmp.Or(err, finish()) // with the rows that there were
			}
		}
	}
	return finish()
}

// query returns the period of the options.
func (o exportOptions) query(c *config.Config) (q history.Query, err error) {
	if o.line != "" && len(c.Lines) > 0 {
		if _, err := c.Find(o.line); err != nil {
			return q, err
		}
	}
	plan := c.Plan()
	if o.from != "" {
		p, err := plan.When(o.from)
		if err != nil {
			return q, wrongUse("--from: %v", err)
		}
		q.From = p.From
	}
	if o.to != "" {
		p, err := plan.When(o.to)
		if err != nil {
			return q, wrongUse("--to: %v", err)
		}
		q.To = p.To
	}
	if !q.From.IsZero() && !q.To.IsZero() && !q.To.After(q.From) {
		return q, wrongUse("--to %s is not after --from %s", o.to, o.from)
	}
	return q, nil
}

// lines returns the lines that are meant, by the names that the history has for them: the one that was named, without regard to case, or all.
func (o exportOptions) lines(ctx context.Context, c *config.Config, db *history.DB) ([]string, error) {
	there, err := db.Lines(ctx)
	if err != nil || o.line == "" {
		return there, err
	}
	if slices.Contains(there, o.line) {
		return []string{o.line}, nil
	}
	if i := slices.IndexFunc(there, func(name string) bool { return strings.EqualFold(name, o.line) }); i >= 0 {
		return there[i : i+1], nil
	}
	if l, err := c.Find(o.line); err == nil { // nothing came yet
		return []string{l.Name}, nil
	}
	return nil, &words.NoLineThere{Line: o.line, History: db.Path(), There: there}
}

// openHistory opens the history of the configuration to be read.
func (a *app) openHistory(ctx context.Context, c *config.Config) (*history.DB, error) {
	where := c.Where()
	if a.historyFile != "" {
		where = a.historyFile
	}
	db, err := history.Read(ctx, where)
	if errors.Is(err, history.ErrAway) {
		if _, none := os.Stat(c.History); none == nil {
			fmt.Fprintf(a.errOut, "asusual: %v; this is what is kept on this computer, in %s\n", err, c.History)
			where = c.History
			db, err = history.Read(ctx, where)
		}
	}
	if errors.Is(err, fs.ErrNotExist) {
		return nil, noHistory(where)
	}
	return db, err
}

// noHistory says that there is none there, and of a server without its password.
func noHistory(where string) error {
	if history.IsServer(where) {
		where = history.ServerName(where)
	}
	return &words.NoHistory{Path: where}
}

// An exported is one row of an export. The columns of the contract come first; new ones are added after them.
type exported struct {
	Time      time.Time `json:"time"`
	File      string    `json:"file"`
	Row       int       `json:"row"`
	Line      string    `json:"line"`
	Condition string    `json:"condition"`
	T2        *float64  `json:"t2"` // null for one that is unfit
	Q         *float64  `json:"q"`
	Distance  *float64  `json:"distance"`
	Inside    bool      `json:"inside"`
	Verdict   string    `json:"verdict"`
	Run       string    `json:"run"`
	Late      bool      `json:"late"`
	Reference string    `json:"reference"`
	Reasons   []string  `json:"reasons"`
}

func exportLine(r history.Record, zone *time.Location) exported {
	e := exported{
		Time: r.Time.In(zone), File: r.File, Row: r.Row, Line: r.Line, Condition: r.Condition, Inside: r.Inside, Verdict: r.Verdict,
		Run: r.Run, Late: r.Late, Reference: r.Reference, Reasons: sentences(r.Reasons),
	}
	if r.Condition != model.Unfit {
		e.T2, e.Q, e.Distance = &r.T2, &r.Q, &r.Distance
	}
	return e
}

var exportColumns = []string{
	"time", "file", "row", "line", "condition", "t2", "q", "distance", "inside", "verdict", "run", "late", "reference", "reasons",
}

// csvWriter writes the header and returns what writes a row, and what hands on those that are still held.
func csvWriter(w io.Writer, zone *time.Location) (write func(history.Record) error, finish func() error, err error) {
	table := csv.NewWriter(w)
	number := func(v *float64) string {
		if v == nil {
			return ""
		}
		return strconv.FormatFloat(*v, 'g', -1, 64)
	}
	row := make([]string, len(exportColumns))
	write = func(r history.Record) error {
		e := exportLine(r, zone)
		row = append(row[:0], e.Time.Format(time.RFC3339Nano), report.Cell(e.File), strconv.Itoa(e.Row), report.Cell(e.Line), report.Cell(e.Condition),
			number(e.T2), number(e.Q), number(e.Distance), strconv.FormatBool(e.Inside), e.Verdict,
			report.Cell(e.Run), strconv.FormatBool(e.Late), e.Reference, report.Cell(strings.Join(e.Reasons, "; ")))
		return table.Write(row)
	}
	finish = func() error {
		table.Flush()
		return table.Error()
	}
	return write, finish, table.Write(exportColumns)
}
