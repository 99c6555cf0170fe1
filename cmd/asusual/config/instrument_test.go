package config

import (
	"path/filepath"
	"reflect"
	"strings"
	"testing"
	"time"

	"asusual/model/check"
	"asusual/model/fourier"
	"asusual/model/light"
	"asusual/model/spectrum"
)

func TestInstrument(t *testing.T) {
	c, err := Decode("plant/f.toml", `
[[line]]
name = "a"
[line.instrument]
dark = "d.csv"
reference = "w.csv"
detector = "in-ga-as"
from = "own"
full-counts = 65535
integration-time = "50ms"
every = "1s"
stale-after = "8h"
first = 7
[[line.instrument.check]]
role = "dark"
folder = "dark*"
[[line.instrument.check]]
role = "standard"
label = "oxides"
name = "*.jdx"
[line.instrument.standard]
name = "oxides"
unit = "cm-1"
method = "gravity"
window = 40
[[line.instrument.standard.band]]
at = 8179.7
[[line.instrument.standard.band]]
at = 6804
tolerance = 4
[line.instrument.limits]
light = [5, 10]
line = [0.001, 0.001]
[line.interferogram]
step = 6.3e-5
apodization = "Happ-Genzel"
from = 4000
`)
	if err != nil {
		t.Fatal(err)
	}
	got := c.Lines[0].Instrument
	if got.Detector == nil || got.Detector.Name != "InGaAs" {
		t.Fatalf("detector %+v, want InGaAs", got.Detector)
	}
	got.Detector = nil
	want := Instrument{
		Dark: filepath.Join("plant", "d.csv"), Reference: filepath.Join("plant", "w.csv"),
		Exposure: 50 * time.Millisecond, Every: time.Second,
		From: []string{filepath.Join("plant", "own")}, Fourier: &fourier.Options{Step: 6.3e-5, Apodization: fourier.HappGenzel, From: 4000},
		Rules: check.Rules{{Role: check.Dark, Folder: "dark*"}, {Role: check.Standard, Label: "oxides", Name: "*.jdx"}},
		Check: check.Settings{
			First: 7, Light: light.Options{Full: 65535, Stale: 8 * time.Hour},
			Standard: &check.Certificate{Name: "oxides", Unit: spectrum.ReciprocalCentimetre, Method: check.Gravity, Window: 40, Bands: []check.Band{{At: 8179.7}, {At: 6804, Tolerance: 4}}},
			Limits:   check.Limits{Light: check.Pair{Ageing: 5, Unfit: 10}, LineEach: check.Pair{Ageing: 0.001, Unfit: 0.001}},
		},
	}
	if !reflect.DeepEqual(got, want) {
		t.Errorf("Decode = %+v\nwant %+v", got, want)
	}
	if _, err := check.NewBook(got.Check, check.BookState{}); err != nil {
		t.Errorf("the settings make no book: %v", err)
	}
}

// TestSampleLimitsAreTheDefaults: what the sample shows as a default is one.
func TestSampleLimitsAreTheDefaults(t *testing.T) {
	text := Sample(Answers{Line: "a", Watch: "s", Good: []string{"g"}, Reference: "r"})
	c, err := Decode("f.toml", strings.ReplaceAll(text, "\n#", "\n"))
	if err == nil {
		t.Fatalf("explanations were taken for settings: %+v", c)
	}
	var open []string
	for line := range strings.Lines(text) {
		if len(line) > 1 && line[0] == '#' && line[1] != ' ' {
			line = line[1:]
		}
		open = append(open, line)
	}
	if c, err = Decode("f.toml", strings.Join(open, "")); err != nil {
		t.Fatal(err)
	}
	if got := c.Lines[0].Instrument.Check.Limits; got != check.Defaults() {
		t.Errorf("the sample's limits are %+v, the defaults %+v", got, check.Defaults())
	}
}

