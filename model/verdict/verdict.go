package verdict

import "fmt"

// A Verdict is exactly one of three.
type Verdict uint8

const (
	CannotSay Verdict = iota // too little was seen, or it could not be judged
	AsUsual
	Changed
)

var words = [...]string{CannotSay: "cannot say", AsUsual: "as usual", Changed: "the process has changed"}

func (v Verdict) String() string {
	if int(v) < len(words) {
		return words[v]
	}
	return fmt.Sprintf("Verdict(%d)", uint8(v))
}

// MarshalText writes the verdict in its words.
func (v Verdict) MarshalText() ([]byte, error) {
	if int(v) >= len(words) {
		return nil, fmt.Errorf("verdict %d does not exist", uint8(v))
	}
	return []byte(words[v]), nil
}

// UnmarshalText reads what MarshalText wrote.
func (v *Verdict) UnmarshalText(b []byte) error {
	got, err := Parse(string(b))
	if err == nil {
		*v = got
	}
	return err
}

// Parse reads a verdict from its words.
func Parse(s string) (Verdict, error) {
	for i, w := range words {
		if w == s {
			return Verdict(i), nil
		}
	}
	return CannotSay, fmt.Errorf("verdict %q: want %q, %q or %q", s, words[AsUsual], words[Changed], words[CannotSay])
}

// A Tally counts the spectra of a period by the verdict that stood after each of them, those in named conditions left
// out. Its zero value is an empty period.
type Tally struct {
	AsUsual   int `json:"as_usual"`
	Changed   int `json:"changed"`
	CannotSay int `json:"cannot_say"`
}

// Add counts one step.
func (t *Tally) Add(s Step) {
	if s.Named {
		return
	}
	t.Count(s.Verdict)
}

// Count counts one spectrum.
func (t *Tally) Count(v Verdict) {
	switch v {
	case AsUsual:
		t.AsUsual++
	case Changed:
		t.Changed++
	default:
		t.CannotSay++
	}
}

// Verdict returns that of the whole period: the process has changed if it had at any time; else cannot say where less
// than half of the spectra could be judged, or none; else as usual.
func (t Tally) Verdict() Verdict {
	switch {
	case t.Changed > 0:
		return Changed
	case t.AsUsual == 0 || t.AsUsual < t.CannotSay:
		return CannotSay
	}
	return AsUsual
}
