package main

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/rogpeppe/go-internal/testscript"

	"asusual/model/oatline"
	"asusual/model/spectrum"
)

func TestMain(m *testing.M) {
	testscript.Main(m, map[string]func(){
		"asusual": main,
		"asusual-on": func() {
			day, err := time.Parse(time.DateOnly, os.Args[1])
			if err != nil {
				panic(err)
			}
			a := &app{in: os.Stdin, out: os.Stdout, errOut: os.Stderr, now: func() time.Time { return day }}
			os.Exit(a.run(context.Background(), os.Args[2:]))
		},
	})
}

// The scripts run the whole program as a person would. Besides the usual commands of testscript they have
//
//	status N COMMAND…       runs the command, which must end with the exit status N
//	oatline FOLDER KIND     writes spectra of the invented oat-drink line, a table a run; KIND is good, rinse, today (a
//	                        usual run of three hours), or an upset that begins an hour into it, such as "oil pump"
//	oatline-files FOLDER KIND   the same, a file a spectrum in a folder a run
//	binary FILE             puts bytes that are no text into the file
//	alter FILE TO           copies a file with one figure in the middle of it altered
//	copy FROM TO N          copies the first N files of a folder, by name, unless they are there
//	rows FILE TO RE         copies a table of testdata/published: its head, and the rows that match
//	cartons FOLDER KIND     spectra of single cartons of oat drink and the belt between, a table a run; KIND as above, or belt
//	same-but FILE FILE RE   compares two texts without what matches
//	head FILE TO N          copies the first N lines of a text
//	objects KEY             what the last command wrote to stdout is JSON objects, one a line and one at least, that have the key
//	asusual-on DAY ARGUMENT…   asusual by a clock that stands at the beginning of that day
//	agree JUDGED KEPT       what judge --json says of each spectrum is what export --json says of it
//	eventually RE COMMAND…  runs the command until what it writes matches
func TestScripts(t *testing.T) {
	testscript.Run(t, testscript.Params{
		Dir: filepath.Join("testdata", "script"),
		Setup: func(env *testscript.Env) error {
			env.Setenv("TZ", "UTC")
			return nil
		},
		Condition: func(cond string) (bool, error) {
			if cond == "root" {
				return os.Geteuid() == 0, nil
			}
			return false, fmt.Errorf("unknown condition %q", cond)
		},
		Cmds: map[string]func(ts *testscript.TestScript, neg bool, args []string){
			"status": status,
			"oatline": func(ts *testscript.TestScript, _ bool, args []string) {
				ts.Check(writeOats(ts.MkAbs(args[0]), args[1], writeTable))
			},
			"binary": func(ts *testscript.TestScript, _ bool, args []string) {
				ts.Check(os.WriteFile(ts.MkAbs(args[0]), bytes.Repeat([]byte{0, 1, 2, 0xff, 0xfe}, 200), 0o644))
			},
			"alter": func(ts *testscript.TestScript, _ bool, args []string) {
				b, err := os.ReadFile(ts.MkAbs(args[0]))
				ts.Check(err)
				i := len(b)/2 + bytes.IndexAny(b[len(b)/2:], "12345678")
				b[i]++
				ts.Check(os.WriteFile(ts.MkAbs(args[1]), b, 0o644))
			},
			"copy": func(ts *testscript.TestScript, _ bool, args []string) {
				n, err := strconv.Atoi(args[2])
				ts.Check(err)
				ts.Check(copyFiles(ts.MkAbs(args[0]), ts.MkAbs(args[1]), n))
			},
			"rows": func(ts *testscript.TestScript, _ bool, args []string) {
				ts.Check(copyRows(filepath.Join(published, args[0]), ts.MkAbs(args[1]), args[2]))
			},
			"same-but":   sameBut,
			"objects":    objects,
			"agree":      agree,
			"eventually": eventually,
			"cartons": func(ts *testscript.TestScript, _ bool, args []string) {
				ts.Check(writeCartons(ts.MkAbs(args[0]), args[1]))
			},
			"head": func(ts *testscript.TestScript, _ bool, args []string) {
				n, err := strconv.Atoi(args[2])
				ts.Check(err)
				b, err := os.ReadFile(ts.MkAbs(args[0]))
				ts.Check(err)
				lines := bytes.SplitAfter(b, []byte("\n"))
				ts.Check(os.WriteFile(ts.MkAbs(args[1]), bytes.Join(lines[:min(n, len(lines))], nil), 0o644))
			},
			"blind": func(ts *testscript.TestScript, _ bool, args []string) {
				n, err := strconv.Atoi(args[1])
				ts.Check(err)
				ts.Check(blind(ts.MkAbs(args[0]), n))
			},
			"oatline-files": func(ts *testscript.TestScript, _ bool, args []string) {
				ts.Check(writeOats(ts.MkAbs(args[0]), args[1], writeFiles))
			},
		},
	})
}

