package verdict

import (
	"encoding/json"
	"testing"
)

func TestWords(t *testing.T) {
	for _, tt := range []struct {
		v    Verdict
		want string
	}{{AsUsual, "as usual"}, {Changed, "the process has changed"}, {CannotSay, "cannot say"}} {
		if got := tt.v.String(); got != tt.want {
			t.Errorf("String() = %q, want %q", got, tt.want)
		}
		b, err := json.Marshal(tt.v)
		if err != nil || string(b) != `"`+tt.want+`"` {
			t.Errorf("Marshal(%v) = %s, %v", tt.v, b, err)
		}
		var back Verdict
		if err := json.Unmarshal(b, &back); err != nil || back != tt.v {
			t.Errorf("Unmarshal(%s) = %v, %v, want %v", b, back, err, tt.v)
		}
	}
	var v Verdict
	if err := v.UnmarshalText([]byte("fine")); err == nil {
		t.Error(`UnmarshalText("fine") did not refuse`)
	}
	if v != CannotSay {
		t.Errorf("the zero verdict = %v, want cannot say", v)
	}
	if _, err := Verdict(7).MarshalText(); err == nil {
		t.Error("MarshalText of a verdict that does not exist did not refuse")
	}
}

func TestTally(t *testing.T) {
	for _, tt := range []struct {
		t    Tally
		want Verdict
	}{
		{Tally{}, CannotSay},
		{Tally{AsUsual: 10}, AsUsual},
		{Tally{AsUsual: 10, CannotSay: 10}, AsUsual},
		{Tally{AsUsual: 10, CannotSay: 11}, CannotSay},
		{Tally{AsUsual: 1000, Changed: 1, CannotSay: 5000}, Changed},
		{Tally{CannotSay: 3}, CannotSay},
	} {
		if got := tt.t.Verdict(); got != tt.want {
			t.Errorf("%+v: %v, want %v", tt.t, got, tt.want)
		}
	}
	var c Tally
	c.Add(Step{Verdict: AsUsual})
	c.Add(Step{Verdict: Changed, Named: true})
	c.Add(Step{Verdict: CannotSay})
	if want := (Tally{AsUsual: 1, CannotSay: 1}); c != want {
		t.Errorf("tally = %+v, want %+v: named conditions do not count", c, want)
	}
}
