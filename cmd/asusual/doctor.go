package main

import (
	"bufio"
	"cmp"
	"context"
	"fmt"
	"io"
	"log/slog"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"time"

	"github.com/spf13/cobra"

	"asusual/cmd/asusual/config"
	"asusual/cmd/asusual/words"
	"asusual/monitor/history"
	"asusual/monitor/keep"
	"asusual/monitor/mqtt"
)

type doctorOptions struct {
	line      string
	writeTest bool
}

func (a *app) doctorCommand() *cobra.Command {
	var o doctorOptions
	c := &cobra.Command{
		Use:  "doctor",
		Args: cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error { return a.doctor(c.Context(), o) },
	}
	c.Flags().StringVar(&o.line, "line", "", "`NAME` of the line (default all lines)")
	c.Flags().BoolVar(&o.writeTest, "write-test", false, "write one hidden file into a watched folder and take it away, to see whether notifications arrive")
	return c
}

// How something was found.
const (
	fine  = "fine"
	look  = "look" // it works, and somebody should look at it
	wrong = "wrong"
)

// A seen is one thing that doctor looked at.
type seen struct {
	Kind  string `json:"kind"` // check
	Line  string `json:"line"` // "" for all lines
	Check string `json:"check"`
	State string `json:"state"` // fine, look or wrong
	Text  string `json:"text"`
	Try   string `json:"try"`
}

// An examination is one run of doctor.
type examination struct {
	*app
	config *config.Config
	opt    doctorOptions
	now    time.Time
	tag    string // of the language
	found  []seen
	pace   map[string]float64 // bytes a day that are written, by the folder that they are written to
}

// doctor looks at the whole set-up and says what is fine, what is not, and what to try.
func (a *app) doctor(ctx context.Context, o doctorOptions) error {
	c, err := a.config()
	if err != nil {
		return err
	}
	lines := c.Lines
	if o.line != "" || len(lines) == 0 {
		l, err := c.Find(o.line)
		if err != nil {
			return err
		}
		lines = []config.Line{l}
	}
	silent := *a
	silent.quiet, silent.out, silent.errOut = true, io.Discard, io.Discard
	e := &examination{app: &silent, config: c, opt: o, now: a.now(), pace: map[string]float64{}}
	if c.Site.Language != nil {
		e.tag = c.Site.Language.Tag
	}
	e.fine("", "config", "file", c.File, "lines", strconv.Itoa(len(c.Lines)), "shifts", strconv.Itoa(len(c.Shifts)))
	e.times()
	e.folders()
	db := e.history(ctx)
	for _, l := range lines {
		e.line(ctx, l, db)
	}
	if db != nil {
		if err := db.Close(); err != nil {
			return err
		}
	}
	e.disks()
	e.signals(ctx)
	e.live(ctx)
	if ctx.Err() != nil {
		return ctx.Err()
	}
	return a.tellDoctor(e)
}

// times looks at what decides which time it is.
func (e *examination) times() {
	zone := e.config.Zone()
	at := e.now.In(zone)
	name, _ := at.Zone()
	if e.config.Site.Zone == nil {
		e.look("", "zone.own", "zone", name, "time", at.Format("15:04"))
	} else {
		e.fine("", "zone", "zone", zone.String(), "time", at.Format("15:04"))
	}
	if len(e.config.Shifts) == 0 {
		e.look("", "shifts.none")
	}
}

// folders looks whether what the watch writes can be written.
func (e *examination) folders() {
	c := e.config
	for _, f := range []struct{ what, path string }{
		{e.say("what.history"), filepath.Dir(c.History)}, {e.say("what.reports"), c.Reports}, {e.say("what.state"), filepath.Dir(c.Signal.State)},
	} {
		folder := nearestFolder(f.path)
		if err := canWrite(folder); err != nil {
			e.wrong("", "folder.bad", "what", f.what, "folder", f.path, "reason", err.Error())
			continue
		}
		e.fine("", "folder", "what", f.what, "folder", f.path)
	}
}