// published is the folder of real spectra; testscript runs scripts elsewhere.
var published = func() string {
	p, err := filepath.Abs(filepath.Join("..", "..", "testdata", "published"))
	if err != nil {
		panic(err)
	}
	return p
}()

func copyRows(from, to, match string) error {
	re, err := regexp.Compile(match)
	if err != nil {
		return err
	}
	b, err := os.ReadFile(from)
	if err != nil {
		return err
	}
	var out []byte
	for line := range bytes.Lines(b) {
		if line[0] == '#' || bytes.HasPrefix(line, []byte("id,")) || re.Match(line) {
			out = append(out, line...)
		}
	}
	if err := os.MkdirAll(filepath.Dir(to), 0o755); err != nil {
		return err
	}
	return os.WriteFile(to, out, 0o644)
}

// blind takes the light from a table of the oat-drink line after its first n spectra: every channel holds the same.
func blind(table string, n int) error {
	b, err := os.ReadFile(table)
	if err != nil {
		return err
	}
	const names = 3 // columns before the values
	var out []byte
	for line := range strings.Lines(string(b)) {
		if cells := strings.Split(line, ","); len(cells) > names && cells[0] != "time" {
			if n--; n < 0 {
				line = strings.Join(cells[:names], ",") + strings.Repeat(",0.5", len(cells)-names) + "\n"
			}
		}
		out = append(out, line...)
	}
	return os.WriteFile(table, out, 0o644)
}

func status(ts *testscript.TestScript, _ bool, args []string) {
	want, err := strconv.Atoi(args[0])
	ts.Check(err)
	err = ts.Exec(args[1], args[2:]...)
	got := 0
	var exit *exec.ExitError
	if errors.As(err, &exit) {
		got = exit.ExitCode()
	} else if err != nil {
		ts.Fatalf("%v", err)
	}
	if got != want {
		ts.Fatalf("exit status %d, want %d", got, want)
	}
}

// objects looks whether what was written to stdout is what other programs can read.
func objects(ts *testscript.TestScript, _ bool, args []string) {
	n := 0
	for line := range strings.Lines(ts.ReadFile("stdout")) {
		var object map[string]any
		if err := json.Unmarshal([]byte(line), &object); err != nil {
			ts.Fatalf("no JSON object: %v: %s", err, line)
		}
		if object[args[0]] == nil {
			ts.Fatalf("no %q in %s", args[0], line)
		}
		n++
	}
	if n == 0 {
		ts.Fatalf("nothing was written")
	}
}

// agree compares what judge and a watch say of the same spectra.
func agree(ts *testscript.TestScript, _ bool, args []string) {
	said := func(file string) map[string]string {
		all := map[string]string{}
		for line := range strings.Lines(ts.ReadFile(file)) {
			if strings.HasPrefix(line, `{"kind":`) && !strings.HasPrefix(line, `{"kind":"spectrum"`) {
				continue
			}
			var s struct {
				File, Time, Condition string
				T2, Q, Distance       *float64
				Inside                bool
			}
			ts.Check(json.Unmarshal([]byte(line), &s))
			name := filepath.Base(s.File)
			if all[name] != "" {
				ts.Fatalf("%s: %s stands there twice", file, name)
			}
			s.File = ""
			b, err := json.Marshal(s)
			ts.Check(err)
			all[name] = string(b)
		}
		return all
	}
	judged, kept := said(args[0]), said(args[1])
	if len(judged) != len(kept) || len(judged) == 0 {
		ts.Fatalf("%d spectra were judged, %d kept", len(judged), len(kept))
	}
	for name, want := range judged {
		if kept[name] != want {
			ts.Fatalf("%s was judged %s, and kept %s", name, want, kept[name])
		}
	}
}

// Every command writes, with --json, objects that say of which kind they are, and a script looks at it. watch, which writes a log, and the
// program itself have nothing to write; the rows of export have the columns of the table.
func TestScriptsLookAtTheJSONOfEveryCommand(t *testing.T) {
	scripts, err := filepath.Glob(filepath.Join("testdata", "script", "*.txtar"))
	if err != nil || len(scripts) == 0 {
		t.Fatalf("%d scripts, %v", len(scripts), err)
	}
	looked := map[string]bool{"asusual": true, "asusual watch": true}
	call := regexp.MustCompile(`(?m)^(?:status [0-9]+ )?asusual (.*--json.*)\n(?:stdout .*\n)*objects (kind|time)$`)
	for _, file := range scripts {
		b, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		for _, m := range call.FindAllStringSubmatch(string(b), -1) {
			a := &app{out: &bytes.Buffer{}, errOut: &bytes.Buffer{}}
			c, _, err := a.rootCommand(nil).Find(split(strings.ReplaceAll(m[1], "'", `"`)))
			if err != nil {
				t.Fatalf("%s: %s: %v", file, m[1], err)
			}
			looked[c.CommandPath()] = looked[c.CommandPath()] || (m[2] == "kind") != (c.Name() == "export" && c.Flag("month").Value.String() == "")
		}
	}
	for _, c := range every() {
		if !looked[c.CommandPath()] {
			t.Errorf("no script looks at what %s --json writes, by the command objects", c.CommandPath())
		}
	}
}

