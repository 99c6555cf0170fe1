package main

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"asusual/cmd/asusual/config"
	"asusual/cmd/asusual/gather"
	"asusual/cmd/asusual/shift"
	"asusual/cmd/asusual/words"
	"asusual/model/spectrum"
	"asusual/monitor/arrive"
	"asusual/monitor/keep"
)

type initOptions struct {
	good  []string
	watch string
	name  string
	print bool

	service string
}

func (a *app) initCommand() *cobra.Command {
	var o initOptions
	c := &cobra.Command{
		Use:  "init",
		Args: cobra.MaximumNArgs(1),
		RunE: func(c *cobra.Command, args []string) error {
			dir := "."
			if len(args) > 0 {
				dir = args[0]
			}
			if o.service != "" {
				return a.service(o.service, dir)
			}
			dir, o, err := pointedAt(c.Context(), dir, o)
			if err != nil {
				return err
			}
			return a.init(c.Context(), dir, o)
		},
	}
	f := c.Flags()
	f.StringArrayVar(&o.good, "good", nil, "`PATH` of known-good spectra (may be given several times; default good)")
	f.StringVar(&o.watch, "watch", "", "the `FOLDER` that the spectrometer writes to (default spectra)")
	f.StringVar(&o.name, "name", "Line 1", "the `NAME` of the line")
	f.BoolVar(&o.print, "print", false, "write the file to the terminal, with every setting there is, and nothing else")
	f.StringVar(&o.service, "service", "", "write to the terminal what runs watch as a service, `WITH` systemd or windows, and nothing else")
	return c
}

// usualShifts stand in a new configuration, for the person to put right.
var usualShifts = []shift.Shift{{Name: "day", From: 6 * 60, To: 18 * 60}, {Name: "night", From: 18 * 60, To: 6 * 60}}

func (a *app) init(ctx context.Context, dir string, o initOptions) error {
	answers := config.Answers{
		Line: o.name, Watch: below(dir, o.watch, "spectra"), Reference: "line.reference", Shifts: usualShifts, Zone: localZone(),
	}
	for _, g := range o.good {
		answers.Good = append(answers.Good, below(dir, g, ""))
	}
	if len(o.good) == 0 {
		answers.Good = []string{"good"}
	}
	if o.print {
		_, err := io.WriteString(a.out, config.Sample(config.Answers{Line: o.name, Watch: answers.Watch, Good: answers.Good, Reference: answers.Reference}))
		return err
	}
	file := filepath.Join(dir, config.Name)
	if _, err := os.Lstat(file); err == nil {
		return &words.Exists{Path: file}
	}
	_, missing := os.Stat(dir)
	answers.Conditions = conditionsIn(dir)
	if err := a.lookAtGood(ctx, dir, &answers); err != nil {
		return err
	}
	text := config.Sample(answers)
	c, err := config.Decode(file, text)
	if err != nil {
		return err
	}
	if err := writeSetUp(c, text); err != nil {
		return err
	}
	if a.json {
		return writeJSON(a.out, setUp(file, missing != nil, c.Lines[0], answers))
	}
	a.tellSetUp(file, dir, missing != nil, c.Lines[0], answers)
	return nil
}

// A shiftLine is a shift as other programs read it.
type shiftLine struct {
	Name string `json:"name"`
	From string `json:"from"`
	To   string `json:"to"`
}

// setUp is what init wrote, for other programs.
func setUp(file string, made bool, l config.Line, answers config.Answers) any {
	shifts := []shiftLine{}
	for _, s := range answers.Shifts {
		shifts = append(shifts, shiftLine{s.Name, s.From.String(), s.To.String()})
	}
	return struct {
		Kind   string      `json:"kind"`
		File   string      `json:"file"`
		Made   bool        `json:"folder_made"` // the folder of the settings was not there
		Line   string      `json:"line"`
		Watch  string      `json:"watch"`
		Good   []string    `json:"good"`
		Found  []string    `json:"found"` // of the known-good spectra that are there
		Shifts []shiftLine `json:"shifts"`
	}{"set-up", file, made, l.Name, l.Watch, l.Good, orNone(answers.Found), shifts}
}

// tellSetUp says to a person what was written, and what comes next.
func (a *app) tellSetUp(file, dir string, made bool, l config.Line, answers config.Answers) {
	a.say("%s is written.", file)
	if made {
		a.say("%s was not there, and is a new folder for the settings. If you have spectra already, asusual init on their folder looks at them.", dir)
	}
	if len(answers.Found) == 0 {
		a.say("1. Put spectra from when the line was good into %s, a folder a run.", l.Good[0])
	} else {
		a.say("1. Known-good spectra are there: %s.", answers.Found[0])
		for _, s := range answers.Shifts {
			a.say("   shift %s, %s to %s", s.Name, s.From, s.To)
		}
	}
	a.say("2. asusual learn")
	a.say("3. Have the spectrometer write to %s, then: asusual watch", l.Watch)
}

