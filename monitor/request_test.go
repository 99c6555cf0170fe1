package monitor

import (
	"encoding/json"
	"testing"
)

// What lies among the requests is refused, or it is one that says the same when it is written and read again.
func FuzzRequest(f *testing.F) {
	for _, text := range []string{
		`{"id":"a","line":"Filler 3","act":"acknowledged","who":"shift leader","why":"pump","at":"2026-11-25T06:00:00Z"}`,
		`{"id":"a","line":"Filler 3","act":"shelved","who":"x","why":"y","until":"2026-11-25T07:00:00Z","at":"2026-11-25T06:00:00Z"}`,
		`{"id":"a","line":"Filler 3","act":"unshelved","who":" ","why":"y"}`,
		`{"id":"../b","line":"Filler 3"}`, `[]`, `{"until":"9999-99-99"}`, "\xff",
	} {
		f.Add([]byte(text), "a.json")
	}
	f.Fuzz(func(t *testing.T, text []byte, name string) {
		r, err := parseRequest(text, name)
		if err != nil {
			return
		}
		again, err := json.Marshal(r)
		if err != nil {
			t.Fatalf("%+v was taken and cannot be written: %v", r, err)
		}
		if same, err := parseRequest(again, name); err != nil || same.Act != r.Act || same.Who != r.Who || same.Why != r.Why || !same.Until.Equal(r.Until) {
			t.Errorf("%+v is read back as %+v, %v", r, same, err)
		}
	})
}
