package config

import (
	"fmt"
	"path/filepath"
	"slices"
	"strings"

	"asusual/monitor/arrive"
)

// A product is something that the program writes itself.
type product struct {
	what, setting, path string
	names               []string // of files that it consists of, such as they are, relative to the folder that the path lies in
}

// products returns what a watch writes, again and again.
func (c *Config) products() []product {
	file, state, reports := filepath.Base(c.History), filepath.Base(c.Signal.State), filepath.Base(c.Reports)
	return []product{
		{"the history", "[history] file", c.History, []string{file, file + "-wal", file + ".requests/1.json"}},
		{"the state file", "[signal] state", c.Signal.State, []string{state}},
		{"the folder of the reports", "[reports] folder", c.Reports, []string{reports + "/index.html", reports + "/index-figures.json", reports + "/index-shifts.csv", reports + "/score-plot.png"}},
	}
}

// apart names watched folders from which the program would read its own files as spectra: whatever it writes of them would be
// news.
func apart(d *document, c *Config) {
	for i, l := range c.Lines {
		at := fmt.Sprintf("line[%d]", i)
		for _, p := range c.products() {
			if taken(l.Watch, p, l.Spectra.Files) {
				d.wrong(at+".watch", apartText, "watch", p.what, p.path, l.Watch, p.setting)
			}
			for _, folder := range l.Instrument.From {
				if taken(folder, p, l.Spectra.Files) {
					d.wrong(at+".instrument.from", apartText, "from", p.what, p.path, folder, p.setting)
				}
			}
		}
	}
}

const apartText = "%s: %s, %s, lies in %s, which is watched, and would be read as spectra; give the spectra a folder of their own, or have %s name another place"

// taken reports whether a line that watches the folder would take a file of the product for one of its own.
func taken(folder string, p product, patterns arrive.Patterns) bool {
	if folder == "" || p.path == "" {
		return false
	}
	folder, err := filepath.Abs(folder)
	path, err2 := filepath.Abs(p.path)
	if err != nil || err2 != nil || !inside(folder, path) {
		return false
	}
	below, err := filepath.Rel(folder, filepath.Dir(path))
	if err != nil {
		return false
	}
	return slices.ContainsFunc(p.names, func(name string) bool {
		rel := filepath.ToSlash(filepath.Join(below, name))
		hidden := func(part string) bool { return part != "." && part != ".." && arrive.Leftover(part) }
		return !slices.ContainsFunc(strings.Split(rel, "/"), hidden) && patterns.Take(rel)
	})
}
