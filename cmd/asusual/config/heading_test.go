package config_test

import (
	"regexp"
	"strings"
	"testing"

	"asusual/cmd/asusual/config"
)

// A key whose mark was taken away and not that of its heading is told its heading.
func TestAKeyOfAnotherHeading(t *testing.T) {
	for _, c := range []struct{ name, text, want string }{
		{"of one table", "[line.spectra]\nevery = '1s'", `f.toml: line 4: unknown key "every" in [line.spectra]; it belongs under [line.instrument], a heading that has to stand above it without a mark`},
		{"of a table below", "[line.instrument]\ndark-noise = [1.5, 4]", `unknown key "dark-noise" in [line.instrument]; it belongs under [line.instrument.limits], `},
		{"of two tables", "[line.instrument]\nwindow = 15", `it belongs under [line.instrument.standard] or [[line.pretreatment]], `},
		{"of an array", "[line.spectra]\nlongest = '45m'", `it belongs under [[line.condition]], `},
		{"rather than a like one", "[line.spectra]\nstep = 1", `it belongs under [line.interferogram] or [[line.pretreatment]], `},
		{"of the last table", "[signal]\ntoken-file = 'x'", `unknown key "token-file" in [signal]; it belongs under [live], `},
		{"of the line", "[line.spectra]\npromise = '1 per 30 days'", `it belongs under [[line]], `},
		{"a table", "[instrument]\nevery = '1s'", `unknown key "instrument"; its heading is [line.instrument]`},
		{"an array", "[[pretreatment]]\nstep = 'snv'", `unknown key "pretreatment"; its heading is [[line.pretreatment]]`},
		{"of none", "[line.spectra]\nevry-so-often = '1s'", `unknown key "evry-so-often" in [line.spectra]; known are axis, `},
		{"a slip", "[line.spectra]\nquantitty = '1s'", `is "quantity" meant?`},
	} {
		_, err := config.Decode("f.toml", "[[line]]\nname = 'a'\n"+c.text+"\n")
		if err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: Decode = %v, want %q", c.name, err, c.want)
		}
	}
}

// A law: each single setting of the sample whose mark alone is taken away is taken, or told where it belongs, or has another meaning in
// the table before, which is told too.
func TestEachSettingOfTheSampleByItself(t *testing.T) {
	lines := strings.Split(config.Sample(config.Answers{Line: "a", Watch: "w", Good: []string{"g"}}), "\n")
	setting := regexp.MustCompile(`^#([a-z0-9-]+) = `)
	told := 0
	for i, line := range lines {
		m := setting.FindStringSubmatch(line)
		if m == nil {
			continue
		}
		lines[i] = line[1:]
		_, err := config.Decode("f.toml", strings.Join(lines, "\n"))
		lines[i] = line
		if err == nil {
			continue
		}
		if strings.Contains(err.Error(), "unknown key") {
			told++
			if !strings.Contains(err.Error(), `"`+m[1]+`"`) || !strings.Contains(err.Error(), "; it belongs under [") {
				t.Errorf("line %d, %s: Decode = %v, want it told under which heading it belongs", i+1, line, err)
			}
		}
	}
	if told < 40 {
		t.Errorf("%d settings were told their heading, want most of those under a heading with a mark", told)
	}
}
