package config

import (
	"errors"
	"os"
	"path/filepath"
	"reflect"
	"regexp"
	"strings"
	"testing"
	"time"
	_ "time/tzdata" // the zones must be there on a machine that has none

	"github.com/BurntSushi/toml"

	"asusual/cmd/asusual/shift"
	"asusual/model/limits"
	"asusual/model/pretreat"
	"asusual/model/spectrum"
	"asusual/monitor/arrive"
	"asusual/report"
)

const full = `
[site]
name = "Oat hall"
time-zone = "Europe/Helsinki"
language = "de"

[[line]]
name = "Filler 3"
watch = "spectra"
good = ["good/may", "/srv/good"]
reference = "line.reference"
promise = "1 per 30 days"
components = 4
keep-all = true
grace = "90s"
fresh = "3h"
order = "newest first"
settle = "500ms"
poll = "10s"
[line.spectra]
axis = "cm-1"
quantity = "reflectance"
percent = true
time = "name"
name-pattern = "YYYY-MM-DD_hh-mm-ss.fff"
time-column = "when"
run-column = "batch"
label-column = "note"
runs = "gap=30m"
files = "*.csv"
largest-mb = 2.5
[line.instrument]
dark = "dark.csv"
reference = "white.csv"
[[line.condition]]
name = "rinse"
from = "conditions/rinse"
expected = ["21:00-21:30", "23:30–00:15"]
longest = "45m"
[[line.condition]]
name = "leak"
expected = "06:00-07:00"
[[line.pretreatment]]
step = "snv"
[[line.pretreatment]]
step = "derivative"
window = 15
degree = 2
order = 1

[[line]]
name = "Filler 4"

[[shift]]
name = "day"
from = "06:00"
to = 18:00:00
[[shift]]
name = "night"
from = "18:00"
to = "06:00"

[history]
file = "kept/all.history"
[reports]
folder = "out"
[signal]
state = "out/state.json"
command = ["bin/horn", "--loud"]
command-limit = "5s"
[signal.mqtt]
broker = "mqtts://broker:8884"
topic = "plant/oat"
client = "filler-3"
user = "line"
password-file = "mqtt.password"
trust = "plant.pem"
[live]
address = "0.0.0.0:8443"
token-file = "live.token"
certificate = "live.pem"
key = "/etc/live.key"
hosts = ["filler3.plant"]
`

func TestDecode(t *testing.T) {
	got, err := Decode(filepath.FromSlash("/plant/asusual.toml"), full)
	if err != nil {
		t.Fatal(err)
	}
	helsinki, err := time.LoadLocation("Europe/Helsinki")
	if err != nil {
		t.Fatal(err)
	}
	in := func(p string) string { return filepath.FromSlash("/plant/" + p) }
	want := &Config{
		File: in("asusual.toml"),
		Site: Site{Name: "Oat hall", Zone: helsinki, Language: report.German()},
		Lines: []Line{{
			Name: "Filler 3", Watch: in("spectra"), Good: []string{in("good/may"), filepath.FromSlash("/srv/good")}, Reference: in("line.reference"),
			Promise: limits.Promise{Episodes: 1, Per: 30 * 24 * time.Hour}, Components: 4, KeepAll: true,
			Spectra: Spectra{
				Axis: spectrum.ReciprocalCentimetre, Quantity: spectrum.Reflectance, Percent: true, Time: spectrum.TimeName, Layout: "2006-01-02_15-04-05.000",
				Columns: Columns{"when", "batch", "note"}, Runs: Runs{Gap: 30 * time.Minute}, Files: []string{"*.csv"}, MaxBytes: 2_500_000,
			},
			Instrument: Instrument{Dark: in("dark.csv"), Reference: in("white.csv")},
			Conditions: []Condition{
				{Name: "rinse", From: []string{in("conditions/rinse")}, Expected: []shift.Hours{{From: 1260, To: 1290}, {From: 1410, To: 15}}, Longest: 45 * time.Minute},
				{Name: "leak", Expected: []shift.Hours{{From: 360, To: 420}}},
			},
			Grace: 90 * time.Second, Fresh: 3 * time.Hour, Order: arrive.NewestFirst, Settle: 500 * time.Millisecond, Poll: 10 * time.Second,
			Steps: []pretreat.Step{{Name: "snv"}, {Name: "derivative", Window: 15, Degree: 2, Order: 1}},
		}, {Name: "Filler 4", Auto: true, Grace: 2 * time.Minute, Fresh: time.Hour}},
		Shifts:  []shift.Shift{{Name: "day", From: 360, To: 1080}, {Name: "night", From: 1080, To: 360}},
		History: in("kept/all.history"), Reports: in("out"), Signal: Signal{
			State: in("out/state.json"), Command: []string{in("bin/horn"), "--loud"}, Limit: 5 * time.Second,
			MQTT: MQTT{Broker: "mqtts://broker:8884", Topic: "plant/oat", Client: "filler-3", User: "line", PasswordFile: in("mqtt.password"), Trust: in("plant.pem")},
		},
		Live: Live{Address: "0.0.0.0:8443", TokenFile: in("live.token"), Certificate: in("live.pem"), Key: filepath.FromSlash("/etc/live.key"), Hosts: []string{"filler3.plant"}},
	}
	if !reflect.DeepEqual(got, want) {
		t.Errorf("Decode =\n%+v\nwant\n%+v", got, want)
	}
}

