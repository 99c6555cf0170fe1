package history

import (
	"path/filepath"
	"reflect"
	"testing"
	"time"
)

// TestRolesAndStates: what was not judged itself is counted by what it is; the state of the instrument is looked for back to where it
// was another, over spectra that say nothing of it.
func TestRolesAndStates(t *testing.T) {
	db, err := Open(t.Context(), filepath.Join(t.TempDir(), "h"), "test")
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	noon := time.Date(2026, 11, 25, 12, 0, 0, 0, time.UTC)
	at := func(minute int) time.Time { return noon.Add(time.Duration(minute) * time.Minute) }
	j := Judged{File: File{Name: "day.csv", Version: 1, Modified: noon, Received: noon}}
	for i, state := range []string{"fit", "ageing", "fit", "ageing", "", "ageing"} {
		j.Records = append(j.Records, Record{File: "day.csv", Row: i + 1, Time: at(i), Received: noon, Condition: "usual", Verdict: "as usual", Instrument: state, Reference: "a"})
	}
	for i, role := range []string{OfItem, OfItem, EmptyBelt, "dark"} {
		j.Own = append(j.Own, Own{File: "day.csv", Row: 10 + i, Time: at(i), Received: noon, Role: role})
	}
	if err := db.Append(t.Context(), Batch{Line: "Filler 3", Files: []Judged{j}}); err != nil {
		t.Fatal(err)
	}
	got, err := db.Roles(t.Context(), Query{Line: "Filler 3", To: at(3)})
	if want := map[string]int{OfItem: 2, EmptyBelt: 1}; err != nil || !reflect.DeepEqual(got, want) {
		t.Errorf("Roles = %v, %v, want %v", got, err, want)
	}
	for _, tt := range []struct {
		state    string
		from, at int
		want     time.Time
	}{
		{"ageing", -60, 5, at(3)}, {"ageing", -60, 1, at(1)}, {"ageing", 5, 5, at(5)}, {"fit", -60, 5, time.Time{}}, {"fit", -60, 2, at(2)}, {"unfit", -60, 5, time.Time{}},
	} {
		if got, err := db.StateSince(t.Context(), "Filler 3", tt.state, at(tt.from), at(tt.at)); err != nil || !got.Equal(tt.want) {
			t.Errorf("StateSince(%s, %d) = %v, %v, want %v", tt.state, tt.at, got, err, tt.want)
		}
	}
}
