package pages

import (
	"context"
	"maps"
	"slices"
	"time"

	"asusual/cmd/asusual/shift"
	"asusual/model/check"
	"asusual/model/fitness"
	"asusual/monitor/history"
)

// A standing follows how the instrument stands by its checks, in the order of time.
type standing struct {
	latest map[string]fitness.State // of each measure
	at     time.Time                // of the checks at hand
	state  fitness.State            // before them
	since  time.Time
}

// add takes the next check. What one spectrum told counts together.
func (g *standing) add(c history.Check) {
	if g.latest == nil {
		g.latest = map[string]fitness.State{}
	}
	if !c.Time.Equal(g.at) {
		g.settle()
		g.at = c.Time
	}
	g.latest[c.Measure+"\n"+c.About] = fitness.State(c.State)
}

func (g *standing) settle() {
	if now := check.Worst(slices.Collect(maps.Values(g.latest))...); len(g.latest) > 0 && now != g.state {
		g.state, g.since = now, g.at
	}
}

// now returns how it stands after all of them, and since when.
func (g *standing) now() (fitness.State, time.Time) {
	g.settle()
	return g.state, g.since
}

// since returns since when the instrument is what it is at the end of the period: where it was so from its beginning, and is not fit,
// it is looked further back, as far as checks count. A check told it before the first spectrum of production that bears it, where
// checked is not zero. Zero: it is not known.
func (s Source) since(ctx context.Context, d *day, state string, checked time.Time) (time.Time, error) {
	at := d.since
	if d.instrument != state || d.first.IsZero() {
		at = time.Time{}
	} else if at.IsZero() && state != string(fitness.Fit) {
		var err error
		if at, err = s.History.StateSince(ctx, s.Line, state, d.first.Add(-checksBack), d.first); err != nil {
			return at, err
		}
	}
	if !checked.IsZero() && (checked.Before(at) || at.IsZero() && state != string(fitness.Fit)) {
		at = checked
	}
	if at.IsZero() {
		return at, nil
	}
	return at.In(s.Zone), nil
}

// A spell is a stretch of time in which the instrument was unfit; its end is zero where it lasts.
type spell struct{ from, to time.Time }

// unfit returns when the instrument was unfit in a period, in order of time.
func (s Source) unfit(ctx context.Context, p shift.Period) (all []spell, err error) {
	var when standing
	turn := func() {
		state, at := when.now()
		open := len(all) > 0 && all[len(all)-1].to.IsZero()
		switch {
		case state == fitness.Bad && !open:
			all = append(all, spell{from: at})
		case state != fitness.Bad && open:
			all[len(all)-1].to = at
		}
	}
	for c, err := range s.History.Checks(ctx, history.Query{Line: s.Line, From: p.From.Add(-checksBack), To: p.To}) {
		if err != nil {
			return nil, err
		}
		if !c.Time.Equal(when.at) {
			turn()
		}
		when.add(c)
	}
	turn()
	return all, nil
}

// within reports whether a time lies in one of the spells; those that ended before it are taken from the list, since times rise.
func within(all *[]spell, at time.Time) bool {
	for len(*all) > 0 && !(*all)[0].to.IsZero() && !at.Before((*all)[0].to) {
		*all = (*all)[1:]
	}
	return len(*all) > 0 && !at.Before((*all)[0].from)
}
