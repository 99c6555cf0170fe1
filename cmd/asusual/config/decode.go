package config

import (
	"errors"
	"fmt"
	"path/filepath"
	"regexp"
	"strings"
	"time"

	"github.com/BurntSushi/toml"

	"asusual/cmd/asusual/shift"
	"asusual/model/limits"
	"asusual/model/pretreat"
	"asusual/model/spectrum"
	"asusual/monitor/arrive"
	"asusual/monitor/keep"
	"asusual/report"
)

// Decode reads the text of a configuration file. The name file stands in messages, and relative paths start at its
// folder. What is wrong comes back as an *Error that names every line.
func Decode(file, text string) (*Config, error) {
	text = strings.TrimPrefix(text, "\ufeff") // editors on Windows may put a mark before the first byte
	var vals map[string]any
	if _, err := toml.Decode(text, &vals); err != nil {
		return nil, syntax(file, text, err)
	}
	d := &document{file: file, lines: keyLines(text), seen: map[string]bool{}}
	c := decode(d, vals)
	if err := d.err(); err != nil {
		return nil, err
	}
	return c, nil
}

// hasHistoryKey reports whether a configuration states its history as those did from before it had a table.
func hasHistoryKey(text string) bool {
	return regexp.MustCompile(`(?m)^[ \t]*history[ \t]*=`).MatchString(text)
}

// syntax turns the library's error into a problem of ours.
func syntax(file, text string, err error) error {
	var p toml.ParseError
	if !errors.As(err, &p) {
		return &Error{File: file, Problems: []Problem{{Text: err.Error()}}}
	}
	said := strings.TrimSuffix(p.Message, ".")
	if _, key, ok := strings.Cut(said, "Key '"); ok && strings.HasSuffix(said, "has already been defined") {
		said += ": it stands there twice"
		if strings.HasPrefix(key, "history'") && hasHistoryKey(text) {
			said += "; write file = \"…\" or server = \"…\" under [history], and take history = … at the top out"
		}
	}
	if backslashed(text, p.Position.Line) {
		said += ": " + quoting
	}
	return &Error{File: file, Problems: []Problem{{Line: p.Position.Line, Text: said}}}
}

func decode(d *document, vals map[string]any) *Config {
	c := &Config{File: d.file, History: beside(d.file, "asusual.history"), Reports: beside(d.file, "reports"), Signal: Signal{State: beside(d.file, "state.json")}}
	top := &table{doc: d, vals: vals}
	if t := top.table("site"); t != nil {
		t.text("name", &c.Site.Name)
		t.parse("time-zone", func(s string) (err error) {
			c.Site.Zone, err = zone(s)
			return err
		})
		t.parse("language", func(s string) (err error) {
			c.Site.Language, err = language(s)
			return err
		})
		decodeHistories(t, c)
		t.end()
	}
	d.zone = c.Zone()
	for _, t := range top.tables("line") {
		c.Lines = append(c.Lines, decodeLine(t))
	}
	lineName := func(i int) string { return c.Lines[i].Name }
	twice(d, "line", len(c.Lines), lineName)
	oneFolder(d, "line", len(c.Lines), lineName)
	for _, t := range top.tables("shift") {
		c.Shifts = append(c.Shifts, decodeShift(t))
	}
	shiftName := func(i int) string { return c.Shifts[i].Name }
	twice(d, "shift", len(c.Shifts), shiftName)
	oneFolder(d, "shift", len(c.Shifts), shiftName)
	decodeHistory(top, c)
	if t := top.table("reports"); t != nil {
		t.filePath("folder", &c.Reports)
		t.end()
	}
	if t := top.table("signal"); t != nil {
		decodeSignal(t, &c.Signal)
	}
	if t := top.table("live"); t != nil {
		decodeLive(t, &c.Live)
	}
	apart(d, c)
	top.end()
	return c
}

// language returns the language of that tag.
func language(s string) (*report.Language, error) {
	if l, ok := report.Of(s); ok {
		return l, nil
	}
	return nil, fmt.Errorf("%q is not a language of the reports; they speak en and de", s)
}

// zone returns the time zone of that name.
func zone(s string) (*time.Location, error) {
	if z, err := time.LoadLocation(s); err == nil && s != "" && s != "Local" {
		return z, nil
	}
	return nil, fmt.Errorf("%q is not a time zone such as Europe/Helsinki or UTC", s)
}

// shortest is the shortest time that a file may be waited for, or that a folder is listed in.
const shortest = 10 * time.Millisecond

func decodeLine(t *table) Line {
	l := Line{Auto: true, Grace: Grace, Fresh: Fresh}
	t.text("name", &l.Name)
	if l.Name == "" && !t.hasOther("name") {
		t.doc.wrong(t.path, "a [[line]] needs a name")
	}
	t.filePath("watch", &l.Watch)
	t.filePaths("good", &l.Good)
	t.filePath("reference", &l.Reference)
	t.parse("promise", func(s string) (err error) {
		l.Promise, err = limits.ParsePromise(s)
		return err
	})
	t.count("components", &l.Components)
	t.flag("keep-all", &l.KeepAll)
	t.flag("approved-only", &l.ApprovedOnly)
	t.flag("keep-carbon-dioxide", &l.KeepCO2)
	t.duration("grace", 0, &l.Grace)
	t.duration("fresh", 0, &l.Fresh)
	t.parse("order", func(s string) (err error) {
		l.Order, err = arrive.ParseOrder(s)
		return err
	})
	t.duration("settle", shortest, &l.Settle)
	t.duration("poll", shortest, &l.Poll)
	if s := t.table("spectra"); s != nil {
		l.Spectra = decodeSpectra(s)
	}
	if s := t.table("instrument"); s != nil {
		l.Instrument = decodeInstrument(s)
	}
	if s := t.table("interferogram"); s != nil {
		l.Instrument.Fourier = decodeInterferogram(s)
	}
	for _, s := range t.tables("condition") {
		l.Conditions = append(l.Conditions, decodeCondition(s))
	}
	if s := t.table("items"); s != nil {
		l.Items = decodeItems(s, l.Conditions)
	}
	twice(t.doc, t.at("condition"), len(l.Conditions), func(i int) string { return l.Conditions[i].Name })
	for _, s := range t.tables("pretreatment") {
		step := decodeStep(s)
		l.Auto = false
		if step.Name != "none" {
			l.Steps = append(l.Steps, step)
		}
	}
	for _, good := range l.Good {
		if l.AmongWatched(good) {
			t.doc.wrong(t.at("watch"), "the watched folder and the known-good folder lie in each other; known-good spectra need a folder of their own")
		}
	}
	t.end()
	return l
}

