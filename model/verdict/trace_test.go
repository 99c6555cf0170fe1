package verdict

import (
	"testing"
	"time"

	"gonum.org/v1/gonum/floats/scalar"
)

// TestTraceKeepsTheMean: whatever is merged, weights and means add up to what went in, in order of time.
func TestTraceKeepsTheMean(t *testing.T) {
	var tr Trace
	sum := 0.0
	for i := range 3000 {
		x := float64(i*i%97) - 40
		sum += x
		tr.Add([]float64{x, 1}, start.Add(time.Duration(i)*every))
		if i%500 != 499 {
			continue
		}
		y, w, at := tr.along([]float64{1, 0})
		m, n := mean(y, w)
		if n != float64(i+1) || !scalar.EqualWithinAbs(m*n, sum, 1e-6) {
			t.Errorf("after %d spectra the trace holds %v of sum %v, want %d of %v", i+1, n, m*n, i+1, sum)
		}
		if !at[0].Equal(start) {
			t.Errorf("after %d spectra the trace begins at %v, want %v", i+1, at[0], start)
		}
		before := 0.0
		for j, v := range at {
			if want := start.Add(time.Duration(before) * every); !v.Equal(want) {
				t.Fatalf("after %d spectra mean %d begins at %v, want %v", i+1, j, v, want)
			}
			before += w[j]
		}
		if len(y) > perLevel*maxLevels {
			t.Errorf("after %d spectra the trace holds %d means", i+1, len(y))
		}
	}
}

func TestTraceIsBounded(t *testing.T) {
	var tr Trace
	f := []float64{1}
	for range 1 << 19 {
		tr.Add(f, start)
	}
	if len(tr.Levels) != maxLevels {
		t.Errorf("after 524,288 spectra: %d levels, want %d", len(tr.Levels), maxLevels)
	}
	for i, l := range tr.Levels {
		if len(l.At) > perLevel || len(l.F) != len(l.At) {
			t.Errorf("level %d holds %d times and %d values, want at most %d", i, len(l.At), len(l.F), perLevel)
		}
	}
}

// TestFits: by hand. 0 0 0 2 2: a step at 3 leaves nothing over; one at 2 leaves 2 of the three 0 2 2 around 4/3:
// (4/3)² + 2·(2/3)² = 8/3. 0 0 1 2 3 with the middle of each spectrum half a spectrum on: a ramp from 2 on is exact up
// to its offset of a half, which the mean before takes half of.
func TestFits(t *testing.T) {
	w := []float64{1, 1, 1, 1, 1}
	y := []float64{0, 0, 0, 2, 2}
	if got := step(y, w, 3); got != 0 {
		t.Errorf("step at 3 leaves %v, want 0", got)
	}
	if got := step(y, w, 2); !scalar.EqualWithinRel(got, 8.0/3, 1e-12) {
		t.Errorf("step at 2 leaves %v, want 8/3", got)
	}
	if got := ramp([]float64{1, 1, 1.5, 2.5, 3.5}, w, 2); !scalar.EqualWithinAbs(got, 0, 1e-12) {
		t.Errorf("ramp from 2 leaves %v, want 0", got)
	}
	// two spectra in one mean are the same as two means of one
	if got, want := step([]float64{1, 5, 6}, []float64{2, 1, 1}, 1), step([]float64{1, 1, 5, 6}, []float64{1, 1, 1, 1}, 2); got != want {
		t.Errorf("step over a mean of two leaves %v, want %v", got, want)
	}
}
