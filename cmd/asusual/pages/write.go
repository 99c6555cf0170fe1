package pages

import (
	"bytes"
	"errors"
	"fmt"
	"io/fs"
	"maps"
	"os"
	"path/filepath"
	"slices"

	"asusual/monitor/keep"
	"asusual/report"
)

// Write puts the page, its pictures and its figures into the folder, which it makes: the page last, so that whoever sees it has them
// all. prefix stands before the name of each of the others. It returns the paths that were written, the page first; none where the page
// was not. A table that cannot be written, such as one that a spreadsheet has open on Windows, is an error and keeps neither the others
// nor the page; a picture keeps the page. What an earlier page had beside it and this one has not is taken away.
func Write(folder, name, prefix string, p report.Page) (paths []string, err error) {
	if err := os.MkdirAll(folder, 0o755); err != nil {
		return nil, err
	}
	put := func(name string, data []byte) bool {
		path := filepath.Join(folder, name)
		if failed := keep.WriteFile(path, data); failed != nil {
			err = errors.Join(err, fmt.Errorf("writing %s: %w", path, failed))
			return false
		}
		paths = append(paths, path)
		return true
	}
	whole := true
	for _, n := range slices.Sorted(maps.Keys(p.Pictures)) {
		whole = put(prefix+n, p.Pictures[n]) && whole
	}
	for _, n := range slices.Sorted(maps.Keys(p.Figures)) {
		put(prefix+n, p.Figures[n])
	}
	if !whole || !put(name, p.HTML) {
		return nil, err
	}
	for _, n := range p.Absent {
		if failed := os.Remove(filepath.Join(folder, prefix+n)); failed != nil && !errors.Is(failed, fs.ErrNotExist) {
			err = errors.Join(err, failed)
		}
	}
	last := len(paths) - 1
	return append(paths[last:], paths[:last]...), err
}

// IsThere reports whether the folder has the page, and all that Write puts beside it, as it would write them, and nothing that Write would
// take away.
func IsThere(folder, name, prefix string, p report.Page) bool {
	same := func(name string, data []byte) bool {
		there, err := keep.ReadFile(filepath.Join(folder, name))
		return err == nil && bytes.Equal(there, data)
	}
	for _, beside := range []map[string][]byte{p.Pictures, p.Figures} {
		for n, data := range beside {
			if !same(prefix+n, data) {
				return false
			}
		}
	}
	for _, n := range p.Absent {
		if _, err := os.Lstat(filepath.Join(folder, prefix+n)); err == nil {
			return false
		}
	}
	return same(name, p.HTML)
}
