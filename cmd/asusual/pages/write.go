package pages

import (
	"fmt"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"unicode"

	"asusual/monitor/keep"
	"asusual/report"
)

// Write puts the page, its pictures and its figures into the folder, which it makes: the page last, so that whoever sees it has them
// all. prefix stands before the name of each of the others. It returns the paths, the page first.
func Write(folder, name, prefix string, p report.Page) ([]string, error) {
	if err := os.MkdirAll(folder, 0o755); err != nil {
		return nil, err
	}
	paths := []string{filepath.Join(folder, name)}
	beside := maps.Clone(p.Figures)
	if beside == nil {
		beside = map[string][]byte{}
	}
	maps.Copy(beside, p.Pictures)
	for _, n := range slices.Sorted(maps.Keys(beside)) {
		path := filepath.Join(folder, prefix+n)
		if err := keep.WriteFile(path, beside[n]); err != nil {
			return nil, fmt.Errorf("writing what belongs to a page: %w", err)
		}
		paths = append(paths, path)
	}
	if err := keep.WriteFile(paths[0], p.HTML); err != nil {
		return nil, fmt.Errorf("writing a page: %w", err)
	}
	return paths, nil
}

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
