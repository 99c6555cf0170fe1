package intake

import (
	"encoding/json"
	"errors"
	"fmt"
	"strings"
	"testing"
	"time"

	"asusual/model/check"
	"asusual/model/item"
	"asusual/model/spectrum"
)

// cartons are spectra of single oat-drink cartons: the level is the number of the carton; 0 is the empty belt.
func cartons(t *testing.T, levels ...float64) (all []spectrum.Spectrum) {
	t.Helper()
	axis, err := spectrum.NewAxis(spectrum.Nanometre, []float64{1000, 1010, 1020})
	if err != nil {
		t.Fatal(err)
	}
	for i, v := range levels {
		all = append(all, spectrum.Spectrum{Axis: axis, Quantity: spectrum.Absorbance, Values: []float64{v, v, v},
			File: fmt.Sprintf("carton-%g_%d.csv", v, i), Time: time.Date(2026, 11, 25, 6, 0, i, 0, time.UTC)})
	}
	return all
}

func told(got Taken) string {
	if got.Ended == nil {
		return fmt.Sprint(got.Of)
	}
	return fmt.Sprintf("%d ends %d:%d×%g", got.Of, got.Ended.Number, got.Count, got.Sample.Values[0])
}

// TestItemsGoOn: items told by the belt, by the name, and both, with a break after each spectrum.
func TestItemsGoOn(t *testing.T) {
	name, err := ParseName("carton-{id}_*.csv")
	if err != nil {
		t.Fatal(err)
	}
	belt := func(s spectrum.Spectrum) (bool, error) { return s.Values[0] == 0, nil }
	for _, tt := range []struct {
		name string
		opt  Options
		want string
	}{
		{"by the belt", Options{Items: &item.Options{}, Empty: belt}, "1, 1, 0 ends 1:2×1.5, 2, 2, 0 ends 2:2×2.5"},
		{"by the name", Options{Items: &item.Options{}, Trigger: ByName, Name: name}, "1, 2 ends 1:1×1, 3 ends 2:1×2, 4 ends 3:1×0, 5 ends 4:1×2, 6 ends 5:1×3"},
		{"by both", Options{Items: &item.Options{}, Trigger: ByName, Name: name, Empty: belt}, "1, 2 ends 1:1×1, 0 ends 2:1×2, 3, 4 ends 3:1×2, 0 ends 4:1×3"},
		{"by most", Options{Items: &item.Options{Most: 2}, Empty: belt}, "1, 1 ends 1:2×1.5, 0, 2, 2 ends 2:2×2.5, 0"},
	} {
		k, err := New(tt.opt, check.BookState{})
		if err != nil {
			t.Fatal(err)
		}
		var all []string
		for _, s := range cartons(t, 1, 2, 0, 2, 3, 0) {
			got, err := k.Take(s)
			if err != nil {
				t.Fatal(err)
			}
			all = append(all, told(got))
			text, err := json.Marshal(k.Items())
			if err != nil {
				t.Fatal(err)
			}
			var kept Items
			if err := json.Unmarshal(text, &kept); err != nil {
				t.Fatal(err)
			}
			if k, err = Resume(tt.opt, check.BookState{}, kept); err != nil {
				t.Fatal(err)
			}
		}
		if got := strings.Join(all, ", "); got != tt.want {
			t.Errorf("%s: %s\nwant %s", tt.name, got, tt.want)
		}
	}
}

func TestItemsRefused(t *testing.T) {
	for want, opt := range map[string]Options{
		"nothing tells an item from the empty": {Items: &item.Options{ByBelt: true}},
		"it is not said where in it":           {Items: &item.Options{}, Trigger: ByName},
	} {
		if _, err := New(opt, check.BookState{}); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("New(%+v) = %v, want an error with %q", opt, err, want)
		}
	}
	name, _ := ParseName("carton-{id}.csv")
	k, err := New(Options{Items: &item.Options{}, Trigger: ByName, Name: name}, check.BookState{})
	if err != nil {
		t.Fatal(err)
	}
	s := cartons(t, 1)[0]
	s.File = "1.csv"
	if _, err := k.Take(s); err == nil || !strings.Contains(err.Error(), "it is not of the form carton-{id}.csv") {
		t.Errorf("Take of another name: %v", err)
	}
	off := errors.New("another axis")
	k, _ = New(Options{Items: &item.Options{}, Empty: func(spectrum.Spectrum) (bool, error) { return false, off }}, check.BookState{})
	if _, err := k.Take(s); !errors.Is(err, off) {
		t.Errorf("Take = %v, want what the belt's model says", err)
	}
	if !k.Open() && k.Items().Open == nil {
		return
	}
	t.Error("a spectrum that could not be used opened an item")
}
