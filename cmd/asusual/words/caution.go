package words

import (
	"slices"

	"asusual/model/finding"
)

// LightSource is the caution that belongs wherever somebody is sent to the lamp.
const LightSource = "the light source of a probe is hot and bright: isolate it before working on it"

// Caution returns a line of its own for below the reasons that send somebody to the lamp, "" where none does.
func Caution(indent string, reasons ...finding.Finding) string {
	if !slices.ContainsFunc(reasons, func(f finding.Finding) bool { return f.Kind.AtLamp() }) {
		return ""
	}
	return indent + "caution: " + LightSource + "\n"
}
