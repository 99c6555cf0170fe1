package main

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"strconv"
	"strings"
	"time"

	"asusual/cmd/asusual/words"
	"asusual/monitor/history"
)

// How far the server's clock may be from that of this computer, as common practice has it, no source: what is kept carries the times
// of the line's computer, but who reads it at the server asks by the server's day. A minute is what doctor allows other clocks, too.
const (
	clockOff = 2 * time.Second
	clockBad = aheadBy
)

// serverWait is how long a server has to answer.
const serverWait = 15 * time.Second

// server looks at the server that the history is on, and reports whether a history can be read there.
func (e *examination) server(ctx context.Context) bool {
	if history.Bare(e.config.Server) {
		e.look("", "server.bare", "server", history.ServerName(e.config.Server))
	}
	ctx, cancel := context.WithTimeout(ctx, serverWait)
	defer cancel()
	x, err := history.Examine(ctx, e.config.Server)
	if errors.Is(err, context.DeadlineExceeded) {
		err = fmt.Errorf("%s: %w: no answer within %v", x.Name, history.ErrAway, serverWait)
	}
	if err != nil {
		e.wrong("", "server.bad", "reason", err.Error(), "hint", cmp.Or(words.HintIn(e.tag, err), e.say("server.log")))
		e.waiting(ctx)
		return false
	}
	e.fine("", "server", "server", x.Name, "software", x.Software, "user", x.User)
	e.serverClock(x)
	if x.Standby {
		e.wrong("", "server.standby", "server", x.Name)
	}
	if x.Encoding != "UTF8" {
		e.wrong("", "server.encoding", "encoding", x.Encoding)
	}
	version := []string{"place", x.Place, "version", strconv.Itoa(x.Version), "newest", strconv.Itoa(x.Newest)}
	switch {
	case x.Version == 0:
		e.look("", "server.none", version...)
	case x.Version > x.Newest:
		e.wrong("", "server.newer", version...)
	case x.Version < x.Newest:
		e.look("", "server.older", version...)
	default:
		e.fine("", "server.schema", version...)
	}
	if len(x.Missing) > 0 {
		e.wrong("", "server.rights.missing", "user", x.User, "place", x.Place, "rights", strings.Join(x.Missing, ", "))
	} else {
		e.fine("", "server.rights", "user", x.User, "place", x.Place)
	}
	e.waiting(ctx)
	return x.Version == x.Newest
}

// serverClock says by how much the server's clock differs from that of this computer.
func (e *examination) serverClock(x history.Examination) {
	put := []string{"by", e.figure(x.Ahead.Abs().Seconds()), "within", e.figure(x.Within.Seconds())}
	apart := x.Ahead.Abs() - x.Within
	switch {
	case apart <= clockOff:
		e.fine("", "server.clock", put...)
	case apart > clockBad && x.Ahead > 0:
		e.wrong("", "server.clock.ahead", put...)
	case apart > clockBad:
		e.wrong("", "server.clock.behind", put...)
	case x.Ahead > 0:
		e.look("", "server.clock.ahead", put...)
	default:
		e.look("", "server.clock.behind", put...)
	}
}

// waitLong is how long something may wait for the server while all is well: it is brought every second.
const waitLong = time.Minute

// waiting looks at what the file still has to bring to the server.
func (e *examination) waiting(ctx context.Context) {
	if !exists(e.config.History) {
		return // nothing was watched yet
	}
	ctx = context.WithoutCancel(ctx) // the file answers, also where the server took all the time
	db, err := history.Read(ctx, e.config.History)
	if err != nil {
		e.wrong("", "history.bad", "reason", err.Error(), "hint", words.HintIn(e.tag, err))
		return
	}
	defer db.Close() // it was only read
	spectra, since := 0, time.Time{}
	for _, l := range e.config.Lines {
		w, err := db.Waiting(ctx, l.Name)
		if err != nil {
			e.wrong("", "history.bad", "reason", err.Error(), "hint", words.HintIn(e.tag, err))
			return
		}
		spectra += w.Spectra
		if !w.Since.IsZero() && (since.IsZero() || w.Since.Before(since)) {
			since = w.Since
		}
	}
	if since.IsZero() || e.now.Sub(since) < waitLong {
		e.fine("", "server.brought")
		return
	}
	e.look("", "server.waiting", "spectra", e.count(spectra), "since", words.Moment(since.In(e.config.Zone())))
}
