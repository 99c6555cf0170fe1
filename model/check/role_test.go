package check

import (
	"encoding/json"
	"strings"
	"testing"

	"asusual/model/fitness"
	"asusual/model/spectrum"
)

func TestRules(t *testing.T) {
	rules := Rules{
		{Role: Dark, Folder: "dark*"},
		{Role: Reference, Name: "white_*.csv"},
		{Role: Standard, Label: "polystyrene*"},
		{Role: Reference, Folder: "checks", Label: "tile"},
	}
	if err := rules.Validate(); err != nil {
		t.Fatal(err)
	}
	for _, tt := range []struct {
		file, label string
		want        Role
	}{
		{"spectra/darks/1.csv", "", Dark},
		{`D:\line 3\DARK\1.csv`, "", Dark},
		{"spectra/dark.csv", "", Sample}, // a file, no folder
		{"spectra/White_0630.CSV", "", Reference},
		{"white_1/oat.csv", "", Sample}, // a folder, no file
		{"a.jdx", "Polystyrene, 1 mm", Standard},
		{"a.jdx", "polystyrene 1/2", Standard},
		{"spectra/checks/a.jdx", "tile", Reference},
		{"spectra/a.jdx", "tile", Sample},          // only one of two fits
		{"darks/white_1.csv", "polystyrene", Dark}, // the first rule
		{"oat.csv", "", Sample},
		{"", "", Sample},
	} {
		if got := rules.Of(spectrum.Spectrum{File: tt.file, Label: tt.label}); got != tt.want {
			t.Errorf("Of(%q, %q) = %v, want %v", tt.file, tt.label, got, tt.want)
		}
	}
	for want, rs := range map[string]Rules{
		"rule 1, for dark spectra: none of folder, name and label is set": {{Role: Dark}},
		`rule 2, for standard spectra: "[" is no pattern`:                 {{Role: Dark, Name: "d"}, {Role: Standard, Label: "["}},
	} {
		if err := rs.Validate(); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("Validate(%v) = %v, want an error with %q", rs, err, want)
		}
	}
	if got := (Rules{{Role: Dark}}).Of(spectrum.Spectrum{File: "a"}); got != Sample {
		t.Errorf("a rule without a pattern made a %v", got)
	}
}

func TestRoleText(t *testing.T) {
	for r := Sample; r <= Standard; r++ {
		b, err := json.Marshal(r)
		var got Role
		if err != nil || json.Unmarshal(b, &got) != nil || got != r {
			t.Errorf("%v reads back from %s as %v, %v", r, b, got, err)
		}
	}
	var r Role
	if err := r.UnmarshalText([]byte("white")); err == nil || !strings.Contains(err.Error(), "sample, dark, reference, standard") {
		t.Errorf("role white: %v", err)
	}
}

func TestPair(t *testing.T) {
	p := Pair{1, 3}
	for v, want := range map[float64]fitness.State{0: fitness.Fit, 1: fitness.Fit, 1.01: fitness.Ageing, 3: fitness.Ageing, 3.01: fitness.Bad} {
		if got := p.State(v); got != want {
			t.Errorf("State(%g) = %v, want %v", v, got, want)
		}
	}
	if p.Next(2) != 1 || p.Next(4) != 3 {
		t.Errorf("Next(2), Next(4) = %g, %g; want 1, 3", p.Next(2), p.Next(4))
	}
}

func TestLimits(t *testing.T) {
	got, err := Limits{Light: Pair{5, 9}}.filled()
	want := Defaults()
	want.Light = Pair{5, 9}
	if err != nil || got != want {
		t.Errorf("filled = %+v, %v; want the defaults but for the light", got, err)
	}
	for _, l := range []Limits{{DarkLevel: Pair{-1, 2}}, {Band: Pair{2, 1}}, {LineEach: Pair{0, inf()}}} {
		if _, err := l.filled(); err == nil {
			t.Errorf("limits %+v gave no error", l)
		}
	}
	// From memory: the segments' limits that the package comment names.
	if d := Defaults(); d.LineEach.Ageing != 0.8e-3 || d.LineMean.Ageing != 0.3e-3 {
		t.Errorf("defaults of the 100 %% line are %v, %v", d.LineEach, d.LineMean)
	}
	if got := Worst(); got != fitness.Fit {
		t.Errorf("Worst() = %v, want fit", got)
	}
	if got := Worst("", fitness.Ageing, fitness.Fit, fitness.Bad); got != fitness.Bad {
		t.Errorf("Worst of all = %v, want unfit", got)
	}
}

func inf() float64 { v := 1e308; return v * 10 }
