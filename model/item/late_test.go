package item

import (
	"encoding/json"
	"fmt"
	"testing"
	"time"

	"asusual/model/spectrum"
)

// TestLate: a spectrum of an item that ended before it came is told to be late, and touches no other item.
func TestLate(t *testing.T) {
	byID := Options{ByID: true, Gap: 2 * time.Second}
	byGap := Options{Gap: time.Second}
	byBelt := Options{Presence: &Presence{Above: 1.6}, Gap: time.Second}
	for _, tt := range []struct {
		name string
		opt  Options
		es   []event
		want string
	}{
		{"of the item before, while the next one comes", byID, []event{{at: 0, id: "a"}, {at: 2, id: "b", v: 4}, {at: 1, id: "a", v: 9}, {at: 3, id: "b", v: 6}},
			"a:1/0=0 b:2/0=5 3.csv late of a"},
		{"of an item further back", byID, []event{{at: 0, id: "a"}, {at: 2, id: "b"}, {at: 4, id: "c"}, {at: 1, id: "a"}, {at: 3, id: "b"}}, "a:1/0=0 b:1/0=0 c:1/0=0 4.csv late of a 5.csv late of b"},
		{"earlier than all of its item", byID, []event{{at: 5, id: "a"}, {at: 6, id: "b"}, {at: 4, id: "a"}}, "a:1/0=0 b:1/0=0 3.csv late of a"},
		{"an id that comes again in its turn is another item", byID, []event{{at: 0, id: "a"}, {at: 1, id: "b"}, {at: 2, id: "a", v: 2}}, "a:1/0=0 b:1/0=0 a:1/0=2"},
		{"an id that comes again long after is another item", byID, []event{{at: 0, id: "a"}, {at: 90, id: "b"}, {at: 60, id: "a", v: 2}}, "a:1/0=0 b:1/0=0 a:1/0=2"},
		{"a whole item late is an item", byID, []event{{at: 0, id: "a"}, {at: 20, id: "c"}, {at: 10, id: "b", v: 1}, {at: 11, id: "b", v: 3}}, "a:1/0=0 c:1/0=0 b:2/0=2"},
		{"the belt that was overtaken ends nothing", byID, []event{{at: 0, id: "a"}, {at: 5, id: "b"}, {at: 3}, {at: 6, id: "b", v: 2}}, "a:1/0=0 b:2/0=1"},
		{"within an item that a gap ended", byGap, []event{{at: 0}, {at: 2}, {at: 30}, {at: 1}, {at: 31, v: 2}}, "1.csv:2/0=0 3.csv:2/0=1 4.csv late of 1.csv"},
		{"nearer to the open item", byGap, []event{{at: 0}, {at: 12}, {at: 8, v: 2}}, "1.csv:1/0=0 2.csv:2/0=1"},
		{"nearer to the item before", byGap, []event{{at: 0}, {at: 12}, {at: 3, v: 2}}, "1.csv:1/0=0 2.csv:1/0=0 3.csv late of 1.csv"},
		{"after the belt comes the next item", byBelt, []event{{at: 0, v: 1}, {at: 1}, {at: 2, v: 3}}, "1.csv:1/0=1 3.csv:1/0=3"},
		{"before the belt it is of the item before", byBelt, []event{{at: 0, v: 1}, {at: 2}, {at: 1, v: 3}, {at: 3, v: 5}}, "1.csv:1/0=1 4.csv:1/0=5 3.csv late of 1.csv"},
		{"an item that was full goes on as the next", Options{ByID: true, Most: 2}, []event{{at: 0, id: "a"}, {at: 1, id: "a"}, {at: 2, id: "a"}}, "a:2/0=0 a:1/0=0"},
	} {
		if got, _ := gathered(t, tt.opt, tt.es); got != tt.want {
			t.Errorf("%s: items %q, want %q", tt.name, got, tt.want)
		}
	}
}

// TestLateByTheClock: what comes after an item was closed because nothing came is late where it would have been of it, also after a
// break; at the end of a folder nothing is remembered.
func TestLateByTheClock(t *testing.T) {
	a := axisOf(t, 2)
	at := func(id string, ms int) (spectrum.Spectrum, Mark) {
		return spectrum.Spectrum{Axis: a, Values: []float64{1, 2}, Time: noon.Add(time.Duration(ms) * time.Millisecond), File: id + ".csv"}, Mark{ID: id}
	}
	opt := Options{ByID: true, Gap: time.Second}
	g, _ := NewGatherer(opt)
	add := func(id string, ms int) string {
		t.Helper()
		got, err := g.Add(at(id, ms))
		if err != nil {
			t.Fatal(err)
		}
		if got.Late != nil {
			return fmt.Sprintf("late of %d", got.Late.Number)
		}
		return fmt.Sprintf("of %d", got.Of)
	}
	add("a", 0)
	g.Close()
	text, err := json.Marshal(g.State())
	if err != nil {
		t.Fatal(err)
	}
	var s State
	if err := json.Unmarshal(text, &s); err != nil {
		t.Fatal(err)
	}
	if g, err = Resume(opt, s); err != nil {
		t.Fatal(err)
	}
	for _, tt := range []struct {
		id   string
		ms   int
		want string
	}{{"a", 900, "late of 1"}, {"a", 1001, "of 2"}, {"a", 1100, "of 2"}, {"b", 1200, "of 3"}, {"a", 1150, "late of 2"}, {"a", 0, "late of 1"}} {
		if got := add(tt.id, tt.ms); got != tt.want {
			t.Errorf("%s at %d ms is %s, want %s", tt.id, tt.ms, got, tt.want)
		}
	}
	g.Finish()
	if got := add("b", 1200); got != "of 4" {
		t.Errorf("in the next folder it is %s, want an item of its own", got)
	}
}

// TestLateRemembered: as many items are remembered as are kept, and no more.
func TestLateRemembered(t *testing.T) {
	g, _ := NewGatherer(Options{ByID: true})
	a := axisOf(t, 2)
	add := func(id, ms int) Added {
		got, err := g.Add(spectrum.Spectrum{Axis: a, Values: []float64{1, 2}, Time: noon.Add(time.Duration(ms) * time.Millisecond)}, Mark{ID: fmt.Sprint(id)})
		if err != nil {
			t.Fatal(err)
		}
		return got
	}
	for i := range keepClosed + 2 {
		add(i, 2*i)
	}
	if len(g.closed) != keepClosed {
		t.Errorf("%d items are remembered, want %d", len(g.closed), keepClosed)
	}
	if got := add(1, 3); got.Late == nil || got.Late.ID != "1" {
		t.Errorf("of the oldest that is remembered: %+v, want it late", got)
	}
	if got := add(0, 1); got.Late != nil {
		t.Errorf("of one that is forgotten: %+v, want an item of its own", got)
	}
}
