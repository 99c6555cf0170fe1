package config

import (
	_ "embed"
	"fmt"
	"strings"

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
func Sample(a Answers) string { return strings.NewReplacer(a.places()...).Replace(sampleText) }

// places are lines of the sample, each followed by what the answers put in its place.
func (a Answers) places() []string {
	var all []string
	put := func(lines string, instead ...string) {
		all = append(all, "\n"+lines+"\n", "\n"+strings.Join(instead, "\n")+"\n")
	}
	answered := func(line, key, value string) {
		if value != "" {
			put(line, key+" = "+quote(value))
		}
	}
	answered(`#name = "Oat hall"`, "name", a.Site)
	answered(`#time-zone = "Europe/Helsinki"`, "time-zone", a.Zone)
	put(`name = "Filler 3"`, "name = "+quote(a.Line))
	put(`watch = "spectra"`, "watch = "+quote(a.Watch))
	put(`good = "good"`, "good = "+quoteAll(a.Good))
	put(`reference = "line.reference"`, "reference = "+quote(a.Reference))
	if a.Components != 0 {
		put("#components = 0", fmt.Sprintf("components = %d", a.Components))
	}
	answered(`#axis = "auto"`, "axis", a.Axis)
	answered(`#quantity = "auto"`, "quantity", a.Quantity)
	answered(`#time = "auto"`, "time", a.Time)
	answered(`#runs = "auto"`, "runs", a.Runs)
	if found := "# How the files are read. What is left out is found out from each file."; len(a.Found) > 0 {
		put(found, found, "# Found: "+strings.Join(a.Found, "\n# Found: "))
	}
	instead := func(example string, parts []string) {
		if len(parts) > 0 {
			put(exampleOf(example), parts...)
		}
	}
	instead("#[[line.condition]]", texts(a.Conditions, Answer.text))
	instead("#[[line.pretreatment]]", texts(a.Steps, stepText))
	instead("#[[shift]]", texts(a.Shifts, shiftText))
	return all
}

// exampleOf returns the lines of the sample from one on, up to the next empty line.
func exampleOf(first string) string {
	_, rest, _ := strings.Cut(sampleText, "\n"+first+"\n")
	rest, _, _ = strings.Cut(rest, "\n\n")
	return first + "\n" + rest
}

// texts are the parts of a file that stand for a list, with an empty line between them.
func texts[T any](list []T, text func(T) string) []string {
	var all []string
	for i, one := range list {
		if i > 0 {
			all = append(all, "")
		}
		all = append(all, text(one))
	}
	return all
}

func (c Answer) text() string {
	return "[[line.condition]]\nname = " + quote(c.Name) + "\nfrom = " + quote(c.From)
}

func shiftText(s shift.Shift) string {
	return fmt.Sprintf("[[shift]]\nname = %s\nfrom = \"%v\"\nto = \"%v\"", quote(s.Name), s.From, s.To)
}

// stepText is a step with the settings that it has.
func stepText(s pretreat.Step) string {
	text := "[[line.pretreatment]]\nstep = " + quote(s.Name)
	if s.Window != 0 {
		text += fmt.Sprintf("\nwindow = %v", s.Window)
	}
	if s.Degree != 0 {
		text += fmt.Sprintf("\ndegree = %d", s.Degree)
	}
	if s.Order != 0 {
		text += fmt.Sprintf("\norder = %d", s.Order)
	}
	if s.From != 0 || s.To != 0 {
		text += fmt.Sprintf("\nfrom = %v\nto = %v", s.From, s.To)
	}
	return text
}

// quoteAll writes a list of strings, or a single one by itself.
func quoteAll(list []string) string {
	quoted := make([]string, len(list))
	for i, s := range list {
		quoted[i] = quote(s)
	}
	if len(quoted) == 1 {
		return quoted[0]
	}
	return "[" + strings.Join(quoted, ", ") + "]"
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