// patience is how long something may take that happens in another process, on a machine that is busy.
const patience = time.Minute

// sameBut compares two texts a line at a time without what matches an expression, such as when they were written.
func sameBut(ts *testscript.TestScript, _ bool, args []string) {
	but, err := regexp.Compile(args[2])
	ts.Check(err)
	lines := func(name string) []string {
		return slices.Collect(strings.Lines(but.ReplaceAllString(ts.ReadFile(name), "")))
	}
	a, b := lines(args[0]), lines(args[1])
	for i := range min(len(a), len(b)) {
		if a[i] != b[i] {
			ts.Fatalf("line %d of %s and of %s:\n%s\n%s", i+1, args[0], args[1], a[i], b[i])
		}
	}
	if len(a) != len(b) {
		ts.Fatalf("%s has %d lines, %s %d", args[0], len(a), args[1], len(b))
	}
}

func eventually(ts *testscript.TestScript, _ bool, args []string) {
	re := regexp.MustCompile(args[0])
	end := time.After(patience)
	look := time.NewTicker(patience / 300) // the other process needs the processor, too
	defer look.Stop()
	for waiting := true; waiting; {
		if err := ts.Exec(args[1], args[2:]...); err == nil && re.MatchString(ts.ReadFile("stdout")) {
			return
		}
		select {
		case <-end:
			waiting = false
		case <-look.C:
		}
	}
	ts.Fatalf("what %v writes does not match %s in %v", args[1:], args[0], patience)
}

func copyFiles(from, to string, n int) error {
	entries, err := os.ReadDir(from) // sorted by name
	if err != nil {
		return err
	}
	for _, e := range entries[:n] {
		path := filepath.Join(to, e.Name())
		if _, err := os.Stat(path); err == nil {
			continue
		}
		b, err := os.ReadFile(filepath.Join(from, e.Name()))
		if err != nil {
			return err
		}
		if err := os.WriteFile(path, b, 0o644); err != nil {
			return err
		}
	}
	return nil
}

// oats is a small, quick version of the invented line: 64 channels, two days, a spectrum every two minutes.
func oats(kind string) ([]oatline.Stretch, error) {
	o := oatline.PlanOptions{Seed: 1, Days: 2, Every: 2 * time.Minute}
	switch kind {
	case "good":
		return oatline.Of(oatline.InUse, oatline.Scenario(o).Learn), nil
	case oatline.Rinse, oatline.StartUp, oatline.Air:
		return oatline.Of(kind, oatline.Scenario(o).Learn), nil
	case "today":
		return oatline.Scenario(o).Watch, nil
	}
	for _, k := range oatline.Kinds() {
		if k.String() == kind {
			return oatline.Scenario(o, oatline.Usual(k, time.Hour)).Watch, nil
		}
	}
	return nil, fmt.Errorf("%q is no kind of oat-drink spectra", kind)
}

func writeOats(dir, kind string, write func(dir string, s *oatline.Series, run string) error) error {
	line, err := oatline.New(oatline.Settings{Seed: 1, Channels: 64})
	if err != nil {
		return err
	}
	stretches, err := oats(kind)
	if err != nil {
		return err
	}
	for _, st := range stretches {
		s, err := line.Series(st)
		if err != nil {
			return err
		}
		if err := write(dir, s, st.Run); err != nil {
			return err
		}
	}
	return nil
}

func writeTable(dir string, s *oatline.Series, run string) error {
	var b bytes.Buffer
	if err := os.MkdirAll(dir, 0o755); err != nil {
		return err
	}
	if err := oatline.WriteTable(&b, s.All()); err != nil {
		return err
	}
	return os.WriteFile(filepath.Join(dir, run+".csv"), b.Bytes(), 0o644)
}

func writeFiles(dir string, s *oatline.Series, run string) error {
	dir = filepath.Join(dir, run)
	if err := os.MkdirAll(dir, 0o755); err != nil {
		return err
	}
	for sp := range s.All() {
		b, err := oatline.AppendTwoColumns(nil, bare(sp))
		if err != nil {
			return err
		}
		if err := os.WriteFile(filepath.Join(dir, sp.Time.Format("20060102-150405")+".csv"), b, 0o644); err != nil {
			return err
		}
	}
	return nil
}

// bare is the spectrum as a spectrometer would write it, which knows neither run nor condition.
func bare(s spectrum.Spectrum) spectrum.Spectrum {
	s.Run, s.Label = "", ""
	s.Values = slices.Clone(s.Values)
	return s
}
