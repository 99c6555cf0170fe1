package finding

import (
	"fmt"
	"strings"
)

// A Kind names a finding by a short, lasting word, such as "off-axis". Kinds are kept in history and
// in reference files: one that has been released does not change its meaning.
type Kind string

// A Finding is one thing that a person should know.
type Finding struct {
	Kind   Kind      `json:"kind"`
	About  string    `json:"about,omitempty"`  // the run, file, condition or region it speaks of
	Values []float64 `json:"values,omitempty"` // its numbers, in the order in which the words of the kind use them
}

// Of returns the finding of that kind.
func Of(kind Kind, about string, values ...float64) Finding {
	return Finding{Kind: kind, About: about, Values: values}
}

// single stands behind a kind in Words for what is said where its first number, a count, is one.
const single Kind = ", one"

// AtLamp reports whether the words of the kind send somebody to the lamp, the window, the fibre or the probe, where a caution belongs.
func (k Kind) AtLamp() bool {
	switch k {
	case LikeLight, LikeSlope, LikeCurve, LikePath, LightLevel, LineNoisier:
		return true
	}
	return false
}

// String says the finding in English. A kind that this version does not know is said as it stands.
func (f Finding) String() string { return f.In(English()) }

// In says the finding in the words of a language.
func (f Finding) In(words Words) string {
	text, ok := words[f.Kind]
	if !ok {
		return strings.TrimSpace(fmt.Sprintf("%s %s", f.Kind, f.About))
	}
	if one, ok := words[f.Kind+single]; ok && len(f.Values) > 0 && f.Values[0] == 1 {
		text = one
	}
	old := []string{"{about}", f.About}
	for i, said := range f.numbers(text) {
		if point, ok := words[decimal]; ok {
			said = strings.Replace(said, ".", point, 1)
		}
		old = append(old, mark(i), said)
	}
	return strings.NewReplacer(old...).Replace(text)
}
