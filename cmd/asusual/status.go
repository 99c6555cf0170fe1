package main

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"slices"
	"text/tabwriter"
	"time"

	"github.com/spf13/cobra"

	"asusual/cmd/asusual/config"
	"asusual/cmd/asusual/words"
	"asusual/model/alarm"
	"asusual/model/verdict"
	"asusual/monitor"
	"asusual/monitor/history"
	"asusual/monitor/keep"
)

type statusOptions struct{ line string }

func (a *app) statusCommand() *cobra.Command {
	var o statusOptions
	c := &cobra.Command{
		Use:  "status",
		Args: cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error { return a.tellStatus(c.Context(), o) },
	}
	c.Flags().StringVar(&o.line, "line", "", "`NAME` of the line, where the configuration has several (default all of them)")
	return c
}

// silentAfter is how old a heartbeat may be: a watch writes one every minute, and two may be missed where a disk is slow.
const silentAfter = 3 * time.Minute

// A pulse says whether a watch lives, from what it wrote last.
type pulse struct {
	age     time.Duration // of the heartbeat
	watched bool
	words   string
}

// pulseOf takes the pulse of a watch at a time. free says that the lock of its history is held by nobody, as after a kill.
func pulseOf(b monitor.Bulletin, free bool, now time.Time, zone *time.Location) pulse {
	p := pulse{age: now.Sub(b.Heartbeat)}
	at := words.Moment(b.Heartbeat.In(zone))
	switch {
	case b.Stopped:
		p.words = "nobody watches: the watch was stopped, " + at
	case free:
		p.words = fmt.Sprintf("nobody watches: the watch of process %d ended without a word, after %s", b.PID, at)
	case p.age > silentAfter:
		p.words = "nobody seems to watch: the last sign of life is of " + at + ", " + words.Duration(p.age) + " ago"
	case p.age < -silentAfter:
		p.words = "the last sign of life lies in the future, " + at + ": the clocks of this computer and of the watch differ"
	default:
		p.watched = true
		p.words = fmt.Sprintf("watched by process %d, since %s; last sign of life %s ago", b.PID, words.Moment(b.Started.In(zone)), words.Duration(max(p.age, 0)))
	}
	return p
}

// isFree reports whether the lock of a history in a file is there, and nobody holds it.
func isFree(path string) bool {
	if history.IsServer(path) {
		return false
	}
	if _, err := os.Stat(history.LockOf(path)); err != nil {
		return false // perhaps it is on another computer
	}
	_, held, err := keep.Look(history.LockOf(path))
	return err == nil && !held
}

// tellStatus says how the lines stand, by the state file of the watch.
func (a *app) tellStatus(_ context.Context, o statusOptions) error {
	c, err := a.config()
	if err != nil {
		return err
	}
	if o.line != "" {
		l, err := c.Find(o.line)
		if err != nil {
			return err
		}
		o.line = l.Name
	}
	if c.Signal.State == "" {
		return &config.Missing{What: "no state file is known, since there is no configuration", Try: "--config FILE, with that of the watch"}
	}
	b, err := monitor.ReadBulletin(c.Signal.State)
	if errors.Is(err, fs.ErrNotExist) {
		return &words.NoWatch{Path: c.Signal.State}
	}
	if err != nil {
		return err
	}
	if o.line != "" {
		kept := b.Lines[:0]
		for _, s := range b.Lines {
			if s.Line == o.line {
				kept = append(kept, s)
			}
		}
		b.Lines = kept
	}
	now := a.now()
	for i, s := range b.Lines {
		b.Lines[i] = s.At(now)
	}
	b.Lines = withUnwatched(b.Lines, c.Lines, o.line)
	p := pulseOf(b, isFree(c.History), now, c.Zone())
	a.status = statusOf(b, p)
	if a.json {
		return a.statusJSON(b, p, c.Zone())
	}
	if a.quiet {
		return nil
	}
	for _, s := range b.Lines {
		if err := a.sayStatus(s, now, c.Zone()); err != nil {
			return err
		}
	}
	if b.Server != nil {
		fmt.Fprintf(a.out, "%s\n", serverWords(*b.Server, c.Zone()))
	}
	_, err = fmt.Fprintf(a.out, "%s\n", p.words)
	return err
}

