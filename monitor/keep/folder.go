package keep

import (
	"strings"
	"unicode"
)

// FolderName returns a name as a folder may have it on every system: small letters and figures of any script, with
// dashes between.
func FolderName(name string) string {
	words := strings.FieldsFunc(strings.ToLower(name), func(r rune) bool { return !unicode.IsLetter(r) && !unicode.IsDigit(r) })
	switch safe := strings.Join(words, "-"); {
	case safe == "":
		return "unnamed"
	case device(safe):
		return safe + "-"
	default:
		return safe
	}
}

// device reports whether a name in small letters is one of Windows's devices, whatever folder it is in ("Naming Files, Paths, and
// Namespaces", Windows documentation).
func device(name string) bool {
	switch name {
	case "con", "prn", "aux", "nul":
		return true
	}
	port, isCom := strings.CutPrefix(name, "com")
	if !isCom {
		port, isCom = strings.CutPrefix(name, "lpt")
	}
	return isCom && len(port) == 1 && port[0] >= '0' && port[0] <= '9'
}
