package item

import (
	"encoding/json"
	"fmt"
	"math"
	"math/rand/v2"
	"reflect"
	"strings"
	"testing"
	"time"

	"asusual/model/spectrum"
)

// TestResume: a gatherer that is written down and taken up again after any spectrum gives the very items of one that never was,
// to the last bit.
func TestResume(t *testing.T) {
	rng := rand.New(rand.NewPCG(9, 1))
	a := axisOf(t, 6)
	late := 0
	for round := range 60 {
		opt := Options{Gap: time.Second, ByID: round%2 == 0, Trim: round % 3, Least: 1 + round%2, Most: 9}
		if round%5 == 0 {
			opt.Presence = &Presence{Above: 0.2}
		}
		straight, err := NewGatherer(opt)
		if err != nil {
			t.Fatal(err)
		}
		broken, at := *straight, noon
		resumed := &broken
		for i := range 80 {
			at = at.Add(time.Duration(rng.IntN(1300)) * time.Millisecond)
			when := at.Add(-time.Duration(rng.IntN(2)*rng.IntN(4000)) * time.Millisecond) // some are overtaken
			s := spectrum.Spectrum{Axis: a, Quantity: spectrum.Absorbance, Time: when, File: fmt.Sprintf("%d.csv", i), Values: make([]float64, 6)}
			for j := range s.Values {
				s.Values[j] = rng.Float64() * math.Pow(10, float64(rng.IntN(5)-2))
			}
			m := Mark{ID: fmt.Sprint(i / 7), Empty: rng.IntN(9) == 0}
			want, err := straight.Add(s, m)
			if err != nil {
				t.Fatal(err)
			}
			text, err := json.Marshal(resumed.State())
			if err != nil {
				t.Fatal(err)
			}
			var kept State
			if err := json.Unmarshal(text, &kept); err != nil {
				t.Fatal(err)
			}
			if resumed, err = Resume(opt, kept); err != nil {
				t.Fatalf("Resume(%s): %v", text, err)
			}
			got, err := resumed.Add(s, m)
			if err != nil {
				t.Fatal(err)
			}
			same(t, got.Ended, want.Ended)
			if got.Of != want.Of || (got.Late == nil) != (want.Late == nil) || got.Late != nil && got.Late.Number != want.Late.Number {
				t.Fatalf("after a break the spectrum is %+v, want %+v", got, want)
			}
			if got.Late != nil {
				late++
			}
		}
		same(t, resumed.Close(), straight.Close())
		if resumed.Empty() != straight.Empty() || resumed.number != straight.number {
			t.Errorf("%d empty and %d items after breaks, want %d and %d", resumed.Empty(), resumed.number, straight.Empty(), straight.number)
		}
	}
	if late < 100 {
		t.Errorf("%d spectra were late, which tells nothing", late)
	}
}

func same(t *testing.T, got, want *Item) {
	t.Helper()
	if (got == nil) != (want == nil) {
		t.Fatalf("after a break the item is %+v, want %+v", got, want)
	}
	if got == nil {
		return
	}
	g, w := *got, *want
	if !g.Spectrum.Axis.Equal(w.Spectrum.Axis) || !g.From.Equal(w.From) || !g.To.Equal(w.To) || !g.Spectrum.Time.Equal(w.Spectrum.Time) {
		t.Fatalf("after a break the item is %+v, want %+v", g, w)
	}
	g.Spectrum.Axis, g.Spectrum.Time, g.From, g.To = w.Spectrum.Axis, w.Spectrum.Time, w.From, w.To
	if !reflect.DeepEqual(g, w) {
		t.Fatalf("after a break the item is %+v, want %+v", g, w)
	}
}

// TestResumeRefused: what cannot be a state is refused, and a sum that overflowed is one.
func TestResumeRefused(t *testing.T) {
	first := spectrum.Spectrum{Axis: axisOf(t, 2), Quantity: spectrum.Absorbance}
	for want, o := range map[string]*Open{
		"a sum of 0 values":    {},
		"a sum of 3 values":    {First: first, Sum: numbers{1, 2, 3}},
		"of -1 spectra":        {First: first, Sum: numbers{1, 2}, Count: -1},
		"an edge of 1 values":  {First: first, Sum: numbers{1, 2}, Held: []numbers{{1}}},
		"of 3 spectra does no": {First: first, Sum: numbers{1, 2}, Count: 3, Seen: 2},
	} {
		if _, err := Resume(Options{Gap: time.Second}, State{Open: o}); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("Resume = %v, want an error with %q", err, want)
		}
	}
	text, err := json.Marshal(numbers{math.Inf(1), 1.5})
	var back numbers
	if err != nil || json.Unmarshal(text, &back) != nil || !math.IsInf(back[0], 1) || back[1] != 1.5 {
		t.Errorf("infinity comes back as %v, %v", back, err)
	}
	if err := json.Unmarshal([]byte(`"AAAA"`), &back); err == nil {
		t.Error("three bytes were taken for numbers")
	}
}

// TestBack: a time that lies further back than the gap is of another item; one that was overtaken by less is not.
func TestBack(t *testing.T) {
	got, items := gathered(t, Options{Gap: time.Second}, []event{{at: 100}, {at: 101}, {at: 97}, {at: 102}, {at: 50}, {at: 51}})
	if got != "1.csv:4/0=0 5.csv:2/0=0" {
		t.Errorf("items %q, want the late spectra in an item of their own", got)
	}
	if f := items[0]; !f.From.Equal(noon.Add(9700*time.Millisecond)) || !f.To.Equal(noon.Add(10200*time.Millisecond)) || f.Number != 1 || items[1].Number != 2 {
		t.Errorf("the first lasts from %v to %v", f.From, f.To)
	}
	if got, _ := gathered(t, Options{ByID: true}, []event{{id: "a"}, {at: 1}, {at: 2, id: "a"}}); got != "a:1/0=0 a:1/0=0" {
		t.Errorf("items %q, want that a spectrum without an id shows the belt", got)
	}
}