// withUnwatched adds the lines of the configuration of which the state file says nothing, of all of them or of the only one asked for:
// the watch may have been told to watch others, or a line have been added since it began.
func withUnwatched(told []monitor.Status, all []config.Line, only string) []monitor.Status {
	for _, l := range all {
		known := slices.ContainsFunc(told, func(s monitor.Status) bool { return s.Line == l.Name })
		if !known && (only == "" || only == l.Name) {
			told = append(told, monitor.Status{Line: l.Name, Verdict: verdict.CannotSay.String(), Instrument: "unknown",
				Trouble: "no watch has told of it; asusual watch without --line watches all, and one that runs learns of a new line when it begins anew"})
		}
	}
	return told
}

// serverWords says how the server of the history stood when the watch gave its last sign of life.
func serverWords(s monitor.ServerStatus, zone *time.Location) string {
	text := "history at " + s.Name
	if !s.Away.IsZero() {
		text += ", away since " + words.Moment(s.Away.In(zone)) + " (" + s.Trouble + ")"
	}
	switch {
	case s.Waiting > 0:
		return text + "; " + words.Count(s.Waiting, "spectrum waits", "spectra wait") + " here"
	case s.Away.IsZero():
		return text + ", which has everything"
	}
	return text
}

// statusOf returns the exit status: what has changed before what cannot be said. Where nobody watches, nothing can be said.
func statusOf(b monitor.Bulletin, p pulse) int {
	if !p.watched || len(b.Lines) == 0 {
		return statusCannotSay
	}
	worst := statusDone
	for _, s := range b.Lines {
		switch of := ofVerdict(s.Verdict); {
		case of == statusChanged, of != statusDone && worst == statusDone:
			worst = of
		}
	}
	return worst
}

func (a *app) sayStatus(s monitor.Status, now time.Time, zone *time.Location) error {
	t := tabwriter.NewWriter(a.out, 0, 4, 2, ' ', 0)
	fmt.Fprintf(t, "%s: %s\n", s.Line, statusSentence(s, zone))
	for _, f := range s.Why {
		fmt.Fprintf(t, "  %s\n", f)
	}
	if s.Trouble != "" {
		fmt.Fprintf(t, "  trouble: %s\n", s.Trouble)
	}
	if !s.LastSpectrum.IsZero() {
		fmt.Fprintf(t, "  last spectrum\t%s, %s ago, %s\n", s.LastSpectrum.In(zone).Format(time.DateTime), words.Duration(max(now.Sub(s.LastSpectrum), 0)), placeOf(s))
	}
	behind := "none waiting"
	if s.Behind > 0 {
		behind = words.Count(s.Behind, "file", "files") + " waiting, " + words.Duration(time.Duration(s.BehindBy*float64(time.Second))) + " behind"
	}
	fmt.Fprintf(t, "  pace\t%s spectra a second, %s\n", words.Figure(s.Rate), behind)
	fmt.Fprintf(t, "  since the start\t%s, %s unreadable, %s left out as judged before\n", words.Spectra(s.Spectra),
		words.Number(s.Unreadable), words.Number(s.Copies))
	since := ""
	if !s.InstrumentSince.IsZero() {
		since = ", since " + words.Moment(s.InstrumentSince.In(zone))
	}
	fmt.Fprintf(t, "  instrument\t%s%s\n", s.Instrument, since)
	for _, f := range s.InstrumentWhy {
		fmt.Fprintf(t, "  \t%s\n", f)
	}
	fmt.Fprint(t, words.Caution("  \t", slices.Concat(s.Why, s.InstrumentWhy)...))
	fmt.Fprintf(t, "  alarm\t%s\n", alarmWords(s.Alarm, zone))
	fmt.Fprintf(t, "  reference\t%s\n", s.Reference)
	return t.Flush()
}

