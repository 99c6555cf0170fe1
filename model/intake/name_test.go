package intake

import (
	"strings"
	"testing"
)

func TestNamePattern(t *testing.T) {
	for _, tt := range []struct {
		pattern, file, id string
		ok                bool
	}{
		{"carton-{id}_*.csv", "carton-17_2.csv", "17", true},
		{"carton-{id}_*.csv", "day/lot 4/carton-17_2_3.csv", "17", true},
		{"carton-{id}_*.csv", `D:\spectra\carton-17_2.csv`, "17", true},
		{"carton-{id}_*.csv", "carton-_2.csv", "", false},
		{"carton-{id}_*.csv", "xcarton-17_2.csv", "", false},
		{"{id}.csv", "a.b.csv", "a.b", true},
		{"*_{id}.??", "20261125_0042.dx", "0042", true},
		{"(a+{id}", "(a+7", "7", true},
		{"k{id}", "k\n", "", false},
	} {
		p, err := ParseName(tt.pattern)
		if err != nil {
			t.Errorf("ParseName(%q): %v", tt.pattern, err)
			continue
		}
		if id, ok := p.ID(tt.file); id != tt.id || ok != tt.ok {
			t.Errorf("%v.ID(%q) = %q, %v; want %q, %v", p, tt.file, id, ok, tt.id, tt.ok)
		}
	}
	for bad, want := range map[string]string{"carton.csv": "does not hold {id} once", "{id}{id}": "does not hold {id} once", "a/{id}.csv": "names a folder"} {
		if _, err := ParseName(bad); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("ParseName(%q) = %v, want an error with %q", bad, err, want)
		}
	}
	if _, ok := (NamePattern{}).ID("a.csv"); ok {
		t.Error("the zero pattern finds an id")
	}
}
