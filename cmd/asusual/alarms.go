package main

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"text/tabwriter"
	"time"

	"github.com/spf13/cobra"

	"asusual/cmd/asusual/config"
	"asusual/cmd/asusual/words"
	"asusual/model/alarm"
	"asusual/monitor"
	"asusual/monitor/history"
)

// An actOptions says who asks what of an alarm, and why.
type actOptions struct{ line, by, why string }

func (o *actOptions) add(c *cobra.Command) {
	f := c.Flags()
	f.StringVar(&o.by, "by", "", "`NAME` of the person; kept in history")
	f.StringVar(&o.why, "why", "", "the `REASON`; kept in history")
	f.StringVar(&o.line, "line", "", "`NAME` of the line, where the configuration has several")
}

func (a *app) acknowledgeCommand() *cobra.Command {
	var o actOptions
	var log bool
	c := &cobra.Command{
		Use:  "acknowledge",
		Args: cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error {
			if log {
				return a.listActs(c.Context(), o)
			}
			return a.act(c.Context(), o, monitor.Request{Act: monitor.Acknowledged})
		},
	}
	o.add(c)
	c.Flags().BoolVar(&log, "log", false, "list what became of the alarm so far, who did it and why")
	return c
}

func (a *app) shelveCommand() *cobra.Command {
	var o actOptions
	var length time.Duration
	var off bool
	c := &cobra.Command{
		Use:  "shelve",
		Args: cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error {
			switch {
			case off && length != 0:
				return wrongUse("--for and --off exclude each other")
			case off:
				return a.act(c.Context(), o, monitor.Request{Act: monitor.Unshelved})
			case length <= 0 || length > alarm.LongestShelf:
				return wrongUse("--for %v: a shelf takes a time above 0 and of at most %s", length, words.Duration(alarm.LongestShelf))
			}
			return a.act(c.Context(), o, monitor.Request{Act: monitor.Shelved, Until: a.now().Add(length)})
		},
	}
	o.add(c)
	c.Flags().DurationVar(&length, "for", 0, "how long, a `DURATION` such as 30m or 2h; at most a day")
	c.Flags().BoolVar(&off, "off", false, "take the alarm from the shelf before its time is over")
	return c
}

// answerWait is how long the answer of a watch is waited for: it looks several times a second.
const answerWait = 15 * time.Second

// act asks something of the alarm of a line and says what came of it.
func (a *app) act(ctx context.Context, o actOptions, r monitor.Request) error {
	c, l, err := a.lineNamed(o.line)
	if err != nil {
		return err
	}
	switch {
	case o.by == "":
		return wrongUse("--by is missing: who does it?")
	case o.why == "":
		return wrongUse("--why is missing: for what reason?")
	}
	r.Line, r.Who, r.Why = l.Name, o.by, o.why
	ctx, cancel := context.WithTimeout(ctx, answerWait)
	defer cancel()
	done, err := monitor.Ask(ctx, c.History, r)
	if errors.Is(err, fs.ErrNotExist) {
		return &words.NoHistory{Path: c.History}
	}
	if err != nil {
		return err
	}
	return a.tellAct(c, l, done)
}

// listActs lists what became of the alarm of a line, the oldest first.
func (a *app) listActs(ctx context.Context, o actOptions) (err error) {
	c, l, err := a.lineNamed(o.line)
	if err != nil {
		return err
	}
	db, err := a.openHistory(ctx, c)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, db.Close()) }()
	t := tabwriter.NewWriter(a.out, 0, 4, 2, ' ', 0)
	n := 0
	for d, err := range db.Acts(ctx, history.Query{Line: l.Name}) {
		if err == nil && a.json {
			err = a.tellAct(c, l, d)
		}
		if err != nil {
			return err
		}
		n++
		if !a.json {
			fmt.Fprintf(t, "%s\t%s\t%s\t%s\n", d.Time.In(c.Zone()).Format(time.DateTime), actWords(d, c.Zone()), d.Who, d.Why)
		}
	}
	if n == 0 {
		a.say("%s: the alarm was never raised.", l.Name)
	}
	return t.Flush()
}

// actWords says what became of an alarm.
func actWords(d history.Act, zone *time.Location) string {
	text := d.Act
	if !d.Until.IsZero() {
		text += " until " + words.Moment(d.Until.In(zone))
	}
	if d.Refused != "" {
		text += ", refused: " + d.Refused
	}
	return text
}

func (a *app) tellAct(c *config.Config, l config.Line, done history.Act) error {
	if a.json {
		return writeJSON(a.out, struct {
			Kind    string     `json:"kind"`
			Line    string     `json:"line"`
			Time    time.Time  `json:"time"`
			Act     string     `json:"act"`
			Who     string     `json:"who"`
			Why     string     `json:"why"`
			Until   *time.Time `json:"until"`
			State   string     `json:"state"`
			Refused string     `json:"refused"`
		}{"act", l.Name, done.Time.In(c.Zone()), done.Act, done.Who, done.Why, orNull(done.Until.In(c.Zone())), done.State, done.Refused})
	}
	a.say("%s: %s by %s; the alarm is now %s.", l.Name, actWords(done, c.Zone()), done.Who, done.State)
	return nil
}
