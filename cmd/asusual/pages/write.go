package pages

import (
	"fmt"
	"maps"
	"os"
	"path/filepath"
	"slices"

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
