package config

import (
	"regexp"
	"slices"
	"strings"
)

// headings returns under which headings of the sample a key stands, and, for the name of a table, how its heading is written. The sample
// has every setting there is, most of them behind a mark, with their headings: whoever takes the mark of a key away and not that of
// its heading has it in the table before.
func headings(key string) (under []string, written string) {
	heading := ""
	for _, m := range regexp.MustCompile(`(?m)^#?(?:(\[\[?[a-z.]+\]?\])$|([a-z0-9-]+) = )`).FindAllStringSubmatch(sampleText, -1) {
		if m[1] != "" {
			heading = m[1]
			bare := strings.Trim(heading, "[]")
			if bare[strings.LastIndexByte(bare, '.')+1:] == key && written == "" {
				written = heading
			}
			continue
		}
		if m[2] == key && heading != "" && !slices.Contains(under, heading) {
			under = append(under, heading)
		}
	}
	return under, written
}

// belongs says where a key that its table does not know has its place, "" where there is none.
func belongs(key, in string) string {
	under, written := headings(key)
	switch {
	case len(under) > 0:
		return "it belongs under " + strings.Join(under, " or ") + ", a heading that has to stand above it without a mark"
	case written != "" && written != in:
		return "its heading is " + written
	}
	return ""
}