// below returns a path of the command line as the configuration in dir has it: relative where it lies below dir, else
// whole. "" stands for the usual one.
func below(dir, path, usual string) string {
	if path == "" {
		return usual
	}
	base, err := filepath.Abs(dir)
	full, err2 := filepath.Abs(path)
	if err != nil || err2 != nil {
		return path
	}
	if rel, err := filepath.Rel(base, full); err == nil && filepath.IsLocal(rel) {
		return filepath.ToSlash(rel)
	}
	return full
}

// conditionsIn proposes a condition for each folder in the folder conditions.
func conditionsIn(dir string) []config.Answer {
	entries, err := os.ReadDir(filepath.Join(dir, "conditions"))
	if err != nil {
		return nil // there is none, which is as usual
	}
	var all []config.Answer
	for _, e := range entries {
		if e.IsDir() && config.CheckCondition(e.Name()) == nil && !arrive.Leftover(e.Name()) {
			all = append(all, config.Answer{Name: e.Name(), From: "conditions/" + e.Name()})
		}
	}
	return all
}

// lookAtGood inspects the known-good spectra, where there are some, and writes down what it found. What files say
// themselves is left to them; what had to be guessed is stated, so that later files are not guessed otherwise.
func (a *app) lookAtGood(ctx context.Context, dir string, answers *config.Answers) error {
	var paths []string
	for _, g := range answers.Good {
		if !filepath.IsAbs(g) {
			g = filepath.Join(dir, g)
		}
		paths = append(paths, g)
	}
	src, err := a.input(&config.Config{}, config.Line{}, paths)
	if errors.Is(err, fs.ErrNotExist) || errors.Is(err, gather.ErrNone) {
		return nil // the person has yet to put them there
	}
	if err != nil {
		return err
	}
	var v gather.Survey
	var when timing
	if err := a.read(ctx, src, "looking at the spectra", func(b gather.Batch) error { v.Add(b); when.add(b); return nil }); err != nil {
		return err
	}
	v.Finish()
	if err := noneReadable(answers.Good[0], &v, v.Files); err != nil {
		return err
	}
	var runs int
	answers.Runs, runs = when.runs(&v)
	starts := when.starts()
	if answers.Runs != "gap=30m" {
		starts = nil
		for _, r := range v.Runs {
			if !r.From.IsZero() {
				starts = append(starts, r.From)
			}
		}
	}
	zone, err := time.LoadLocation(cmp.Or(answers.Zone, "Local"))
	if err != nil {
		return err
	}
	if shifts := shiftsOf(starts, zone); shifts != nil {
		answers.Shifts = shifts
	}
	answers.Found = append(answers.Found, fmt.Sprintf("%s in %s, %s", words.Spectra(v.Spectra),
		words.Count(v.Files, "file", "files"), words.Count(runs, "run", "runs")))
	for _, k := range v.Kinds[:min(len(v.Kinds), 3)] {
		answers.Found = append(answers.Found, fmt.Sprintf("%s; %s; %s; time %s", formatWords(k.Info), axisWords(k.Info), quantityWords(k.Info), timeWords(k.Info)))
	}
	if v.Bad > 0 {
		answers.Found = append(answers.Found, fmt.Sprintf("%d files or rows that cannot be read; asusual inspect names them", v.Bad))
	}
	if len(v.Kinds) == 1 {
		state(answers, v.Kinds[0].Info)
	}
	return nil
}

// state turns what had to be guessed into settings.
func state(answers *config.Answers, i spectrum.Info) {
	if i.UnitFrom == spectrum.Guessed {
		answers.Axis = i.Unit.String()
	}
	if i.QuantityFrom == spectrum.Guessed {
		answers.Quantity = i.Quantity.String()
	}
	if i.TimeFrom == spectrum.TimeName || i.TimeFrom == spectrum.TimeModified {
		answers.Time = i.TimeFrom.String()
	}
}

// writeSetUp makes the folders of a configuration and writes its file, last, so that an interrupted init can be repeated.
func writeSetUp(c *config.Config, text string) error {
	folders := []string{filepath.Dir(c.File)}
	for _, l := range c.Lines {
		folders = append(folders, l.Watch)
		for _, good := range l.Good {
			if _, err := os.Stat(good); errors.Is(err, fs.ErrNotExist) {
				folders = append(folders, good)
			}
		}
	}
	for _, f := range folders {
		if err := os.MkdirAll(f, 0o755); err != nil {
			return err
		}
	}
	return keep.WriteFile(c.File, []byte(text))
}

// localZone returns the name of this computer's time zone, "" where it has none that another computer would know.
func localZone() string {
	name := os.Getenv("TZ")
	if target, err := filepath.EvalSymlinks("/etc/localtime"); err == nil && name == "" {
		_, name, _ = strings.Cut(filepath.ToSlash(target), "/zoneinfo/")
	}
	if _, err := time.LoadLocation(name); err != nil || name == "Local" {
		return ""
	}
	return name
}