func TestDecodeNamesTheLine(t *testing.T) {
	for _, c := range []struct{ name, text, want string }{
		{"unknown key", "[[line]]\nname = \"a\"\npromis = \"x\"", `f.toml: line 3: unknown key "promis" in [[line]]; is "promise" meant?`},
		{"unknown key of the second line", "[[line]]\nname = \"a\"\n[[line]]\nname = \"b\"\nzzz = 1\n",
			`f.toml: line 5: unknown key "zzz" in [[line]]; known are name, watch, good, reference, promise, components, keep-all, approved-only, keep-carbon-dioxide, grace, fresh, order, settle, poll, spectra, instrument, interferogram, condition, items, pretreatment`},
		{"unknown table", "\n[histroy]\nfile = \"x\"", `f.toml: line 2: unknown key "histroy"; is "history" meant?`},
		{"unknown key below a table of the second line", "[[line]]\nname = \"a\"\n[line.spectra]\naxis = \"nm\"\n[[line]]\nname = \"b\"\n[line.spectra]\naxes = \"nm\"",
			`f.toml: line 8: unknown key "axes" in [line.spectra]; is "axis" meant?`},
		{"dotted", "[[line]]\nname = \"a\"\nspectra.axes = \"nm\"", `f.toml: line 3: unknown key "axes" in [line.spectra]; is "axis" meant?`},
		{"other case", "[[line]]\nName = \"a\"", "f.toml: line 1: a [[line]] needs a name\nf.toml: line 2: unknown key \"Name\" in [[line]]; is \"name\" meant?"},
		{"backslash that is no escape", "[[line]]\nname = \"a\"\nwatch = \"D:\\spectra\"", `f.toml: line 3: invalid escape in string '\s': ` + quoting},
		{"backslash that hides the quote", "[[line]]\nname = \"a\"\nwatch = \"D:\\\"\n", `f.toml: line 3: strings cannot contain newlines: ` + quoting},
		{"backslash that is an escape", "[[line]]\nname = \"a\"\nwatch = \"D:\\new\"", `f.toml: line 3: watch: "D:\new" holds '\n', which is in no path: ` + quoting},
		{"such in a list", "[[line]]\nname = \"a\"\ngood = ['a', \"D:\\temp\"]", `f.toml: line 3: good: "D:\temp" holds '\t', which is in no path: ` + quoting},
		{"such in the command", "[signal]\ncommand = [\"C:/a\\bell.exe\"]", `f.toml: line 2: command: "C:/a\bell.exe" holds '\b', which is in no path: ` + quoting},
		{"value not allowed", "[[line]]\nname = \"a\"\n[line.spectra]\n\naxis = \"inch\"", `f.toml: line 5: axis unit "inch" is not one of nm, um, cm-1, index`},
		{"value of another kind", "[[line]]\nname = 7", `f.toml: line 2: name is 7; it must be text in quotes`},
		{"after long text", "[site]\nname = \"\"\"\na = 1\n[x]\n\"\"\"\n[[line]]\nname = 'a'\nkeep-all = 'yes'", `f.toml: line 8: keep-all is "yes"; it must be true or false`},
		{"after a list over lines", "[[line]]\nname = 'a'\ngood = [\n 'x', # one\n 'y',\n]\nwatch = 3", `f.toml: line 7: watch is 3; it must be text in quotes`},
		{"table where an array must be", "[line]\nname = 'a'", `f.toml: line 1: line must be written as [[line]], in double brackets`},
		{"array where a table must be", "[[site]]\nname = 'a'", `f.toml: line 1: site is not a table; write it as [site]`},
		{"syntax", "[site]\nname = ", "f.toml: line 2: unexpected EOF; expected value"},
		{"zone", "[site]\ntime-zone = 'Mars'", `f.toml: line 2: time-zone: "Mars" is not a time zone such as Europe/Helsinki or UTC`},
		{"shift", "[[shift]]\nname = 'a'\nfrom = '6'\nto = '14:00'", `f.toml: line 3: from: "6" is not a time of day such as 06:00`},
		{"two shifts in one folder", "[[shift]]\nname = 'a 1'\nfrom = '06:00'\nto = '14:00'\n[[shift]]\nname = 'A-1'\nfrom = '14:00'\nto = '22:00'", `f.toml: line 6: name: "A-1" is too like "a 1", and the reports of both would lie in the folder a-1; let them differ in a letter or a figure`},
		{"two lines in one folder", "[[line]]\nname = 'Filler 1'\n[[line]]\nname = 'Filler-1'", `f.toml: line 4: name: "Filler-1" is too like "Filler 1", and the reports of both would lie in the folder filler-1; let them differ in a letter or a figure`},
		{"shift twice", "[[shift]]\nname = 'a'\nfrom = '06:00'\nto = '14:00'\n[[shift]]\nname = 'A'\nfrom = '14:00'\nto = '22:00'", `f.toml: line 6: name: "A" is taken by an earlier one`},
		{"no name", "\n[[line]]\nwatch = 'x'", `f.toml: line 2: a [[line]] needs a name`},
		{"word with a meaning", "[[line]]\nname = 'a'\n[[line.condition]]\nname = 'usual'\nfrom = 'x'", `f.toml: line 4: name: "usual" has a meaning of its own here; choose another name`},
		{"condition from nowhere", "[[line]]\nname = 'a'\n[[line.condition]]\nname = 'rinse'", `f.toml: line 3: condition "rinse" needs from, the folder of its spectra`},
		{"hours", "[[line]]\nname = 'a'\n[[line.condition]]\nname = 'rinse'\nfrom = 'x'\nexpected = ['21:00']", `f.toml: line 6: expected: "21:00" is not a stretch of the day such as 21:00-21:30`},
		{"grace", "[[line]]\nname = 'a'\ngrace = 'long'", `f.toml: line 3: grace: "long" is not a duration such as 90s, 2m or 1h30m`},
		{"order", "[[line]]\nname = 'a'\norder = 'last'", `f.toml: line 3: order: "last" is not an order of files; they are time, name, newest first`},
		{"broker", "[signal.mqtt]\nbroker = 'broker:1883'", `f.toml: line 2: broker: "broker:1883" is not like mqtt://host or mqtts://host:8883`},
		{"history at the top and below", "history = 'a.history'\n[history]\nkeep-spectra = '400 days'", `f.toml: line 2: Key 'history' has already been defined: it stands there twice; write file = "…" or server = "…" under [history], and take history = … at the top out`},
		{"history below twice", "[history]\nkeep-spectra = '400 days'\n[history]\nfile = 'a.history'", `f.toml: line 3: Key 'history' has already been defined: it stands there twice`},
		{"key twice", "[site]\nname = 'a'\nname = 'b'", `f.toml: line 3: Key 'site.name' has already been defined: it stands there twice`},
		{"password in the address", "[signal.mqtt]\nbroker = 'mqtt://a:b@c'", `f.toml: line 2: broker: a name or a password does not belong in the address; write user and password-file`},
		{"no broker", "[signal.mqtt]\ntopic = 'a'", `f.toml: line 1: [signal.mqtt] needs a broker, such as mqtt://host`},
		{"topic", "[signal.mqtt]\nbroker = 'mqtt://c'\ntopic = 'a/#'", `f.toml: line 3: topic: "a/#" is not a topic such as plant/oat; + and # have a meaning of their own`},
		{"live without a port", "[live]\naddress = 'localhost'", `f.toml: line 2: address: "localhost" is not an address and a port such as 127.0.0.1:8080`},
		{"certificate alone", "[live]\ncertificate = 'a.pem'", `f.toml: line 1: [live] needs both certificate and key, or neither`},
		{"step", "[[line]]\nname = 'a'\n[[line.pretreatment]]\nstep = 'magic'", `f.toml: line 4: step "magic" is not one of snv, msc, detrend, smooth, derivative, offset, keep, leave-out`},
		{"promise", "[[line]]\nname = 'a'\npromise = 'never'", `f.toml: line 3: promise "never": not of the form "1 per 30 days"`},
		{"one of two", "[[line]]\nname = 'a'\n[line.instrument]\ndark = 'd.csv'", `f.toml: line 3: [line.instrument] has only one of dark and reference; an absorbance needs both`},
		{"folders in each other", "[[line]]\nname = 'a'\nwatch = 'x'\ngood = 'x/good'", `f.toml: line 3: the watched folder and the known-good folder lie in each other; known-good spectra need a folder of their own`},
		{"history in the watched folder", "[[line]]\nname = 'a'\nwatch = 'x'\n[history]\nfile = 'x/h'\n[reports]\nfolder = 'y'", `f.toml: line 3: watch: the history, x/h, lies in x, which is watched, and would be read as spectra; give the spectra a folder of their own, or have [history] file name another place`},
		{"reports in the watched folder", "[[line]]\nname = 'a'\nwatch = 'x'\n[reports]\nfolder = 'x/out'", `f.toml: line 3: watch: the folder of the reports, x/out, lies in x, which is watched, and would be read as spectra; give the spectra a folder of their own, or have [reports] folder name another place`},
		{"state among the instrument's own", "[[line]]\nname = 'a'\nwatch = 'x'\n[line.instrument]\nfrom = 'checks'\n[signal]\nstate = 'checks/now.json'", `f.toml: line 5: from: the state file, checks/now.json, lies in checks, which is watched, and would be read as spectra; give the spectra a folder of their own, or have [signal] state name another place`},
		{"language", "[site]\nlanguage = 'tlh'", `f.toml: line 2: language: "tlh" is not a language of the reports; they speak en and de`},
		{"two troubles", "[site]\nnam = 'a'\n[[line]]\nname = 'b'\ncomponents = -1", "f.toml: line 2: unknown key \"nam\" in [site]; is \"name\" meant?\nf.toml: line 5: components is -1; it must be a whole number, 0 or above"},
		{"thousandths without a point", "[[line]]\nname = 'a'\n[line.spectra]\nname-pattern = 'YYYYMMDDhhmmssfff'", `f.toml: line 4: name-pattern: "YYYYMMDDhhmmssfff" has fff without a point or a comma before it, which cannot be read as thousandths; leave fff out, and they are passed over`},
		{"letters of a time", "[[line]]\nname = 'a'\n[line.spectra]\nname-pattern = 'PM_YYYYMMDD-hhmmss'", `f.toml: line 4: name-pattern: "PM_YYYYMMDD-hhmmss" has letters that would be read as part of a time, such as PM or Mon; leave them out, for a time is found wherever it stands in the name; but the hours of a clock of twelve, with AM and PM, cannot be read: have the instrument write 24 hours, or take time = "header" or "modified" in place of the pattern`},
		{"pattern of a name", "[[line]]\nname = 'a'\n[line.spectra]\nname-pattern = 'YYYYMMDD'", `f.toml: line 4: name-pattern: "YYYYMMDD" does not have hh once; a pattern is like YYYYMMDD-hhmmss`},
		{"pattern of files", "[[line]]\nname = 'a'\n[line.spectra]\nfiles = ['*.csv', 'data\\']", `f.toml: line 4: files: "data\\" is not a pattern such as *.csv`}, // on Windows, too
		{"not a number", "[[line]]\nname = 'a'\n[line.spectra]\nlargest-mb = nan", `f.toml: line 4: largest-mb is NaN; it must be a number`},
	} {
		_, err := Decode("f.toml", c.text)
		if err == nil || err.Error() != c.want {
			t.Errorf("%s: Decode(%q) =\n%v\nwant\n%s", c.name, c.text, err, c.want)
		}
	}
}

