package config

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"asusual/cmd/asusual/shift"
)

// An Error lists what is wrong in a configuration file, in the order of its lines.
type Error struct {
	File     string
	Problems []Problem
}

// A Problem is one thing that is wrong.
type Problem struct {
	Line int // 0 where no line can be named
	Text string
}

func (e *Error) Error() string {
	var lines []string
	for _, p := range e.Problems {
		if p.Line == 0 {
			lines = append(lines, fmt.Sprintf("%s: %s", e.File, p.Text))
			continue
		}
		lines = append(lines, fmt.Sprintf("%s: line %d: %s", e.File, p.Line, p.Text))
	}
	return strings.Join(lines, "\n")
}

// A document is one file while it is decoded: where each key stands, and what was found wrong so far.
type document struct {
	file     string
	lines    map[string]int // the line of each key's path, such as line[0].spectra.axis
	seen     map[string]bool
	zone     *time.Location // of moments without an offset
	problems []Problem
}

func (d *document) wrong(path, format string, args ...any) {
	d.problems = append(d.problems, Problem{Line: d.line(path), Text: fmt.Sprintf(format, args...)})
}

// line returns the line of the path, or of the nearest table around it.
func (d *document) line(path string) int {
	for path != "" {
		if n, ok := d.lines[strings.ToLower(path)]; ok {
			return n
		}
		path = path[:max(strings.LastIndexByte(path, '.'), 0)]
	}
	return 0
}

func (d *document) err() error {
	if len(d.problems) == 0 {
		return nil
	}
	slices.SortStableFunc(d.problems, func(a, b Problem) int { return a.Line - b.Line })
	return &Error{File: d.file, Problems: d.problems}
}

// A table is one table of the document. Each method asks for one key; end then names the keys that nobody asked for.
type table struct {
	doc   *document
	name  string // as a person writes it: [[line]]
	path  string // as lines has it: line[0]
	vals  map[string]any
	asked []string
}

func (t *table) at(key string) string {
	if t.path == "" {
		return key
	}
	return t.path + "." + key
}

func (t *table) get(key string) (any, bool) {
	t.asked = append(t.asked, key)
	t.doc.seen[t.name+" "+key] = true
	v, ok := t.vals[key]
	return v, ok
}

func (t *table) has(key string) bool { _, ok := t.vals[key]; return ok }

// hasOther reports whether the key stands there with something that is no text, which is told already.
func (t *table) hasOther(key string) bool {
	v, ok := t.vals[key]
	_, text := v.(string)
	return ok && !text
}

func (t *table) wrongKind(key string, v any, want string) {
	t.doc.wrong(t.at(key), "%s is %s; it must be %s", key, say(v), want)
}

// say returns the value as a person would read it in the file.
func say(v any) string {
	switch v := v.(type) {
	case string:
		return strconv.Quote(v)
	case map[string]any, []map[string]any:
		return "a table"
	case []any:
		return "a list"
	case time.Time:
		return "a date or time"
	}
	return fmt.Sprint(v)
}

func (t *table) text(key string, dst *string) {
	v, ok := t.get(key)
	if !ok {
		return
	}
	s, ok := v.(string)
	if !ok {
		t.wrongKind(key, v, "text in quotes")
		return
	}
	*dst = s
}

// parse hands the text of the key to set, whose error says what is allowed.
func (t *table) parse(key string, set func(s string) error) {
	before := len(t.doc.problems)
	var s string
	t.text(key, &s)
	if !t.has(key) || len(t.doc.problems) > before {
		return
	}
	if err := set(s); err != nil {
		text := err.Error()
		if !strings.HasPrefix(text, key) {
			text = key + ": " + text
		}
		t.doc.wrong(t.at(key), "%s", text)
	}
}

// filePath reads a path and makes it whole.
func (t *table) filePath(key string, dst *string) {
	t.parse(key, func(s string) (err error) {
		if s == "" {
			return fmt.Errorf("it is empty; write a path, or take the line out")
		}
		*dst, err = whole(t.doc.file, s)
		return err
	})
}

// texts reads one text or a list of them.
func (t *table) texts(key string, dst *[]string) {
	v, ok := t.get(key)
	if !ok {
		return
	}
	list, ok := v.([]any)
	if !ok {
		list = []any{v}
	}
	for _, v := range list {
		s, ok := v.(string)
		if !ok || s == "" {
			t.wrongKind(key, v, "text in quotes, or a list of such")
			return
		}
		*dst = append(*dst, s)
	}
}

func (t *table) filePaths(key string, dst *[]string) {
	t.texts(key, dst)
	for i, p := range *dst {
		(*dst)[i] = t.whole(key, p)
	}
}

// whole makes a path whole that is one of several.
func (t *table) whole(key, path string) string {
	path, err := whole(t.doc.file, path)
	if err != nil {
		t.doc.wrong(t.at(key), "%s: %v", key, err)
	}
	return path
}

