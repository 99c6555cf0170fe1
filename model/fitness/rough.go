package fitness

import "math"

// A Rough is how rough spectra are from channel to channel, which a lamp's fall, a warm detector and a loose fibre
// raise and the process hardly does: the root mean square of third differences over √20, an estimate of the
// noise's standard deviation a channel where the spectrum beneath is smooth (after Schimek, Smoothing and Regression,
// 2000, difference-based estimators of order three).
type Rough struct {
	Middle float64 `json:"middle"` // absorbance, in the middle half of the channels
	Edge   float64 `json:"edge"`   // absorbance, in the outer quarters
}

// roughness returns the mean squares; Rough holds their roots once finished.
func roughness(x []float64) Rough {
	n := max(len(x)-3, 0) // differences
	from, to := min(len(x)/4, n), min(len(x)-len(x)/4, n)
	edge, middle := n-(to-from), to-from
	return Rough{
		Middle: thirdDifferences(x, from, to) / float64(20*max(middle, 1)),
		Edge:   (thirdDifferences(x, 0, from) + thirdDifferences(x, to, n)) / float64(20*max(edge, 1)),
	}
}

// thirdDifferences returns the sum of the squares of the third differences that begin at from … to−1.
func thirdDifferences(x []float64, from, to int) float64 {
	var even, odd float64 // two sums, which a processor adds up at once
	j := from
	for ; j+1 < to; j += 2 {
		y := x[j : j+5 : j+5]
		d, e := y[3]-3*y[2]+3*y[1]-y[0], y[4]-3*y[3]+3*y[2]-y[1]
		even += d * d
		odd += e * e
	}
	if j < to {
		d := x[j+3] - 3*x[j+2] + 3*x[j+1] - x[j]
		even += d * d
	}
	return even + odd
}

// RoughOf returns the roughness of one spectrum of at least four channels.
func RoughOf(x []float64) Rough {
	r := roughness(x)
	return Rough{math.Sqrt(r.Middle), math.Sqrt(r.Edge)}
}

func (r *Rough) add(one Rough) {
	r.Middle += one.Middle
	r.Edge += one.Edge
}

func (r *Rough) finish(n int) {
	r.Middle = math.Sqrt(r.Middle / float64(n))
	r.Edge = math.Sqrt(r.Edge / float64(n))
}