func TestSampleDecodesAndHoldsEveryKey(t *testing.T) {
	text := Sample(Answers{Line: "Filler 3", Watch: "spectra", Good: []string{"good"}, Reference: "line.reference"})
	c, err := Decode("asusual.toml", text)
	if err != nil {
		t.Fatalf("Decode(Sample) = %v", err)
	}
	if len(c.Lines) != 1 || c.Lines[0].Watch != "spectra" || !c.Lines[0].Auto {
		t.Errorf("Decode(Sample).Lines = %+v, want the one line of the answers", c.Lines)
	}
	open := regexp.MustCompile(`(?m)^#(\S)`).ReplaceAllString(text, "$1")
	if _, err := Decode("asusual.toml", open); err != nil {
		t.Fatalf("Decode(Sample with every setting taken in) = %v", err)
	}
	var vals map[string]any
	if _, err := toml.Decode(open, &vals); err != nil {
		t.Fatal(err)
	}
	d := &document{file: "asusual.toml", lines: keyLines(open), seen: map[string]bool{}}
	decode(d, vals)
	known := d.seen
	if len(known) < 35 {
		t.Errorf("Decode asks for %d keys, want all of them", len(known))
	}
	// A step's settings are spread over the steps that use them; every other table has each of its keys.
	for key := range known {
		name, word := key[:strings.LastIndexByte(key, ' ')], key[strings.LastIndexByte(key, ' ')+1:]
		if !holds(vals, name, word) {
			t.Errorf("the sample does not hold %s in %q", word, name)
		}
	}
}