func TestInstrumentRefused(t *testing.T) {
	head := "[[line]]\nname = 'a'\n[line.instrument]\n"
	for text, want := range map[string]string{
		"dark = 'd.csv'":                          "[line.instrument] has only one of dark and reference",
		"detector = 'selenium'":                   `f.toml: line 4: detector "selenium" is not one of silicon`,
		"full-counts = -1":                        "a number of counts above 0",
		"stale-after = 'soon'":                    `line 4: stale-after: "soon" is not a duration such as 8h`,
		"stale-after = '-1h'":                     "is not a duration",
		"integration-time = 'fast'":               `line 4: integration-time: "fast" is not a duration`,
		"every = '0s'":                            `line 4: every: "0s" is not a duration`,
		"first = -2":                              "a whole number, 0 or above",
		"detectr = 'silicon'":                     `unknown key "detectr" in [line.instrument]; is "detector" meant?`,
		"check = 3":                               "check must be written as [[line.instrument.check]], in double brackets",
		"[[line.instrument.check]]\nfolder = 'd'": "line 4: a [[line.instrument.check]] needs a role",
		"[[line.instrument.check]]\nrole = 'sample'\nname = 'x'":                       `"sample" is not one of dark, reference, standard`,
		"[[line.instrument.check]]\nrole = 'dark'":                                     "line 4: a [[line.instrument.check]] needs folder, name or label",
		"[[line.instrument.check]]\nrole = 'dark'\nname = '['":                         "a pattern such as dark*.csv",
		"[[line.instrument.check]]\nrole = 'dark'\nnam = 'a'\nname = 'a'":              `unknown key "nam" in [[line.instrument.check]]`,
		"[line.instrument.standard]\nname = 'x'":                                       `line 4: standard "x": no band is stated`,
		"[line.instrument.standard]\nunit = 'inch'":                                    `unit: axis unit "inch" is not one of`,
		"[line.instrument.standard]\nmethod = 'eye'":                                   `method "eye" is not one of parabola, gravity`,
		"[line.instrument.standard]\n[[line.instrument.standard.band]]\ntolerance = 1": "a [[line.instrument.standard.band]] needs at",
		"[line.instrument.standard]\n[[line.instrument.standard.band]]\nat = -5":       "a band at -5",
		"[line.instrument.limits]\nlight = [50, 10]":                                   "light is a list; it must be two numbers in brackets, such as [10, 50]",
		"[line.instrument.limits]\nlight = 5":                                          "light is 5; it must be two numbers",
		"[line.instrument.limits]\nlight = [1, 'a']":                                   "two numbers in brackets",
		"[line.interferogram]\nphase-points = 3":                                       "line 4: a phase from 3 points; 8 are needed",
		"[line.interferogram]\nzero-filling = 3":                                       "line 4: zero filling by 3",
		"[line.interferogram]\napodization = 'soft'":                                   `apodization "soft" is not one of norton-beer medium`,
		"[line.interferogram]\nfrom = 8000\nto = 4000":                                 "wavenumbers from 8000 to 4000",
		"[line.interferogram]\nsteps = 1":                                              `unknown key "steps" in [line.interferogram]; is "step" meant?`,
		"[line.instrument.limits]\nlamp = [1, 2]":                                      `unknown key "lamp" in [line.instrument.limits]`,
	} {
		_, err := Decode("f.toml", head+text)
		if err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("Decode(%q) = %v, want an error with %q", text, err, want)
		}
	}
}

// When lamp or detector was changed may be written as a text, with an offset or in the zone of the site, or as a moment of TOML.
func TestSince(t *testing.T) {
	want := time.Date(2026, 11, 25, 8, 0, 0, 0, time.UTC)
	for _, c := range []struct {
		text string
		want time.Time
	}{
		{`"2026-11-25T10:00"`, want}, {`"2026-11-25 10:00"`, want}, {`"2026-11-25T09:00:00+01:00"`, want}, {`2026-11-25T10:00:00`, want}, {`2026-11-25T09:00:00+01:00`, want},
		{`2026-11-25`, want.Add(-10 * time.Hour)}, {`"2026-11-25"`, want.Add(-10 * time.Hour)},
	} {
		got, err := Decode("f.toml", "[site]\ntime-zone = \"Europe/Helsinki\"\n[[line]]\nname = \"a\"\n[line.instrument]\nsince = "+c.text+"\n")
		if err != nil || !got.Lines[0].Instrument.Check.Since.Equal(c.want) {
			t.Errorf("since = %s: %v, %v, want %v", c.text, got, err, c.want)
		}
	}
	if _, err := Decode("f.toml", "[[line]]\nname = \"a\"\n[line.instrument]\nsince = \"lately\"\n"); err == nil || !strings.Contains(err.Error(), `line 4: since: "lately" is not a day`) {
		t.Errorf("since = lately: %v, want the line and what it may be", err)
	}
}

// TestOwn: what is the instrument's own may do without a time in its name, wherever its configuration and the command say it lies.
func TestOwn(t *testing.T) {
	t.Chdir(t.TempDir())
	here, err := filepath.Abs(".")
	if err != nil {
		t.Fatal(err)
	}
	i := Instrument{Dark: "d.csv", Reference: filepath.Join(here, "r.csv"), From: []string{"checks", filepath.Join(here, "far")}, Rules: check.Rules{
		{Role: check.Dark, Folder: "darks"}, {Role: check.Reference, Name: "white*", Label: "tile*"}, {Role: check.Standard, Label: "oxides"},
	}}
	for _, tt := range []struct {
		file, label string
		want        bool
	}{
		{"darks/1.csv", "", true}, {"s/white1.csv", "tile 7", true}, {"s/white1.csv", "oat", false}, {"s/white1.csv", "", false}, {"s/1.csv", "tile 7", false},
		{"s/1.csv", "Oxides", true}, {"s/1.csv", "", false}, {"d.csv", "", true}, {filepath.Join(here, "d.csv"), "", true}, {"r.csv", "", true},
		{filepath.Join("checks", "1.csv"), "", true}, {filepath.Join(here, "checks", "a", "1.csv"), "", true},
		{filepath.Join(here, "far", "1.csv"), "", true}, {filepath.Join("far", "1.csv"), "", true}, {"farther/1.csv", "", false}, {"..checks/1.csv", "", false},
	} {
		if got := i.Own(tt.file, tt.label); got != tt.want {
			t.Errorf("Own(%q, %q) = %v, want %v", tt.file, tt.label, got, tt.want)
		}
	}
	if (Instrument{}).Own("", "") || (Instrument{}).Own("1.csv", "oat") {
		t.Error("a file is the own of an instrument of which nothing is said")
	}
}
