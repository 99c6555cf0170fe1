package alarm_test

import (
	"encoding/json"
	"math/rand/v2"
	"strings"
	"testing"
	"time"

	"asusual/model/alarm"
)

var noon = time.Date(2026, 11, 25, 12, 0, 0, 0, time.UTC)

// act does one thing to the alarm, a minute after the one before.
func act(t *testing.T, a *alarm.Alarm, what string, at time.Time) {
	t.Helper()
	var err error
	switch what {
	case "raise":
		a.Observe(true, at)
	case "clear":
		a.Observe(false, at)
	case "ack":
		err = a.Acknowledge(at)
	case "shelve":
		err = a.Shelve(at, at.Add(time.Hour))
	case "unshelve":
		err = a.Unshelve(at)
	case "time-out":
		a.Expire(a.Until)
	default:
		t.Fatalf("no act %q", what)
	}
	if err != nil {
		t.Fatalf("%s = %v, want nil", what, err)
	}
}

// The state transition diagram of ANSI/ISA-18.2 (2016) and IEC 62682 (2014), from memory, with its alarm states A, B, C, D and G:
// A normal, B unacknowledged, C acknowledged, D returned to normal unacknowledged, G shelved.
func TestTransitions(t *testing.T) {
	for _, c := range []struct {
		acts string
		want alarm.State
	}{
		{"", alarm.Normal},
		{"clear", alarm.Normal},
		{"raise", alarm.Unacknowledged},                     // A → B
		{"raise raise", alarm.Unacknowledged},               // the same cause is no new alarm
		{"raise ack", alarm.Acknowledged},                   // B → C
		{"raise ack raise", alarm.Acknowledged},             // it stays
		{"raise ack clear", alarm.Normal},                   // C → A
		{"raise clear", alarm.Returned},                     // B → D
		{"raise clear clear", alarm.Returned},               // it waits for somebody
		{"raise clear ack", alarm.Normal},                   // D → A
		{"raise clear raise", alarm.Unacknowledged},         // D → B
		{"raise ack clear raise", alarm.Unacknowledged},     // a new occurrence is to be acknowledged anew
		{"shelve", alarm.Shelved},                           // A → G
		{"raise shelve", alarm.Shelved},                     // B → G
		{"raise ack shelve", alarm.Shelved},                 // C → G
		{"raise clear shelve", alarm.Shelved},               // D → G
		{"shelve raise", alarm.Shelved},                     // followed, not told
		{"shelve raise clear", alarm.Shelved},               //
		{"shelve unshelve", alarm.Normal},                   // G → A
		{"shelve raise unshelve", alarm.Unacknowledged},     // G → B
		{"raise ack shelve unshelve", alarm.Unacknowledged}, // what the live cause demands
		{"raise shelve clear unshelve", alarm.Normal},       //
		{"raise clear shelve time-out", alarm.Normal},       //
		{"shelve raise time-out", alarm.Unacknowledged},     //
		{"shelve time-out raise ack", alarm.Acknowledged},   //
		{"shelve shelve raise clear time-out", alarm.Normal},
	} {
		var a alarm.Alarm
		for i, what := range strings.Fields(c.acts) {
			act(t, &a, what, noon.Add(time.Duration(i)*time.Minute))
		}
		if a.State != c.want {
			t.Errorf("after %q = %v, want %v", c.acts, a.State, c.want)
		}
		text, err := json.Marshal(a)
		if err != nil {
			t.Fatal(err)
		}
		var back alarm.Alarm
		if err := json.Unmarshal(text, &back); err != nil || back != a {
			t.Errorf("after %q: %s reads back as %+v, %v, want %+v", c.acts, text, back, err, a)
		}
	}
}

func TestWhatIsRefused(t *testing.T) {
	for _, c := range []struct {
		acts string
		do   func(*alarm.Alarm) error
		says string
	}{
		{"", func(a *alarm.Alarm) error { return a.Acknowledge(noon) }, "nothing to acknowledge"},
		{"raise ack", func(a *alarm.Alarm) error { return a.Acknowledge(noon) }, "already"},
		{"raise shelve", func(a *alarm.Alarm) error { return a.Acknowledge(noon) }, "shelved until 2026-11-25T13:01:00Z; take it from the shelf first, by asusual shelve --off"},
		{"raise", func(a *alarm.Alarm) error { return a.Unshelve(noon) }, "not shelved"},
		{"raise", func(a *alarm.Alarm) error { return a.Shelve(noon, noon) }, "at most 24h"},
		{"raise", func(a *alarm.Alarm) error { return a.Shelve(noon, noon.Add(25*time.Hour)) }, "25h"},
		{"", func(a *alarm.Alarm) error { return a.Shelve(noon, noon.Add(-time.Hour)) }, "-1h"},
	} {
		var a alarm.Alarm
		for i, what := range strings.Fields(c.acts) {
			act(t, &a, what, noon.Add(time.Duration(i)*time.Minute))
		}
		before := a
		if err := c.do(&a); err == nil || !strings.Contains(err.Error(), c.says) || a != before {
			t.Errorf("after %q = %v, %+v, want an error with %q and nothing changed", c.acts, err, a, c.says)
		}
	}
}

// Laws over random walks: the states that say that the cause is there are held exactly while it is; a shelf ends in time; the
// time of a state never lies after now.
func TestLaws(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	var a alarm.Alarm
	at := noon
	active := false
	for range 20_000 {
		at = at.Add(time.Duration(rng.IntN(600)) * time.Second)
		switch rng.IntN(6) {
		case 0:
			active = !active
			a.Observe(active, at)
		case 1:
			_ = a.Acknowledge(at) // refused or not, the laws hold
		case 2:
			_ = a.Shelve(at, at.Add(time.Duration(rng.IntN(48))*time.Hour))
		case 3:
			_ = a.Unshelve(at)
		}
		a.Expire(at)
		switch {
		case a.Active != active,
			(a.State == alarm.Unacknowledged || a.State == alarm.Acknowledged) && !active,
			(a.State == alarm.Normal || a.State == alarm.Returned) && active,
			a.State == alarm.Shelved && (!at.Before(a.Until) || a.Until.Sub(at) > alarm.LongestShelf),
			a.State != alarm.Shelved && !a.Until.IsZero(),
			a.Since.After(at):
			t.Fatalf("at %v with the cause there = %v: %+v", at, active, a)
		}
	}
}

func TestStatesThatDoNotExist(t *testing.T) {
	if _, err := alarm.State(9).MarshalText(); err == nil {
		t.Error("MarshalText of state 9 = nil, want an error")
	}
	var s alarm.State
	if err := s.UnmarshalText([]byte("latched")); err == nil {
		t.Error("UnmarshalText of latched = nil, want an error")
	}
	if got := alarm.State(9).String(); got != "State(9)" {
		t.Errorf("String of state 9 = %q, want State(9)", got)
	}
}