func (t *table) number(key string, dst *float64) {
	v, ok := t.get(key)
	if !ok {
		return
	}
	switch v := v.(type) {
	case int64:
		*dst = float64(v)
	case float64:
		if v-v != 0 { // infinite or no number
			t.wrongKind(key, v, "a number")
		}
		*dst = v
	default:
		t.wrongKind(key, v, "a number without quotes")
	}
}

func (t *table) count(key string, dst *int) {
	v, ok := t.get(key)
	if !ok {
		return
	}
	n, ok := v.(int64)
	if !ok || n < 0 || n > 1<<31-1 {
		t.wrongKind(key, v, "a whole number, 0 or above")
		return
	}
	*dst = int(n)
}

// duration reads a duration that is at least as long as that.
func (t *table) duration(key string, least time.Duration, dst *time.Duration) {
	t.parse(key, func(s string) error {
		d, err := time.ParseDuration(s)
		if err != nil || d < least {
			return fmt.Errorf("%q is not a duration such as 90s, 2m or 1h30m", s)
		}
		*dst = d
		return nil
	})
}

// moment reads a day or a moment, which TOML may hold as one of its own.
func (t *table) moment(key string, dst *time.Time) {
	if at, ok := t.vals[key].(time.Time); ok {
		switch at.Location().String() {
		case "date-local":
			t.vals[key] = at.Format(time.DateOnly)
		case "datetime-local":
			t.vals[key] = at.Format("2006-01-02T15:04:05")
		default:
			t.vals[key] = at.Format(time.RFC3339)
		}
	}
	t.parse(key, func(s string) error {
		p, err := shift.Plan{Zone: t.doc.zone}.When(s)
		*dst = p.From
		return err
	})
}

func (t *table) flag(key string, dst *bool) {
	v, ok := t.get(key)
	if !ok {
		return
	}
	if *dst, ok = v.(bool); !ok {
		t.wrongKind(key, v, "true or false")
	}
}

// table returns the table under the key, and nil where there is none.
func (t *table) table(key string) *table {
	v, ok := t.get(key)
	if !ok {
		return nil
	}
	name := "[" + strings.ReplaceAll(strings.Trim(t.name+"."+key, "[]."), "]", "") + "]"
	m, ok := v.(map[string]any)
	if !ok {
		t.doc.wrong(t.at(key), "%s is not a table; write it as %s", key, name)
		return nil
	}
	return &table{doc: t.doc, name: name, path: t.at(key), vals: m}
}

// tables returns the tables of the array under the key.
func (t *table) tables(key string) []*table {
	v, ok := t.get(key)
	if !ok {
		return nil
	}
	name := "[[" + strings.ReplaceAll(strings.Trim(t.name+"."+key, "[]."), "]", "") + "]]"
	list, ok := v.([]map[string]any)
	if !ok {
		t.doc.wrong(t.at(key), "%s must be written as %s, in double brackets", key, name)
		return nil
	}
	var all []*table
	for i, m := range list {
		all = append(all, &table{doc: t.doc, name: name, path: fmt.Sprintf("%s[%d]", t.at(key), i), vals: m})
	}
	return all
}

// end names the keys of the table that nobody asked for.
func (t *table) end() {
	var keys []string
	for key := range t.vals {
		if !slices.Contains(t.asked, key) {
			keys = append(keys, key)
		}
	}
	slices.Sort(keys)
	for _, key := range keys {
		in := " in " + t.name
		if t.name == "" {
			in = ""
		}
		if place := belongs(key, t.name); place != "" {
			t.doc.wrong(t.at(key), "unknown key %q%s; %s", key, in, place)
			continue
		}
		if near := nearest(key, t.asked); near != "" {
			t.doc.wrong(t.at(key), "unknown key %q%s; is %q meant?", key, in, near)
			continue
		}
		t.doc.wrong(t.at(key), "unknown key %q%s; known are %s", key, in, strings.Join(t.asked, ", "))
	}
}

// nearest returns the word of the list that is at most two edits from s, "" where none is.
func nearest(s string, list []string) string {
	best, least := "", 3
	for _, w := range list {
		if d := edits(strings.ToLower(s), w); d < least && d < len(w) {
			best, least = w, d
		}
	}
	return best
}

// edits returns the Levenshtein distance of a and b, byte by byte.
func edits(a, b string) int {
	row := make([]int, len(b)+1)
	for j := range row {
		row[j] = j
	}
	for i := range len(a) {
		diagonal := row[0]
		row[0] = i + 1
		for j := range len(b) {
			cost := 1
			if a[i] == b[j] {
				cost = 0
			}
			diagonal, row[j+1] = row[j+1], min(row[j]+1, row[j+1]+1, diagonal+cost)
		}
	}
	return row[len(b)]
}
