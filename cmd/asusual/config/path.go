package config

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"unicode"
	"unicode/utf8"
)

// quoting is said of what a backslash has done.
const quoting = `a backslash between double quotes begins a special character; write a path with forward slashes, "D:/spectra", or between single quotes, 'D:\spectra'`

// whole makes a path of the file whole: relative ones start at the folder of the configuration. On Windows one that starts with a
// slash means the drive that the configuration lies on, and one such as D:spectra, whose folder depends on the program that is
// asked, is refused.
func whole(file, path string) (string, error) {
	if i := strings.IndexFunc(path, unicode.IsControl); i >= 0 {
		r, _ := utf8.DecodeRuneInString(path[i:])
		return "", fmt.Errorf("%q holds %q, which is in no path: %s", path, r, quoting)
	}
	if path == "" || filepath.IsAbs(path) {
		return path, nil
	}
	path = filepath.FromSlash(path)
	drive := filepath.VolumeName(path)
	if drive != "" {
		return "", fmt.Errorf("%s does not say in which folder of %s; write %s/%s", path, drive, drive, filepath.ToSlash(path[len(drive):]))
	}
	if os.IsPathSeparator(path[0]) {
		return filepath.VolumeName(filepath.Dir(file)) + path, nil
	}
	return beside(file, path), nil
}

// beside returns the path of what lies in the folder of the file.
func beside(file, path string) string { return filepath.Join(filepath.Dir(file), path) }

// backslashed reports whether there is a backslash behind a double quote in that line of the text.
func backslashed(text string, line int) bool {
	lines := strings.Split(text, "\n")
	if line < 1 || line > len(lines) {
		return false
	}
	_, quoted, _ := strings.Cut(lines[line-1], `"`)
	return strings.Contains(quoted, `\`)
}
