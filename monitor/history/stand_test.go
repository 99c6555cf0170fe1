package history_test

import (
	"fmt"
	"testing"

	"asusual/monitor/history"
)

// How all lines stand is what each of them says by itself: one with everything, one that is known and has nothing, one in between.
func TestStands(t *testing.T) { onBoth(t, testStands) }

func testStands(t *testing.T, where string) {
	d := open(t, where)
	b := batch(0, 100)
	b.State = history.State{Course: []byte(`{"a":1}`), Groups: []byte("places"), Reference: "abc123", Newest: judged(99).Records[0].Time}
	ahead := judged(100)
	ahead.Records[0].Time = noon.AddDate(4, 0, 0) // its clock was put back after it
	b.Files = append(b.Files, ahead)
	b.Alarm = []byte(`{"state":1}`)
	if err := d.Append(t.Context(), b); err != nil {
		t.Fatal(err)
	}
	for i, line := range []string{"Filler 10", "A"} {
		b := batch(0, 1-i)
		b.Line = line
		for j := range b.Files {
			b.Files[j].Records[0].Line = line
		}
		if err := d.Append(t.Context(), b); err != nil {
			t.Fatal(err)
		}
	}
	stands, err := d.Stands(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	if names := fmt.Sprintf("%d, %s to %s", len(stands), stands[0].Line, stands[len(stands)-1].Line); names != "3, A to Filler 3" {
		t.Fatalf("Stands = %+v, want the three lines by name", stands)
	}
	for i, want := range []history.Record{{}, judged(0).Records[0], judged(99).Records[0]} {
		s := stands[i]
		if got := s.Last; !got.Time.Equal(want.Time) || got.Distance != want.Distance || got.Condition != want.Condition || got.Instrument != want.Instrument {
			t.Errorf("Stands, the last of %s = %+v, want time, distance, condition and instrument of %+v", s.Line, got, want)
		}
		if s.Unasked == history.IsServer(where) || s.Unasked != (s.Watcher == "") || s.Unasked != s.Watched.IsZero() {
			t.Errorf("Stands, who writes %s = %q, since %v, unasked %v; want it where the history is on a server", s.Line, s.Watcher, s.Watched, s.Unasked)
		}
	}
	if s := stands[2]; string(s.Course) != `{"a":1}` || string(s.Alarm) != `{"state":1}` || s.Reference != "abc123" {
		t.Errorf("Stands, of Filler 3 = %+v, want its state and alarm", s)
	}
	if s := stands[1]; s.Course != nil || s.Alarm != nil || s.Reference != "" {
		t.Errorf("Stands, of a line without state = %+v, want none", s)
	}
}
