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
	switch safe := strings.Join(words, "-"); safe {
	case "":
		return "unnamed"
	case "con", "prn", "aux", "nul": // devices on Windows
		return safe + "-"
	default:
		return safe
	}
}
