package check

import (
	"fmt"
	"path"
	"strings"

	"asusual/model/spectrum"
)

// A Role says what a spectrum was taken of.
type Role uint8

// The roles.
const (
	Sample    Role = iota // production
	Dark                  // the detector without light
	Reference             // a white tile, or the empty light path
	Standard              // a material whose bands are certified, or one that is measured again and again
)

var roleWords = [...]string{"sample", "dark", "reference", "standard"}

// String returns the word of the role.
func (r Role) String() string { return roleWords[r] }

// MarshalText writes the word of the role.
func (r Role) MarshalText() ([]byte, error) { return []byte(r.String()), nil }

// UnmarshalText reads the word of a role.
func (r *Role) UnmarshalText(b []byte) error {
	for i, w := range roleWords {
		if strings.EqualFold(w, string(b)) {
			*r = Role(i)
			return nil
		}
	}
	return fmt.Errorf("role %q is not one of %s", b, strings.Join(roleWords[:], ", "))
}

// A Rule tells spectra of one role from others. Whatever is set must fit; at least one must be set. Patterns are those
// of a file's name, such as dark*.csv, and do not mind case.
type Rule struct {
	Role   Role
	Folder string // a folder above the file has this name
	Name   string // the file, without its folder, has this name
	Label  string // the label column's value, or the title of a JCAMP-DX file
}

// Rules are tried in order; the first that fits decides.
type Rules []Rule

// Validate says which rule cannot be used.
func (rs Rules) Validate() error {
	for i, r := range rs {
		if r.Folder == "" && r.Name == "" && r.Label == "" {
			return fmt.Errorf("rule %d, for %s spectra: none of folder, name and label is set", i+1, r.Role)
		}
		for _, p := range [...]string{r.Folder, r.Name, r.Label} {
			if _, err := path.Match(strings.ToLower(p), ""); err != nil {
				return fmt.Errorf("rule %d, for %s spectra: %q is no pattern such as dark*.csv", i+1, r.Role, p)
			}
		}
	}
	return nil
}

// Of returns the role of a spectrum: that of the first rule that fits, else Sample.
func (rs Rules) Of(s spectrum.Spectrum) Role {
	folders := strings.Split(strings.ReplaceAll(s.File, `\`, "/"), "/") // both kinds of path
	name := folders[len(folders)-1]
	for _, r := range rs {
		if (r.Name == "" || matches(r.Name, name)) && (r.Label == "" || matches(r.Label, s.Label)) &&
			(r.Folder == "" || anyMatches(r.Folder, folders[:len(folders)-1])) && r != (Rule{Role: r.Role}) {
			return r.Role
		}
	}
	return Sample
}

func matches(pattern, s string) bool {
	// A slash in a title is a character as any other.
	s, pattern = strings.ReplaceAll(s, "/", " "), strings.ReplaceAll(pattern, "/", " ")
	ok, err := path.Match(strings.ToLower(pattern), strings.ToLower(strings.TrimSpace(s)))
	return ok && err == nil
}

func anyMatches(pattern string, folders []string) bool {
	for _, f := range folders {
		if matches(pattern, f) {
			return true
		}
	}
	return false
}
