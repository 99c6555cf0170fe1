package config

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"asusual/model/pretreat"
)

// Runs says how spectra fall into runs. Its zero value leaves that to what is found: a column of runs, folders, or gaps.
type Runs struct {
	Folder bool
	Gap    time.Duration
	Column string
}

// ParseRuns reads "auto", "folder", "gap=30m" or "column=NAME".
func ParseRuns(s string) (Runs, error) {
	word, value, _ := strings.Cut(s, "=")
	switch {
	case s == "" || s == "auto":
		return Runs{}, nil
	case s == "folder":
		return Runs{Folder: true}, nil
	case word == "column" && strings.TrimSpace(value) != "":
		return Runs{Column: strings.TrimSpace(value)}, nil
	case word == "gap":
		d, err := time.ParseDuration(value)
		if err != nil || d <= 0 {
			return Runs{}, fmt.Errorf("%q is not a duration such as 30m or 2h", value)
		}
		return Runs{Gap: d}, nil
	}
	return Runs{}, fmt.Errorf("%q is not one of auto, folder, gap=DURATION, column=NAME", s)
}

// String returns what ParseRuns takes.
func (r Runs) String() string {
	switch {
	case r.Folder:
		return "folder"
	case r.Column != "":
		return "column=" + r.Column
	case r.Gap > 0:
		return "gap=" + r.Gap.String()
	}
	return "auto"
}

// ParseLayout turns a pattern such as YYYYMMDD-hhmmss into the layout of the time package: YYYY the year, MM the month,
// DD the day, hh mm ss the time, .fff or ,fff the milliseconds.
func ParseLayout(pattern string) (string, error) {
	if pattern == "" {
		return "", nil
	}
	for _, part := range []string{"YYYY", "MM", "DD", "hh", "mm"} {
		if strings.Count(pattern, part) != 1 {
			return "", fmt.Errorf("%q does not have %s once; a pattern is like YYYYMMDD-hhmmss", pattern, part)
		}
	}
	if strings.ContainsAny(pattern, "0123456789") {
		return "", fmt.Errorf("%q holds a figure; write YYYY, MM, DD, hh, mm, ss, .fff where figures stand", pattern)
	}
	write := func(as ...string) string { // year, month, day, hour, minute, second
		return strings.NewReplacer("YYYY", as[0], "MM", as[1], "DD", as[2], "hh", as[3], "mm", as[4], "ss", as[5], ".fff", ".000", ",fff", ",000").
			Replace(pattern)
	}
	layout := write("2006", "01", "02", "15", "04", "05")
	if strings.Contains(layout, "fff") {
		return "", fmt.Errorf("%q has fff without a point or a comma before it, which cannot be read as thousandths; leave fff out, and they are passed over", pattern)
	}
	if time.Date(2034, 11, 28, 9, 43, 57, 0, time.UTC).Format(layout) != write("2034", "11", "28", "09", "43", "57") {
		return "", fmt.Errorf("%q has letters that would be read as part of a time, such as PM or Mon; leave them out, for a time is found wherever it stands in the name; "+
			`but the hours of a clock of twelve, with AM and PM, cannot be read: have the instrument write 24 hours, or take time = "header" or "modified" in place of the pattern`, pattern)
	}
	return layout, nil
}

// ParseSteps reads a pretreatment as the command line writes it: steps divided by commas, each followed by its settings,
// as in "snv, derivative window=15 degree=2 order=1". "auto" leaves the choice to learning, "none" has no steps.
func ParseSteps(s string) (steps []pretreat.Step, auto bool, err error) {
	switch s = strings.TrimSpace(s); s {
	case "", "auto":
		return nil, true, nil
	case "none":
		return nil, false, nil
	}
	for part := range strings.SplitSeq(s, ",") {
		words := strings.Fields(part)
		if len(words) == 0 {
			return nil, false, fmt.Errorf("%q: a step is missing beside a comma", s)
		}
		step, err := parseStep(words[0], words[1:])
		if err != nil {
			return nil, false, err
		}
		steps = append(steps, step)
	}
	return steps, false, nil
}

func parseStep(name string, settings []string) (pretreat.Step, error) {
	step := pretreat.Step{Name: name}
	if name == "second-derivative" {
		step = pretreat.Step{Name: pretreat.Derivative, Order: 2}
	}
	for _, w := range settings {
		key, value, ok := strings.Cut(w, "=")
		if !ok {
			return step, fmt.Errorf("step %s: %q is not a setting such as window=15", name, w)
		}
		if err := set(&step, key, value); err != nil {
			return step, fmt.Errorf("step %s: %w", name, err)
		}
	}
	return step, checkStep(step.Name)
}

func set(s *pretreat.Step, key, value string) (err error) {
	switch key {
	case "window":
		s.Window, err = strconv.ParseFloat(value, 64)
	case "from":
		s.From, err = strconv.ParseFloat(value, 64)
	case "to":
		s.To, err = strconv.ParseFloat(value, 64)
	case "degree":
		s.Degree, err = strconv.Atoi(value)
	case "order":
		s.Order, err = strconv.Atoi(value)
	default:
		return fmt.Errorf("setting %q is not one of window, degree, order, from, to", key)
	}
	if err != nil {
		return fmt.Errorf("%s=%s is not a number that it can be", key, value)
	}
	return nil
}

// stepNames are the steps of a pretreatment, as a text lists them.
func stepNames() string { return strings.Join(pretreat.Names(), ", ") }

// checkStep says whether there is a step of that name; its settings are judged where it is fitted to an axis.
func checkStep(s string) error {
	if !slices.Contains(pretreat.Names(), s) {
		return fmt.Errorf("step %q is not one of %s", s, stepNames())
	}
	return nil
}
