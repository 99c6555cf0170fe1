package config

import (
	"reflect"
	"strings"
	"testing"
	"time"

	"asusual/model/intake"
	"asusual/model/item"
)

func TestItems(t *testing.T) {
	head := "[[line]]\nname = 'a'\n[[line.condition]]\nname = 'Empty belt'\nfrom = 'belt'\n[line.items]\n"
	name, err := intake.ParseName("carton-{id}_*.csv")
	if err != nil {
		t.Fatal(err)
	}
	minute := time.Minute
	for text, want := range map[string]Items{
		"gap = '2s'":                             {Options: item.Options{Gap: 2 * time.Second}},
		"id = 'Label'\nedges = 2":                {Options: item.Options{Gap: minute, ByID: true, Trim: 2}, Trigger: intake.ByLabel},
		"id = 'run'\nleast = 3":                  {Options: item.Options{Gap: minute, ByID: true, Least: 3}, Trigger: intake.ByRun},
		"id = 'carton-{id}_*.csv'":               {Options: item.Options{Gap: minute, ByID: true}, Trigger: intake.ByName, Name: name},
		"above = 0.3\nmost = 50":                 {Options: item.Options{Gap: minute, Most: 50, Presence: &item.Presence{Above: 0.3}}},
		"below=0.5\nfrom=2\nto=1":                {Options: item.Options{Gap: minute, Presence: &item.Presence{Above: 0.5, Below: true, From: 1, To: 2}}},
		"empty = 'empty BELT'":                   {Options: item.Options{Gap: minute, ByBelt: true}, Condition: "Empty belt"},
		"empty='empty belt'\ngap='3s'\nid='run'": {Options: item.Options{Gap: 3 * time.Second, ByBelt: true, ByID: true}, Trigger: intake.ByRun, Condition: "Empty belt"},
	} {
		c, err := Decode("f.toml", head+text)
		if err != nil {
			t.Errorf("Decode(%q): %v", text, err)
			continue
		}
		if got := c.Lines[0].Items; !reflect.DeepEqual(*got, want) {
			t.Errorf("Decode(%q) = %+v\nwant %+v", text, *got, want)
		}
	}
	for text, want := range map[string]string{
		"edges = 1":                        "line 6: [line.items] does not say how one item is told from the next",
		"gap = '0s'":                       `"0s" is not a duration`,
		"id = 'carton.csv'":                `line 7: id: "carton.csv" does not hold {id} once`,
		"above = 1\nbelow = 2":             "has above and below",
		"above = 1\nempty = 'empty belt'":  `tells the empty belt by a level and by the condition "empty belt"`,
		"empty = 'air'":                    `empty: "air" is no [[line.condition]] with spectra`,
		"gap = '1s'\nedges = 5\nmost = 10": "an item ends after 10 spectra, of which 10 are edges",
		"gap = '1s'\nedge = 5":             `unknown key "edge" in [line.items]; is "edges" meant?`,
		"above = 1\nlest = 1":              `is "least" meant?`,
	} {
		_, err := Decode("f.toml", head+text)
		if err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("Decode(%q) = %v, want an error with %q", text, err, want)
		}
	}
}