// Every step of a pretreatment that there is can be stated, and stands in the sample.
func TestEveryStepIsStatedAndInTheSample(t *testing.T) {
	_, list, ok := strings.Cut(sampleText, "Steps are ")
	list, _, _ = strings.Cut(list, "Windows and borders")
	for _, name := range pretreat.Names() {
		if err := checkStep(name); err != nil {
			t.Error(err)
		}
		if !ok || !regexp.MustCompile(`(^|[ #])`+name+`[ ,\n]`).MatchString(list) {
			t.Errorf("the sample does not list step %s: %q", name, list)
		}
	}
	if err := checkStep("polish"); err == nil || !strings.Contains(err.Error(), "offset, keep, leave-out") {
		t.Errorf("checkStep(polish) = %v, want the steps that there are", err)
	}
}

// holds reports whether any table of that name in the document has the key.
func holds(vals map[string]any, table, key string) bool {
	tables := []map[string]any{vals}
	for part := range strings.SplitSeq(strings.Trim(table, "[]"), ".") {
		if part == "" {
			break
		}
		var next []map[string]any
		for _, t := range tables {
			switch v := t[part].(type) {
			case map[string]any:
				next = append(next, v)
			case []map[string]any:
				next = append(next, v...)
			}
		}
		tables = next
	}
	for _, t := range tables {
		if _, ok := t[key]; ok {
			return true
		}
	}
	return false
}

