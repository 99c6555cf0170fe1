package config

import (
	"fmt"
	"os"
	"strings"
	"time"

	"asusual/cmd/asusual/shift"
	"asusual/model/limits"
	"asusual/model/pretreat"
	"asusual/model/spectrum"
	"asusual/monitor/arrive"
	"asusual/report"
)

// Name is the name under which the commands look for the configuration in the current folder.
const Name = "asusual.toml"

// A Config is all that a configuration file says. Its zero value is a site without lines.
type Config struct {
	File       string // where it was read from; "" for none
	Site       Site
	Lines      []Line
	Shifts     []shift.Shift
	History    string // the file of the history, whole path; with a server, what is kept here on its way there
	Server     string // the address of the database that the history is on; "" where it is the file
	Keep       Keeping
	MeanLength time.Duration // over which a mean spectrum is taken; 0: history.UsualLength
	Reports    string        // the folder of the reports, whole path
	Signal     Signal
	Live       Live
}

// A Site is what all its lines share.
type Site struct {
	Name     string
	Zone     *time.Location   // of shifts, reports and times that spectra give without an offset
	Language *report.Language // of reports and the live page; nil: English
	// Histories are those of other lines that the page over all lines shows, too: files or addresses of servers.
	Histories []string
}

// A Line is one place where a spectrometer looks at production.
type Line struct {
	Name       string
	Watch      string // the folder that the spectrometer writes to
	Good       []string
	Reference  string // the reference file
	Promise    limits.Promise
	Components int // 0: chosen while learning
	// ApprovedOnly has a watch accept only references that a person approved.
	ApprovedOnly bool
	KeepAll      bool // learn from every known-good spectrum, also from those that do not belong
	Spectra      Spectra
	Instrument   Instrument
	Items        *Items // nil: every spectrum stands for itself
	Conditions   []Condition
	Order        arrive.Order    // in which files are judged that wait
	Settle, Poll time.Duration   // see arrive.Options; with a Poll no notifications are asked for; 0: as usual there
	Grace        time.Duration   // how long the line may be on its way out of a condition
	Fresh        time.Duration   // for how long a verdict holds while nothing is judged; 0: as long as it likes
	Steps        []pretreat.Step // the pretreatment, in order
	Auto         bool            // the pretreatment is chosen while learning
	KeepCO2      bool            // keep the region of the air's carbon dioxide in mid-infrared spectra
}

// Spectra says how the files of a line are read. Its zero value finds everything out.
type Spectra struct {
	Axis     spectrum.Unit
	Quantity spectrum.Quantity
	Percent  bool // reflectance and transmittance stand in percent
	Time     spectrum.TimeFrom
	Layout   string // the form of the time in a file's name, as the time package writes it; "" for the usual ones
	Columns  Columns
	Runs     Runs
	Files    []string // patterns of names that are spectra; none: every file that is no leftover or system file
	MaxBytes int64    // a larger file is refused; 0 for the default
}

// Columns are the names of the leading columns of a table; "" takes the usual ones.
type Columns struct{ Time, Run, Label string }

// Read reads the configuration file of that path.
func Read(path string) (*Config, error) {
	text, err := os.ReadFile(path)
	if err != nil {
		return nil, err
	}
	return Decode(path, string(text))
}

const oneOfThem = "--line NAME, with one of the names in " + Name

// Find returns the line of that name; of the name "" the only line. It says which lines there are where it cannot.
func (c *Config) Find(name string) (Line, error) {
	var names []string
	for _, l := range c.Lines {
		if strings.EqualFold(l.Name, name) || name == "" && len(c.Lines) == 1 {
			return l, nil
		}
		names = append(names, fmt.Sprintf("%q", l.Name))
	}
	switch {
	case len(names) == 0:
		return Line{}, &Missing{"no [[line]] in the configuration",
			"asusual init FOLDER, which looks at your spectra and writes " + Name + "; or --config FILE, where it lies elsewhere"}
	case name == "":
		return Line{}, &Missing{"the configuration has " + fmt.Sprint(len(names)) + " lines and none was chosen; they are " + strings.Join(names, ", "), oneOfThem}
	}
	return Line{}, &Missing{fmt.Sprintf("line %q is not in the configuration; it has %s", name, strings.Join(names, ", ")), oneOfThem}
}

// A Missing says what a command needs and does not have, and what to try.
type Missing struct{ What, Try string }

func (m *Missing) Error() string { return m.What }

// Plan returns the shifts and their time zone.
func (c *Config) Plan() shift.Plan { return shift.Plan{Zone: c.Zone(), Shifts: c.Shifts} }

// Zone returns the time zone of the site, that of this computer where the configuration names none.
func (c *Config) Zone() *time.Location {
	if c.Site.Zone == nil {
		return time.Local
	}
	return c.Site.Zone
}