// lasting says how long room lasts, no closer than the pace is known.
func (e *examination) lasting(days float64) string {
	switch {
	case days >= 2*365:
		return e.say("lasts.years")
	case days >= 100:
		days = 10 * math.Floor(days/10)
	case days < 2:
		return e.say("lasts.day")
	}
	return strconv.Itoa(int(days)) + " " + e.say("lasts.days")
}

// nearestFolder returns the folder, or the nearest above it that is there: the watch makes those of the reports.
func nearestFolder(path string) string {
	for {
		if info, err := os.Stat(path); err == nil && info.IsDir() || path == filepath.Dir(path) {
			return path
		}
		path = filepath.Dir(path)
	}
}

// canWrite makes a hidden file in a folder of ours and takes it away.
func canWrite(folder string) error {
	f, err := os.CreateTemp(folder, keep.Prefix+"*")
	if err != nil {
		return err
	}
	return cmp.Or(f.Close(), os.Remove(f.Name()))
}

// history looks at the history and at who has it, and returns it open to be read; nil where it cannot be.
func (e *examination) history(ctx context.Context) *history.DB {
	c := e.config
	switch by, held, err := keep.Look(history.LockOf(c.History)); {
	case err != nil:
		e.look("", "watched.bad", "reason", err.Error())
	case held:
		e.fine("", "watched", "pid", strconv.Itoa(by.PID), "name", by.Name, "since", words.Moment(by.Since.In(c.Zone())))
	default:
		e.look("", "watched.no")
	}
	if c.Server == "" && !exists(c.History) {
		e.look("", "history.none")
		return nil
	}
	if c.Server != "" && !e.server(ctx) {
		return nil
	}
	db, err := history.Read(ctx, c.Where())
	if err != nil {
		e.wrong("", "history.bad", "reason", err.Error(), "hint", words.HintIn(e.tag, err))
		return nil
	}
	if c.Server == "" {
		e.unnamed(ctx, db)
	}
	var from, to time.Time
	for _, l := range c.Lines {
		first, last, ok, err := db.Span(ctx, l.Name)
		if err != nil {
			e.wrong("", "history.bad", "reason", err.Error(), "hint", words.HintIn(e.tag, err))
			return db
		}
		if ok && (from.IsZero() || first.Before(from)) {
			from = first
		}
		if ok && last.After(to) {
			to = last
		}
	}
	if from.IsZero() {
		e.fine("", "history.empty", "file", db.Path())
		return db
	}
	put := []string{"file", db.Path(), "from", words.Moment(from.In(c.Zone())), "to", words.Moment(to.In(c.Zone()))}
	if c.Server != "" {
		e.fine("", "history.there", put...)
	}
	var size int64
	if info, err := os.Stat(c.History); err == nil {
		size = info.Size()
		e.pace[filepath.Dir(c.History)] += float64(size) / max(1, to.Sub(from).Hours()/24)
	}
	if c.Server == "" {
		e.fine("", "history", append(put, "mb", e.figure(float64(size)/1e6))...)
	}
	return db
}

// How much room is little: common practice, no source. A weekend with nobody there has to be outlived.
const (
	lowDays, fullDays   = 30, 3
	lowBytes, fullBytes = 2e9, 200e6
)