func TestSampleKeepsTheAnswers(t *testing.T) {
	a := Answers{
		Site: `Hall "2"`, Zone: "Europe/Helsinki", Line: "Filler 3", Watch: `D:\out`, Good: []string{"good/a", "it's"}, Reference: "x.reference",
		Conditions: []Answer{{"rinse", "conditions/rinse"}, {"air", "conditions/air"}},
		Axis:       "nm", Quantity: "absorbance", Time: "name", Runs: "folder", Components: 3,
		Shifts: []shift.Shift{{Name: "day", From: 360, To: 1080}}, Steps: []pretreat.Step{{Name: "keep", From: 1000, To: 1600}, {Name: "snv"}},
		Found: []string{"12 files, 512 channels, 900–1700 nm"},
	}
	// Answers that look like what they stand in are not filled in once more.
	a.Conditions[1].From, a.Found[0] = `#axis = "auto"`, a.Found[0]+"\n#[[shift]]\n#runs = \"auto\""
	text := Sample(a)
	for i, place := range a.places() {
		if n := strings.Count(sampleText, place); i%2 == 0 && n != 1 {
			t.Errorf("the sample has %d times what an answer stands in the place of, want once: %q", n, place)
		}
	}
	if got, want := strings.Count(text, "\n#[[shift]]"), 1; got != want {
		t.Errorf("the sample with shifts has %d examples of them, want that of the answer alone", got)
	}
	c, err := Decode("asusual.toml", text)
	if err != nil {
		t.Fatalf("Decode(Sample(%+v)) = %v\n%s", a, err, text)
	}
	l := c.Lines[0]
	if c.Site.Name != a.Site || l.Watch != a.Watch || !reflect.DeepEqual(l.Good, []string{filepath.FromSlash("good/a"), "it's"}) || len(l.Conditions) != 2 || l.Conditions[1].Name != "air" ||
		l.Spectra.Axis != spectrum.Nanometre || !l.Spectra.Runs.Folder || l.Components != 3 || !reflect.DeepEqual(l.Steps, a.Steps) || l.Auto ||
		!reflect.DeepEqual(c.Shifts, a.Shifts) || !strings.Contains(text, "# Found: 12 files") {
		t.Errorf("Decode(Sample(%+v)) = %+v", a, c)
	}
}

