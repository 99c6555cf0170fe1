package config

import (
	_ "embed"
	"fmt"
	"strings"
	"text/template"

	"asusual/cmd/asusual/shift"
	"asusual/model/pretreat"
)

//go:embed sample.toml
var sampleText string

// An Answers holds what init found out or was told. Its zero value gives a file in which every setting stands at its
// default or at an example.
type Answers struct {
	Site, Zone string
	Line       string // the name of the line
	Watch      string // relative to the file, as the paths below
	Good       []string
	Reference  string
	Conditions []Answer
	Axis       string // the words of the settings; "" leaves the setting commented out
	Quantity   string
	Time       string
	Runs       string
	Found      []string // what was found out, one sentence each, to stand above the settings
	Shifts     []shift.Shift
	Steps      []pretreat.Step
	Components int
}

// An Answer is a condition and where its spectra are.
type Answer struct{ Name, From string }

// Sample returns the text of a commented configuration file with these answers, which Decode reads.
func Sample(a Answers) (string, error) {
	t, err := template.New("sample").Funcs(template.FuncMap{
		"text": quote,
		"texts": func(list []string) string {
			if len(list) == 1 {
				return quote(list[0])
			}
			var quoted []string
			for _, s := range list {
				quoted = append(quoted, quote(s))
			}
			return "[" + strings.Join(quoted, ", ") + "]"
		},
	}).Parse(sampleText)
	if err != nil {
		return "", err
	}
	var b strings.Builder
	if err := t.Execute(&b, a); err != nil {
		return "", fmt.Errorf("writing the configuration: %w", err)
	}
	return b.String(), nil
}

// quote writes s as a TOML string: between single quotes, in which nothing is special, wherever it can.
func quote(s string) string {
	if !strings.ContainsAny(s, "\\\"'\n\r\t") {
		return `"` + s + `"`
	}
	if !strings.ContainsAny(s, "'\n\r\t") {
		return "'" + s + "'"
	}
	return `"` + strings.NewReplacer(`\`, `\\`, `"`, `\"`, "\n", `\n`, "\r", `\r`, "\t", `\t`).Replace(s) + `"`
}