// AmongWatched reports whether a path lies in the watched folder, or that in it, so that known-good spectra cannot be named by it.
func (l Line) AmongWatched(path string) bool {
	watch, err := filepath.Abs(l.Watch)
	whole, err2 := filepath.Abs(path)
	return l.Watch != "" && err == nil && err2 == nil && (inside(watch, whole) || inside(whole, watch))
}

// inside reports whether the path lies in the folder, or is it.
func inside(folder, path string) bool {
	rel, err := filepath.Rel(folder, path)
	return err == nil && rel != ".." && !strings.HasPrefix(rel, ".."+string(filepath.Separator))
}

func decodeSpectra(t *table) Spectra {
	var s Spectra
	t.parse("axis", func(v string) (err error) {
		if v != "auto" {
			s.Axis, err = spectrum.ParseUnit(v)
		}
		return err
	})
	t.parse("quantity", func(v string) (err error) {
		if v != "auto" {
			s.Quantity, err = spectrum.ParseQuantity(v)
		}
		return err
	})
	t.flag("percent", &s.Percent)
	t.parse("time", func(v string) (err error) {
		s.Time, err = spectrum.ParseTimeFrom(v)
		return err
	})
	t.parse("name-pattern", func(v string) (err error) {
		s.Layout, err = ParseLayout(v)
		return err
	})
	t.text("time-column", &s.Columns.Time)
	t.text("run-column", &s.Columns.Run)
	t.text("label-column", &s.Columns.Label)
	t.parse("runs", func(v string) (err error) {
		s.Runs, err = ParseRuns(v)
		return err
	})
	t.texts("files", &s.Files)
	for _, p := range s.Files {
		if err := (arrive.Patterns{p}).Check(); err != nil { // as the watch asks, which takes a backslash for an escape on Windows, too
			t.doc.wrong(t.at("files"), "files: %q is not a pattern such as *.csv", p)
		}
	}
	var mb float64
	t.number("largest-mb", &mb)
	if mb < 0 || mb > 1<<20 {
		t.wrongKind("largest-mb", mb, "a number of megabytes above 0")
	}
	s.MaxBytes = int64(mb * 1e6)
	t.end()
	return s
}

func decodeStep(t *table) pretreat.Step {
	var s pretreat.Step
	t.parse("step", func(v string) error {
		s.Name = v
		if v == "none" {
			return nil
		}
		return checkStep(v)
	})
	if s.Name == "" && !t.hasOther("step") {
		t.doc.wrong(t.path, "a [[line.pretreatment]] needs a step, one of %s", stepNames())
	}
	t.number("window", &s.Window)
	t.count("degree", &s.Degree)
	t.count("order", &s.Order)
	t.number("from", &s.From)
	t.number("to", &s.To)
	t.end()
	return s
}

func decodeShift(t *table) shift.Shift {
	var s shift.Shift
	t.text("name", &s.Name)
	if s.Name == "" && !t.hasOther("name") {
		t.doc.wrong(t.path, "a [[shift]] needs a name")
	}
	for _, key := range []string{"from", "to"} {
		dst := map[string]*shift.Clock{"from": &s.From, "to": &s.To}[key]
		if at, ok := t.vals[key].(time.Time); ok {
			t.vals[key] = at.Format("15:04") // 06:00:00 without quotes is a time in TOML
		}
		if !t.has(key) {
			t.doc.wrong(t.path, "shift %q needs %s, a time of day such as 06:00", s.Name, key)
		}
		t.parse(key, func(v string) (err error) {
			*dst, err = shift.ParseClock(v)
			return err
		})
	}
	t.end()
	return s
}

// twice names what carries the name of an earlier one of its kind; what has no name was told already.
func twice(d *document, path string, n int, name func(i int) string) {
	for i := range n {
		for j := range i {
			if name(i) != "" && strings.EqualFold(name(i), name(j)) {
				d.wrong(fmt.Sprintf("%s[%d].name", path, i), "name: %q is taken by an earlier one", name(i))
				break
			}
		}
	}
}

// oneFolder names what would have its reports in the folder of an earlier one of its kind, though it carries another name.
func oneFolder(d *document, path string, n int, name func(i int) string) {
	for i := range n {
		for j := range i {
			a, b := name(i), name(j)
			if folder := keep.FolderName(a); a != "" && b != "" && !strings.EqualFold(a, b) && folder == keep.FolderName(b) {
				d.wrong(fmt.Sprintf("%s[%d].name", path, i), "name: %q is too like %q, and the reports of both would lie in the folder %s; let them differ in a letter or a figure", a, b, folder)
				break
			}
		}
	}
}
