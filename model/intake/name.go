package intake

import (
	"fmt"
	"path"
	"regexp"
	"strings"
)

// A NamePattern finds the trigger id in a file's name: "carton-{id}_*.csv" finds 17 in "carton-17_2.csv". The zero pattern finds
// none.
type NamePattern struct {
	text string
	re   *regexp.Regexp
}

// idMark stands for the id in a pattern.
const idMark = "{id}"

// ParseName reads a pattern of a file's name, in which {id} stands for the id, * for whatever there is and ? for one character.
// The id is as short as it can be, and not empty.
func ParseName(text string) (NamePattern, error) {
	if strings.Count(text, idMark) != 1 {
		return NamePattern{}, fmt.Errorf("%q does not hold {id} once, as carton-{id}_*.csv does", text)
	}
	if strings.ContainsAny(text, `/\`) {
		return NamePattern{}, fmt.Errorf("%q names a folder; the id is looked for in the file's name", text)
	}
	expr := strings.NewReplacer(regexp.QuoteMeta(idMark), "(.+?)", `\*`, ".*?", `\?`, ".").Replace(regexp.QuoteMeta(text))
	re, err := regexp.Compile("^(?:" + expr + ")$")
	if err != nil {
		return NamePattern{}, fmt.Errorf("%q: %w", text, err)
	}
	return NamePattern{text, re}, nil
}

// ID returns the id in the name of a file, whatever its folder. ok is false for a name of another form.
func (n NamePattern) ID(file string) (id string, ok bool) {
	if n.re == nil {
		return "", false
	}
	m := n.re.FindStringSubmatch(path.Base(strings.ReplaceAll(file, `\`, "/")))
	if m == nil {
		return "", false
	}
	return m[1], true
}

func (n NamePattern) String() string { return n.text }
