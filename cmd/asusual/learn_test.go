package main

import (
	"os"
	"path/filepath"
	"testing"

	"asusual/cmd/asusual/config"
	"asusual/model"
	"asusual/model/limits"
	"asusual/model/spectrum"
)

// What the command line says of learning goes before the configuration, and what it leaves out is the configuration's.
func TestLearnOptionsGoBeforeTheFile(t *testing.T) {
	c, err := config.Decode("asusual.toml", `
[[line]]
name = "Filler 3"
good = "good"
reference = "line.reference"
promise = "1 per 30 days"
components = 3
[line.spectra]
axis = "nm"
quantity = "absorbance"
runs = "folder"
[[line.pretreatment]]
step = "msc"
`)
	if err != nil {
		t.Fatal(err)
	}
	var none learnOptions
	before, err := none.over(c)
	if err != nil || before.Components != 3 || before.Spectra.Axis != spectrum.Nanometre || !before.Spectra.Runs.Folder || before.Steps[0].Name != "msc" {
		t.Fatalf("learn without options = %+v, %v, want what the file says", before, err)
	}
	o := learnOptions{spectraOptions: spectraOptions{axis: "cm-1", quantity: "reflectance", runs: "column=batch"},
		good: []string{"other"}, reference: "other.reference", promise: "1 per year", components: 5, pretreat: "snv"}
	l, err := o.over(c)
	if err != nil {
		t.Fatal(err)
	}
	promise, err := limits.ParsePromise("1 per year")
	if err != nil {
		t.Fatal(err)
	}
	if l.Spectra.Axis != spectrum.ReciprocalCentimetre || l.Spectra.Quantity != spectrum.Reflectance || l.Spectra.Runs != (config.Runs{Column: "batch"}) || l.Good[0] != "other" ||
		l.Reference != "other.reference" || l.Promise != promise || l.Components != 5 || len(l.Steps) != 1 || l.Steps[0].Name != "snv" {
		t.Errorf("learn with %+v = %+v, want what the options say", o, l)
	}
}

// A stricter promise has higher thresholds, and as many components are learned as were asked for.
func TestLearnKeepsThePromiseAndTheComponentsAskedFor(t *testing.T) {
	t.Chdir(t.TempDir())
	if err := writeOats("good", "good", writeTable); err != nil {
		t.Fatal(err)
	}
	learned := func(more ...string) *model.Reference {
		t.Helper()
		file := filepath.Join(t.TempDir(), "line.reference")
		if status, _, said := call(t, append([]string{"learn", "--good", "good", "--reference", file, "--pretreat", "snv", "--quiet"}, more...)...); status != statusDone {
			t.Fatalf("learn %v = %d, %s", more, status, said)
		}
		f, err := os.Open(file)
		if err != nil {
			t.Fatal(err)
		}
		defer f.Close()
		ref, err := model.Decode(f)
		if err != nil {
			t.Fatal(err)
		}
		return ref
	}
	lax, strict := learned("--components", "2"), learned("--components", "2", "--promise", "1 per year")
	if lax.PCA.K != 2 || strict.PCA.K != 2 {
		t.Errorf("learn --components 2 learns %d and %d", lax.PCA.K, strict.PCA.K)
	}
	if len(lax.Limits.Questions) == 0 || len(lax.Limits.Leaps) == 0 || len(lax.Limits.Questions) != len(strict.Limits.Questions) || len(lax.Limits.Leaps) != len(strict.Limits.Leaps) {
		t.Fatalf("%d and %d questions, %d and %d leaps, want the same, and some", len(lax.Limits.Questions), len(strict.Limits.Questions), len(lax.Limits.Leaps), len(strict.Limits.Leaps))
	}
	for i, q := range lax.Limits.Questions {
		if now := strict.Limits.Questions[i].Threshold; !(now > q.Threshold) {
			t.Errorf("question %d: threshold %g at 1 per year, want above %g, that of 1 per 30 days", i, now, q.Threshold)
		}
	}
	for i, q := range lax.Limits.Leaps {
		if now := strict.Limits.Leaps[i].Threshold; !(now > q.Threshold) {
			t.Errorf("leap %d: threshold %g at 1 per year, want above %g, that of 1 per 30 days", i, now, q.Threshold)
		}
	}
}

// A condition is the configuration's own, in whatever case it is named on the command line.
func TestLearnTakesAConditionForTheOneOfTheConfiguration(t *testing.T) {
	c := &config.Config{Lines: []config.Line{{Name: "a", Good: []string{"good"}, Reference: "r", Conditions: []config.Condition{{Name: "rinse", From: []string{"of the file"}}}}}}
	o := learnOptions{conditions: []string{"Rinse=elsewhere", "leak=leaks"}}
	l, err := o.over(c)
	if err != nil || len(l.Conditions) != 2 || l.Conditions[0].Name != "rinse" || l.Conditions[0].From[0] != "elsewhere" || l.Conditions[1].Name != "leak" {
		t.Errorf("conditions %+v, %v; want rinse from elsewhere, and leak", l.Conditions, err)
	}
	if from := c.Lines[0].Conditions[0].From[0]; from != "of the file" {
		t.Errorf("the configuration's own has become %q", from)
	}
}
