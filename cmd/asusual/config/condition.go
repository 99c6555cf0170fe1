package config

import (
	"fmt"
	"strings"
	"time"

	"asusual/cmd/asusual/shift"
)

// A Condition is a named state of the line and the spectra that show it.
type Condition struct {
	Name     string
	From     []string      // none: one that was named from a group, of which only times are stated
	Expected []shift.Hours // of the day; none: it may come at any time
	Longest  time.Duration // that a stay in it may last; 0: half as long again as the longest that was learned from
}

// Grace is how long a line may be on its way out of a named condition where nothing is stated. Common practice, no source: what
// is left in a filler's pipes is through within a minute or two.
const Grace = 2 * time.Minute

// Fresh is for how long a verdict holds while nothing is judged, where nothing is stated: chosen so that a cleaning or a change of product
// is no silence.
const Fresh = time.Hour

func decodeCondition(t *table) Condition {
	var c Condition
	t.text("name", &c.Name)
	t.filePaths("from", &c.From)
	var hours []string
	t.texts("expected", &hours)
	for _, s := range hours {
		h, err := shift.ParseHours(s)
		if err != nil {
			t.doc.wrong(t.at("expected"), "expected: %v", err)
			continue
		}
		c.Expected = append(c.Expected, h)
	}
	t.duration("longest", time.Second, &c.Longest)
	switch err := CheckCondition(c.Name); {
	case c.Name == "":
		t.doc.wrong(t.path, "a [[line.condition]] needs a name")
	case err != nil:
		t.doc.wrong(t.at("name"), "name: %v", err)
	case len(c.From) == 0 && !t.has("expected") && !t.has("longest"):
		t.doc.wrong(t.path, "condition %q needs from, the folder of its spectra", c.Name)
	}
	t.end()
	return c
}

// CheckCondition says whether a condition may have that name.
func CheckCondition(name string) error {
	switch strings.ToLower(name) {
	case "usual", "uncharted", "unfit", "transition":
		return fmt.Errorf("%q has a meaning of its own here; choose another name", name)
	}
	return nil
}

// Longest returns how long stays in the conditions of the line may last, where that is stated.
func (l *Line) Longest() map[string]time.Duration {
	all := map[string]time.Duration{}
	for _, c := range l.Conditions {
		if c.Longest > 0 {
			all[c.Name] = c.Longest
		}
	}
	return all
}

// Expected returns what tells, by the clock of the zone, whether a condition is expected at a time, where that is stated.
func (l *Line) Expected(zone *time.Location) map[string]func(time.Time) bool {
	all := map[string]func(time.Time) bool{}
	for _, c := range l.Conditions {
		if len(c.Expected) > 0 {
			all[c.Name] = shift.Within(c.Expected, zone)
		}
	}
	return all
}
