package check

import (
	"fmt"
	"math"
)

// Repeats says how far repeated spectra of one thing differ from their mean.
type Repeats struct {
	Mean       []float64   // p
	Deviations [][]float64 // of each repeat from the mean: to be drawn
	RMS        float64     // √(Σ d² / ((n−1)·p)) over all n repeats and p channels
}

// fewestRepeats is how many repeats say anything of their spread.
const fewestRepeats = 3

// RepeatsOf compares n ≥ 3 spectra of one thing, of p values each.
func RepeatsOf(x [][]float64) (Repeats, error) {
	n := len(x)
	if n < fewestRepeats {
		return Repeats{}, fmt.Errorf("%d repeats; %d are needed to tell how far they differ", n, fewestRepeats)
	}
	p := len(x[0])
	out := Repeats{Mean: make([]float64, p)}
	for i, r := range x {
		if len(r) != p || p == 0 {
			return Repeats{}, fmt.Errorf("repeat %d has %d values, the first %d", i+1, len(r), p)
		}
		for j, v := range r {
			out.Mean[j] += v / float64(n)
		}
	}
	sum := 0.0
	for _, r := range x {
		d := make([]float64, p)
		for j, v := range r {
			d[j] = v - out.Mean[j]
			sum += d[j] * d[j]
		}
		out.Deviations = append(out.Deviations, d)
	}
	out.RMS = math.Sqrt(sum / float64((n-1)*p))
	return out, nil
}
