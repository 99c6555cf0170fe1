package limits

import (
	"encoding/json"
	"testing"
	"time"
)

func TestParsePromise(t *testing.T) {
	tests := []struct {
		in   string
		want Promise
		say  string
	}{
		{"1 per 30 days", Promise{1, 30 * day}, "1 per 30 days"},
		{"2 per week", Promise{2, 7 * day}, "2 per 7 days"},
		{"0.5 per day", Promise{0.5, day}, "0.5 per day"},
		{" 1 per 720h ", Promise{1, 30 * day}, "1 per 30 days"},
		{"3 per 2 months", Promise{3, 60 * day}, "3 per 60 days"},
		{"1 per year", Promise{1, 365 * day}, "1 per 365 days"},
		{"1 per 36 hours", Promise{1, 36 * time.Hour}, "1 per 36 hours"},
		{"1 per 90m", Promise{1, 90 * time.Minute}, "1 per 1h30m0s"},
	}
	for _, tt := range tests {
		got, err := ParsePromise(tt.in)
		if err != nil || got != tt.want {
			t.Errorf("ParsePromise(%q) = %+v, %v, want %+v", tt.in, got, err, tt.want)
			continue
		}
		if got.String() != tt.say {
			t.Errorf("ParsePromise(%q) says itself %q, want %q", tt.in, got, tt.say)
		}
		if again, err := ParsePromise(got.String()); err != nil || again != got {
			t.Errorf("ParsePromise(%q) = %+v, %v, want it as it was, %+v", got, again, err, got)
		}
		b, err := json.Marshal(got)
		var back Promise
		if err == nil {
			err = json.Unmarshal(b, &back)
		}
		if err != nil || back != got {
			t.Errorf("%q through JSON %s = %+v, %v", tt.in, b, back, err)
		}
	}
}

func TestParsePromiseRefuses(t *testing.T) {
	for _, in := range []string{"", "1", "per day", "1 per", "0 per day", "-1 per day", "x per day", "1 per 0 days", "1 per fortnight", "1 per -3 days", "NaN per day", "Inf per day", "1 per 9999 years", "1 per NaN days"} {
		if got, err := ParsePromise(in); err == nil {
			t.Errorf("ParsePromise(%q) = %v, want an error", in, got)
		}
	}
}

func FuzzParsePromise(f *testing.F) {
	for _, s := range []string{"1 per 30 days", "2 per week", "0.25 per 90m", "1 per 1e3 hours"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		p, err := ParsePromise(s)
		if err != nil {
			if p != (Promise{}) {
				t.Errorf("ParsePromise(%q) = %+v beside the error %v, want the zero value", s, p, err)
			}
			return
		}
		if again, err := ParsePromise(p.String()); err != nil || again != p {
			t.Errorf("ParsePromise(%q) = %v, which reads back as %v, %v", s, p, again, err)
		}
	})
}

func TestZeroPromise(t *testing.T) {
	if got := (Promise{}).String(); got != "1 per 30 days" {
		t.Errorf("the zero promise says %q, want 1 per 30 days", got)
	}
	if got := (Promise{}).within(720); got != 1 {
		t.Errorf("the zero promise allows %v episodes in 720 hours, want 1", got)
	}
}
