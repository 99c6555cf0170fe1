package condition

import (
	"encoding/json"
	"math/rand/v2"
	"testing"
	"time"
)

const pixels = 256 // of a spectrum

// TestGroupsOverMonths: half a year with strays all the time, and an upset each day at one of twenty places, does not fill the
// memory, also not with mean spectra; every place is known again, and no name is given twice. The state is written and read
// back each week, as by a restart.
func TestGroupsOverMonths(t *testing.T) {
	rng := rand.New(rand.NewPCG(8, 8))
	where := make([]cloud, 20)
	for i := range where {
		where[i] = newCloud(uint64(100 + i))
		for j := range where[i].centre {
			where[i].centre[j] = 8 * rng.NormFloat64()
		}
	}
	var g Groups
	largest, began, missed := 0, 0, 0
	x := make([]float64, pixels)
	names := map[string]bool{}
	for day := range 182 {
		at := start.AddDate(0, 0, day)
		for i := range 60 {
			stray := make([]float64, places)
			for j := range stray {
				stray[j] = 25 * rng.NormFloat64()
			}
			if one, _ := g.Add(stray, x, at.Add(time.Duration(i)*time.Minute)); one != nil {
				t.Fatalf("day %d: a stray belongs to %s", day, one.Name)
			}
			if i%3 != 0 {
				continue
			}
			one, begun := g.Add(where[day%20].next(), x, at.Add(time.Duration(i)*time.Minute+time.Second))
			if begun {
				began++
				names[one.Name] = true
				if day >= 20 && one.Seen == "" {
					missed++
				}
			}
		}
		if day%7 == 0 {
			b, err := json.Marshal(g)
			if err != nil {
				t.Fatal(err)
			}
			largest = max(largest, len(b))
			g = Groups{}
			if err := json.Unmarshal(b, &g); err != nil {
				t.Fatal(err)
			}
		}
	}
	if began != 182 || missed != 0 || len(names) != began {
		t.Errorf("%d groups in 182 days of %d names, %d of them not known again; want 182, 182 and 0", began, len(names), missed)
	}
	if len(g.Spots) > maxSpots || len(g.Closed) > maxClosed {
		t.Errorf("%d spots and %d closed groups, want at most %d and %d", len(g.Spots), len(g.Closed), maxSpots, maxClosed)
	}
	for _, one := range g.Closed {
		if len(one.Spots) > keptSpots {
			t.Errorf("%s was closed with %d spots, want at most %d", one.Name, len(one.Spots), keptSpots)
		}
	}
	t.Logf("the state takes up to %d bytes", largest)
	if most := 40*places*(maxSpots+keptSpots*maxClosed) + 11*pixels*(maxSpots+maxOpen); largest > most {
		t.Errorf("the state takes %d bytes, want at most %d", largest, most)
	}
}

// TestGroupsClosedAreBounded: the oldest closed groups are forgotten.
func TestGroupsClosedAreBounded(t *testing.T) {
	c := newCloud(3, 0, 0, 30)
	var g Groups
	for day := range maxClosed + 10 {
		for i := range enough {
			g.Add(c.next(), nil, start.AddDate(0, 0, day).Add(time.Duration(i)*time.Second))
		}
	}
	if n := len(g.Closed); n != maxClosed {
		t.Errorf("%d closed groups, want %d", n, maxClosed)
	}
	if got, want := g.Closed[0].Name, "group "+start.AddDate(0, 0, 9).Format(time.DateOnly)+" A"; got != want {
		t.Errorf("the oldest is %s, want %s", got, want)
	}
}

// TestGroupsNearest: a spectrum within reach of two groups goes to the nearer one, whichever is older.
func TestGroupsNearest(t *testing.T) {
	a, b, between := make([]float64, places), make([]float64, places), make([]float64, places)
	a[0], b[1] = 11, 11
	between[0], between[1] = 5, 6
	for _, p := range [][]float64{a, b} {
		if d, r := apart(p, between), radius(between); d > r {
			t.Fatalf("the spectrum lies %g from a place, beyond its reach %g", d, r)
		}
	}
	for name, order := range map[string][][]float64{"older": {b, a}, "newer": {a, b}} {
		var g Groups
		for i := range 2 * enough {
			g.Add(order[i%2], nil, start)
		}
		if len(g.Open) != 2 {
			t.Fatalf("%d groups, want 2", len(g.Open))
		}
		if one, _ := g.Add(between, nil, start); one == nil || !one.At(b) {
			t.Errorf("the nearer group is the %s one, and the spectrum went elsewhere", name)
		}
	}
}

// TestSpotMean: a centre is the mean of what the spot stands for, also where two became one.
func TestSpotMean(t *testing.T) {
	c := newCloud(11, 5, -3)
	a, b := &Spot{Centre: make([]float64, places), From: start, To: start}, &Spot{Centre: make([]float64, places), From: start, To: start}
	sum := make([]float64, places)
	for i := range 30 {
		y := c.next()
		for j, v := range y {
			sum[j] += v / 30
		}
		one := a
		if i%3 == 0 {
			one = b
		}
		one.add(y, start.Add(time.Duration(i)*time.Second))
	}
	a.merge(b)
	if a.Spectra != 30 || !a.From.Equal(start) || !a.To.Equal(start.Add(29*time.Second)) {
		t.Errorf("merged: %d spectra from %v to %v, want 30 over 29 s", a.Spectra, a.From, a.To)
	}
	if d := apart(a.Centre, sum); d > 1e-12 {
		t.Errorf("the centre lies %g from the mean, want none", d)
	}
}

// TestGroupsOpenAreBounded: more places at once than are kept open close the one that has been quiet longest.
func TestGroupsOpenAreBounded(t *testing.T) {
	var g Groups
	var ended []Group
	for place := range maxOpen + 5 {
		c := newCloud(uint64(place))
		c.centre[place%places] = 200 * float64(1+place/places)
		for i := range enough {
			at := start.Add(time.Duration(place)*time.Second + time.Duration(i)*time.Millisecond)
			ended = append(ended, g.Close(at)...)
			g.Add(c.next(), []float64{1}, at)
		}
	}
	if len(g.Open) > maxOpen || len(ended) != len(g.Closed) || len(ended)+len(g.Open) != maxOpen+5 {
		t.Fatalf("%d groups open, %d told as ended and %d closed; want at most %d, and %d in all", len(g.Open), len(ended), len(g.Closed), maxOpen, maxOpen+5)
	}
	for i, one := range ended {
		if one.Name != g.Closed[i].Name || one.Mean == nil || one.Mean.Spectra != enough || g.Closed[i].Mean != nil {
			t.Errorf("ended as %s with the mean %+v, kept as %s with %+v; want the mean of %d spectra told, and not kept", one.Name, one.Mean, g.Closed[i].Name, g.Closed[i].Mean, enough)
		}
	}
}