// disks looks at the room for what the watch writes and for what the spectrometer writes, against the pace so far.
func (e *examination) disks() {
	var asked []string // one folder a disk
	known := map[string]bool{}
	ask := func(folder string) {
		folder = nearestFolder(folder)
		if known[folder] {
			return // its pace is counted already
		}
		known[folder] = true
		for _, f := range asked {
			if keep.SameDisk(f, folder) {
				e.pace[f] += e.pace[folder]
				return
			}
		}
		asked = append(asked, folder)
	}
	ask(filepath.Dir(e.config.History))
	ask(e.config.Reports)
	for _, l := range e.config.Lines {
		if l.Watch != "" {
			ask(l.Watch)
		}
	}
	for _, folder := range asked {
		free, err := keep.Free(folder)
		if err != nil {
			continue // a system that cannot tell, or a folder of which is said already what is wrong
		}
		room, days := float64(free), float64(lowDays)
		lasts := "–"
		if p := e.pace[folder]; p > 0 {
			days = room / p
			lasts = e.lasting(days)
		}
		put := []string{"free", e.figure(room / 1e9), "folder", folder, "lasts", lasts}
		switch {
		case room < fullBytes || days < fullDays:
			e.wrong("", "disk.full", put...)
		case room < lowBytes || days < lowDays:
			e.look("", "disk.low", put...)
		case lasts == "–":
			e.fine("", "disk.room", put...)
		default:
			e.fine("", "disk", put...)
		}
	}
}

// brokerWait is how long a broker has to answer.
const brokerWait = 5 * time.Second

// signals looks whether those who are told can be told.
func (e *examination) signals(ctx context.Context) {
	opt, err := signals(e.config.Signal, slog.New(slog.DiscardHandler))
	if err != nil {
		e.wrong("", "signal.bad", "reason", err.Error())
		return
	}
	if len(opt.Command) > 0 {
		e.fine("", "signal", "program", opt.Command[0])
	}
	if opt.Broker == nil {
		return
	}
	if isBare(opt.Broker) {
		e.look("", "mqtt.bare", "broker", opt.Broker.Broker)
	}
	if isIdle(e.config.Signal.MQTT) {
		e.look("", "mqtt.trust", "broker", opt.Broker.Broker)
	}
	broker := *opt.Broker
	broker.Client = "" // another name than the watch's, which the broker would throw out
	broker.Wait = brokerWait
	ctx, cancel := context.WithTimeout(ctx, 2*brokerWait)
	defer cancel()
	conn, err := mqtt.Dial(ctx, broker)
	if err != nil {
		e.wrong("", "mqtt.bad", "broker", broker.Broker, "reason", err.Error())
		return
	}
	_ = conn.Close() // it has answered
	e.fine("", "mqtt", "broker", broker.Broker)
}

// tellDoctor says what was found. Its exit status is 1 where something is wrong.
func (a *app) tellDoctor(e *examination) error {
	n := map[string]int{}
	for _, s := range e.found {
		n[s.State]++
	}
	if n[wrong] > 0 {
		a.status = statusFailed
	}
	if a.json {
		for _, s := range e.found {
			if err := writeJSON(a.out, s); err != nil {
				return err
			}
		}
		return writeJSON(a.out, struct {
			Kind  string `json:"kind"`
			Fine  int    `json:"fine"`
			Look  int    `json:"look"`
			Wrong int    `json:"wrong"`
		}{"doctor", n[fine], n[look], n[wrong]})
	}
	title := map[string]string{fine: e.say("fine"), look: e.say("look"), wrong: e.say("wrong")}
	wide := max(len(title[fine]), len(title[look]), len(title[wrong]))
	t := bufio.NewWriter(a.out)
	line := "\x00"
	for _, s := range e.found {
		if a.quiet && s.State == fine {
			continue
		}
		if s.Line != line {
			line = s.Line
			fmt.Fprintf(t, "%s\n", cmp.Or(line, e.say("site")))
		}
		fmt.Fprintf(t, "  %-*s  %s\n", wide, title[s.State], s.Text)
		if s.Try != "" {
			fmt.Fprintf(t, "  %*s  %s: %s\n", wide, "", e.say("try"), s.Try)
		}
	}
	fmt.Fprintf(t, "\n%s\n", e.say("sum", "fine", strconv.Itoa(n[fine]), "look", strconv.Itoa(n[look]), "wrong", strconv.Itoa(n[wrong])))
	return t.Flush()
}