func TestParseRuns(t *testing.T) {
	for s, want := range map[string]Runs{"": {}, "auto": {}, "folder": {Folder: true}, "gap=2h": {Gap: 2 * time.Hour}, "column=batch": {Column: "batch"}} {
		got, err := ParseRuns(s)
		if err != nil || got != want {
			t.Errorf("ParseRuns(%q) = %v, %v, want %v", s, got, err, want)
		}
		if again, err := ParseRuns(got.String()); err != nil || again != got {
			t.Errorf("ParseRuns(%q) = %v, %v, want %v back", got.String(), again, err, got)
		}
	}
	for _, s := range []string{"gap", "gap=", "gap=-1h", "gap=soon", "column=", "folders", "Folder"} {
		if got, err := ParseRuns(s); err == nil {
			t.Errorf("ParseRuns(%q) = %v, want an error", s, got)
		}
	}
}

func TestParseSteps(t *testing.T) {
	got, auto, err := ParseSteps("snv, derivative window=15 degree=2 order=1,keep from=1000 to=1600.5")
	want := []pretreat.Step{{Name: "snv"}, {Name: "derivative", Window: 15, Degree: 2, Order: 1}, {Name: "keep", From: 1000, To: 1600.5}}
	if err != nil || auto || !reflect.DeepEqual(got, want) {
		t.Errorf("ParseSteps = %v, %v, %v, want %v", got, auto, err, want)
	}
	if got, auto, err := ParseSteps("none"); err != nil || auto || got != nil {
		t.Errorf("ParseSteps(none) = %v, %v, %v, want no step", got, auto, err)
	}
	for s, want := range map[string]string{
		"snv,,msc":               `"snv,,msc": a step is missing beside a comma`,
		"magic":                  `step "magic" is not one of snv, msc, detrend, smooth, derivative, offset, keep, leave-out`,
		"smooth 15":              `step smooth: "15" is not a setting such as window=15`,
		"smooth width=15":        `step smooth: setting "width" is not one of window, degree, order, from, to`,
		"derivative window=wide": "step derivative: window=wide is not a number that it can be",
		"derivative order=1.5":   "step derivative: order=1.5 is not a number that it can be",
	} {
		if _, _, err := ParseSteps(s); err == nil || err.Error() != want {
			t.Errorf("ParseSteps(%q) = %v, want %s", s, err, want)
		}
	}
}

func TestFind(t *testing.T) {
	c := &Config{Lines: []Line{{Name: "Filler 3"}, {Name: "Filler 4"}}}
	if l, err := c.Find("filler 4"); err != nil || l.Name != "Filler 4" {
		t.Errorf("Find(filler 4) = %v, %v, want Filler 4", l.Name, err)
	}
	for name, want := range map[string]string{
		"":         `the configuration has 2 lines and none was chosen; they are "Filler 3", "Filler 4"`,
		"Filler 5": `line "Filler 5" is not in the configuration; it has "Filler 3", "Filler 4"`,
	} {
		var m *Missing
		if _, err := c.Find(name); !errors.As(err, &m) || err.Error() != want {
			t.Errorf("Find(%q) = %v, want %s", name, err, want)
		}
	}
}