func statusSentence(s monitor.Status, zone *time.Location) string {
	switch ofVerdict(s.Verdict) {
	case statusCannotSay:
		if s.LastVerdict == "" {
			return "cannot say."
		}
		text := "cannot say: nothing is judged"
		if !s.Since.IsZero() {
			text += " since " + words.Moment(s.Since.In(zone))
		}
		return text + "; what was said last is: " + s.LastVerdict + "."
	case statusChanged:
		since := s.ChangedSince
		if since.IsZero() {
			since = s.Since
		}
		return "the process has changed, since about " + words.Moment(since.In(zone)) + "."
	case statusDone:
		return "as usual, since " + words.Moment(s.Since.In(zone)) + "."
	}
	return "cannot say."
}

// placeOf says where the last spectrum lay.
func placeOf(s monitor.Status) string {
	text := fmt.Sprintf("distance %.2f", s.Distance)
	if s.Condition != "" {
		text += ", " + s.Condition
	}
	if s.Group != "" {
		text += ", " + s.Group
	}
	return text
}

// alarmWords says how an alarm stands.
func alarmWords(m monitor.Alarm, zone *time.Location) string {
	text := m.State.String()
	if m.State == alarm.Normal {
		return text
	}
	text += " since " + words.Moment(m.Since.In(zone))
	if m.State == alarm.Shelved {
		text += " until " + words.Moment(m.Until.In(zone))
	}
	if m.Who != "" {
		text += " by " + m.Who + ": " + m.Why
	}
	return text
}

func (a *app) statusJSON(b monitor.Bulletin, p pulse, zone *time.Location) error {
	for _, s := range b.Lines {
		if err := writeJSON(a.out, struct {
			Kind         string     `json:"kind"`
			Line         string     `json:"line"`
			Verdict      string     `json:"verdict"`
			Since        *time.Time `json:"since"`
			ChangedSince *time.Time `json:"changed_since"`
			Distance     float64    `json:"distance"`
			Condition    string     `json:"condition"`
			Group        string     `json:"group"`
			Reasons      []string   `json:"reasons"`
			Instrument   string     `json:"instrument"`
			Alarm        string     `json:"alarm"`
			LastSpectrum *time.Time `json:"last_spectrum"`
			Rate         float64    `json:"spectra_a_second"`
			Behind       int        `json:"behind"`
			BehindBy     float64    `json:"behind_by"`
			Spectra      int        `json:"spectra"`
			Unreadable   int        `json:"unreadable"`
			Reference    string     `json:"reference"`
			Trouble      string     `json:"trouble"`
			Copies       int        `json:"copies"`       // left out as judged before
			Own          int        `json:"own"`          // spectra of the instrument's own
			LastVerdict  string     `json:"last_verdict"` // what was said last, which does not hold where verdict is another
		}{"status", s.Line, s.Verdict, orNull(s.Since.In(zone)), orNull(s.ChangedSince.In(zone)), s.Distance, s.Condition, s.Group, sentences(s.Why),
			s.Instrument, s.Alarm.State.String(), orNull(s.LastSpectrum.In(zone)), s.Rate, s.Behind, s.BehindBy, s.Spectra, s.Unreadable, s.Reference, s.Trouble, s.Copies, s.Own,
			cmp.Or(s.LastVerdict, s.Verdict)}); err != nil {
			return err
		}
	}
	return writeJSON(a.out, struct {
		Kind      string    `json:"kind"`
		Watched   bool      `json:"watched"`
		PID       int       `json:"pid"`
		Started   time.Time `json:"started"`
		Heartbeat time.Time `json:"heartbeat"`
		Age       float64   `json:"heartbeat_age"` // s
		Stopped   bool      `json:"stopped"`

		Server *monitor.ServerStatus `json:"server,omitempty"` // of the history
	}{"watch", p.watched, b.PID, b.Started.In(zone), b.Heartbeat.In(zone), p.age.Seconds(), b.Stopped, b.Server})
}
