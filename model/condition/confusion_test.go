package condition

import (
	"encoding/json"
	"math"
	"math/rand/v2"
	"reflect"
	"testing"

	"asusual/model/finding"
)

// TestCount enters single spectra and looks where they went.
func TestCount(t *testing.T) {
	names := []string{"usual", "rinse", "start-up"}
	const usual, rinse, startUp, uncharted = 0, 1, 2, 3
	far := Match{Distance: 7}
	tests := []struct {
		name     string
		matches  []Match
		went     int
		accepted []int
	}{
		{"only usual", []Match{{Distance: 0.5}, far, far}, usual, []int{1, 0, 0}},
		{"usual first, however likely another is", []Match{{Distance: 1}, {0.1, 900}, far}, usual, []int{1, 1, 0}},
		{"the likelier, though its border is nearer", []Match{far, {0.9, 5}, {0.2, 4}}, rinse, []int{0, 1, 1}},
		{"the likelier of two after usual", []Match{far, {0.2, -5}, {0.9, -4}}, startUp, []int{0, 1, 1}},
		{"likely, but outside", []Match{far, {1.01, 99}, {1, 4}}, startUp, []int{0, 0, 1}},
		{"the first of a tie", []Match{far, {0.5, 4}, {0.5, 4}}, rinse, []int{0, 1, 1}},
		{"nowhere", []Match{far, far, far}, uncharted, []int{0, 0, 0}},
		{"no number", []Match{{Distance: math.NaN()}, {Distance: math.NaN()}, far}, uncharted, []int{0, 0, 0}},
	}
	for _, tt := range tests {
		c := NewConfusion(names)
		c.Count(rinse, tt.matches)
		want := NewConfusion(names)
		want.Went[rinse][tt.went] = 1
		copy(want.Accepted[rinse], tt.accepted)
		if !reflect.DeepEqual(c, want) {
			t.Errorf("Count(%s): went %v, accepted %v; want %v, %v", tt.name, c.Went, c.Accepted, want.Went, want.Accepted)
		}
	}
}

// TestConfusionAgreesWithHome: a table sends spectra where a judgement does.
func TestConfusionAgreesWithHome(t *testing.T) {
	classes := []*Class{flat("air", 1, 1, 0, 9, 0), flat("rinse", 0.1, 0.01, 0, 0, 0), flat("start-up", 16, 0.3, 4, 0, 0)}
	rng := rand.New(rand.NewPCG(1, 9))
	room := make([]float64, 1)
	names := []string{"usual", "air", "rinse", "start-up"}
	for range 500 {
		x := []float64{6 * rng.Float64(), 9 * rng.Float64() * rng.Float64(), 0.3 * rng.NormFloat64()}
		matches := []Match{{Distance: 2}}
		for _, c := range classes {
			matches = append(matches, c.Match(x, Look{}, room))
		}
		c := NewConfusion(names)
		c.Count(0, matches)
		want := len(names)
		for i, one := range classes {
			if one == Home(classes, x, Look{}, room) {
				want = i + 1
			}
		}
		if c.Went[0][want] != 1 {
			t.Fatalf("Count(%v) went %v, Home says column %d", x, c.Went[0], want)
		}
	}
}

// TestConfusionFindings: an overlap is told in percent of the first one's spectra, and only above what strays make.
func TestConfusionFindings(t *testing.T) {
	c := NewConfusion([]string{"usual", "rinse", "start-up"})
	far, in := Match{Distance: 3}, Match{Distance: 0.5}
	count := func(i, n int, m ...Match) {
		for range n {
			c.Count(i, m)
		}
	}
	count(0, 95, in, far, far)
	count(0, 5, in, far, in) // 5 %, not above the threshold
	count(1, 30, far, in, far)
	count(1, 10, far, in, in) // 25 %
	count(2, 9, far, far, in)
	count(2, 1, in, far, in) // 10 %
	got := c.Findings()
	want := []finding.Finding{
		finding.Of(finding.Overlap, "rinse and start-up", 25),
		finding.Of(finding.Overlap, "start-up and usual", 10),
	}
	if !reflect.DeepEqual(got, want) {
		t.Errorf("Findings() = %v, want %v", got, want)
	}
	for i, row := range c.Went {
		sum := 0
		for _, n := range row {
			sum += n
		}
		if want := []int{100, 40, 10}[i]; sum != want {
			t.Errorf("the row of %s counts %d spectra, want %d", c.Names[i], sum, want)
		}
	}
	if f := NewConfusion([]string{"usual", "rinse"}).Findings(); f != nil {
		t.Errorf("Findings of an empty table = %v, want none", f)
	}
	b, err := json.Marshal(c)
	if err != nil {
		t.Fatal(err)
	}
	var back *Confusion
	if err := json.Unmarshal(b, &back); err != nil || !reflect.DeepEqual(back, c) {
		t.Errorf("read back it is %+v (%v), want %+v", back, err, c)
	}
}