func TestReadKeepsTheReasonOfAMissingFile(t *testing.T) {
	if _, err := Read(filepath.Join(t.TempDir(), "none.toml")); !errors.Is(err, os.ErrNotExist) {
		t.Errorf("Read(none.toml) = %v, want a file that does not exist", err)
	}
}

// Whatever the text is: Decode says what is wrong with it, or gives a configuration that is the same when read again, and the
// line it names is one that the text has.
func FuzzDecode(f *testing.F) {
	f.Add(full)
	f.Add(sampleText)
	f.Add("a = '''\n''' # x\n[b.\"c.d\"]\ne = {f = [1, {g = 2}]}\n")
	f.Add("[[line]]\nname = \"\\\"\"\n[[line]]\nname = \"b\nx=")
	f.Fuzz(func(t *testing.T, text string) {
		c, err := Decode("f.toml", text)
		if err == nil {
			again, err := Decode("f.toml", text)
			if err != nil || !reflect.DeepEqual(c, again) {
				t.Errorf("Decode(%q) twice = %+v, then %+v, %v", text, c, again, err)
			}
			return
		}
		var e *Error
		if !errors.As(err, &e) || len(e.Problems) == 0 {
			t.Fatalf("Decode(%q) = %v, want an *Error that says a problem", text, err)
		}
		for _, p := range e.Problems {
			if p.Line < 0 || p.Line > strings.Count(text, "\n")+1 || p.Text == "" {
				t.Errorf("Decode(%q): problem %+v, want a line of the text", text, p)
			}
		}
	})
}

// A folder in which everything lies may be watched where the patterns of files leave out what the program writes, or what it writes is hidden.
func TestWatchingTheFolderOfEverything(t *testing.T) {
	for _, c := range []struct {
		name, text string
		refused    int // how much of what is written there would be read
	}{
		{"as it stands", "", 3},
		{"by the type of files", "[line.spectra]\nfiles = ['*.spc', '*.dx']", 0},
		{"by a type that reports have, too", "[line.spectra]\nfiles = ['*.CSV']", 1},
		{"by a folder", "[line.spectra]\nfiles = ['spectra/*']", 0},
		{"what is written is hidden", "[history]\nfile = '.own/h'\n[reports]\nfolder = '.reports'\n[signal]\nstate = '.state.json'", 0},
		{"what is written lies above", "[history]\nfile = '../h'\n[reports]\nfolder = '../reports'\n[signal]\nstate = '../state.json'", 0},
	} {
		whole, err := filepath.Abs("asusual.toml")
		if err != nil {
			t.Fatal(err)
		}
		for _, file := range []string{"asusual.toml", whole} {
			for _, folder := range []string{".", filepath.Dir(whole)} {
				_, err := Decode(file, "[[line]]\nname = 'a'\nwatch = '"+folder+"'\n"+c.text)
				var e *Error
				if got := errors.As(err, &e); got != (c.refused > 0) || got && len(e.Problems) != c.refused {
					t.Errorf("%s: %s that watches %s: Decode = %v, want %d problems", c.name, file, folder, err, c.refused)
				}
			}
		}
	}
}

// What stands beside the parts of a time is itself, whatever the time package makes of such letters elsewhere.
func TestParseLayout(t *testing.T) {
	for pattern, want := range map[string]string{
		"YYYYMMDD-hhmmss": "20060102-150405", "oat_YYYY-MM-DD_hh.mm.ss,fff": "oat_2006-01-02_15.04.05,000", "hhmm_DD.MM.YYYY": "1504_02.01.2006", "Monitor YYYYMMDD-hhmmss": "Monitor 20060102-150405",
	} {
		if got, err := ParseLayout(pattern); err != nil || got != want {
			t.Errorf("ParseLayout(%q) = %q, %v; want %q", pattern, got, err, want)
		}
	}
	for _, pattern := range []string{"PM_YYYYMMDD-hhmmss", "Mon YYYYMMDD-hhmmss", "YYYYMMDD-hhmmss MST", "Jan_YYYYMMDDhhmm"} {
		if got, err := ParseLayout(pattern); err == nil {
			t.Errorf("ParseLayout(%q) = %q, want it refused", pattern, got)
		}
	}
}
