package monitor

import (
	"context"
	"encoding/json"
	"fmt"
	"time"

	"asusual/model/alarm"
	"asusual/model/verdict"
	"asusual/monitor/history"
)

// An Alarm is the alarm of a line: its cause is that the process has changed. Only the verdict as usual takes the cause away:
// where nothing can be said, neither can that.
type Alarm struct {
	alarm.Alarm
	Episode time.Time `json:"episode,omitzero"` // where the episode begins that the alarm is about
	Who     string    `json:"who,omitempty"`    // acknowledged or shelved it, as it stands
	Why     string    `json:"why,omitempty"`
}

// What an Act of history says became of an alarm.
const (
	Raised       = "raised"
	Gone         = "returned to normal" // the cause
	Acknowledged = "acknowledged"
	Shelved      = "shelved"
	Unshelved    = "unshelved"
	ShelfOver    = "shelf is over"
)

// Approved is the Act of a person who approved the reference of a line. It leaves the alarm as it is.
const Approved = "approved"

// act returns what history is told of the alarm as it stands.
func (a *Alarm) act(what string, at time.Time) history.Act {
	return history.Act{Time: at, Act: what, State: a.State.String(), Episode: a.Episode}
}

// observe tells the alarm what a verdict says of its cause. Its times are those of the clock on the wall, as those of the
// person who acknowledges it.
func (a *Alarm) observe(v verdict.Verdict, episode, now time.Time) (acts []history.Act) {
	if v == verdict.CannotSay {
		return nil
	}
	was := a.Active
	if a.Observe(v == verdict.Changed, now) {
		a.Who, a.Why = "", ""
	}
	switch {
	case a.Active && !was:
		a.Episode = episode
		return []history.Act{a.act(Raised, now)}
	case was && !a.Active:
		return []history.Act{a.act(Gone, now)}
	}
	return nil
}

// expire takes the alarm from the shelf where its time is over.
func (a *Alarm) expire(now time.Time) []history.Act {
	if !a.Expire(now) {
		return nil
	}
	a.Who, a.Why = "", ""
	return []history.Act{a.act(ShelfOver, now)}
}

// answer does what is asked, or notes why it is refused.
func (a *Alarm) answer(r Request, now time.Time) history.Act {
	was, err := *a, r.validate()
	if err == nil {
		switch r.Act {
		case Acknowledged:
			if r.At.Before(a.Raised) && a.Raised.Before(now) {
				err = fmt.Errorf("the alarm was raised again after this was asked, at %s; look again", a.Raised.Format(time.RFC3339))
			} else {
				err = a.Acknowledge(now)
			}
		case Shelved:
			err = a.Shelve(now, r.Until)
		case Unshelved:
			err = a.Unshelve(now)
		}
	}
	if err != nil {
		*a = was
	} else {
		a.Who, a.Why = r.Who, r.Why
	}
	out := a.act(r.Act, now)
	out.Who, out.Why, out.Request = r.Who, r.Why, r.ID
	if err != nil {
		out.Refused = err.Error()
	} else if r.Act == Shelved {
		out.Until = r.Until
	}
	return out
}

// loadAlarm returns the alarm of the line as history has it.
func loadAlarm(ctx context.Context, db *history.DB, line string) (a Alarm, err error) {
	text, err := db.Alarm(ctx, line)
	if err != nil || text == nil {
		return a, err
	}
	if err := json.Unmarshal(text, &a); err != nil {
		return a, fmt.Errorf("%s: the alarm of line %q: %w", db.Path(), line, err)
	}
	return a, nil
}

// acted adds to the batch what became of the alarm.
func (c *committer) acted(acts []history.Act) {
	for _, a := range acts {
		a.Line = c.line.Name
		c.batch.Acts = append(c.batch.Acts, a)
		if a.Refused != "" {
			c.line.Log.Warn("asked of the alarm and refused", "act", a.Act, "who", a.Who, "reason", a.Refused)
			continue
		}
		if a.Act == Approved {
			c.line.Log.Info("the reference is approved", "who", a.Who, "note", a.Why)
			continue
		}
		c.line.Log.Info("the alarm: "+a.Act, "state", a.State, "who", a.Who, "why", a.Why)
	}
}

// attendEvery is how often it is looked for what is due of the alarm: whoever acknowledges waits for the answer.
const attendEvery = 250 * time.Millisecond

// attend does what is due of the alarm besides the verdict: a shelf that is over, and what was asked from outside. It is kept
// before the request is taken away, so that it is done once whenever the watch is killed.
func (c *committer) attend(ctx context.Context) error {
	c.acted(c.alarm.expire(c.line.Now()))
	if err := c.noteApprovals(ctx); err != nil {
		return err
	}
	asked, err := c.inbox.asked(c.line.Name, c.unread, c.line.Log)
	if err != nil {
		return nil // the inbox has said it; the watch goes on
	}
	for _, r := range asked {
		var done bool
		err := c.read(func() (err error) {
			_, done, err = c.line.History.Answer(ctx, c.line.Name, r.ID)
			return err
		})
		if err != nil {
			return err
		}
		if !done {
			c.acted([]history.Act{c.alarm.answer(r, c.line.Now())})
		}
	}
	if len(c.batch.Acts) > 0 {
		if err := c.flush(ctx); err != nil {
			return err
		}
	}
	for _, r := range asked {
		c.inbox.done(r)
	}
	return nil
}
