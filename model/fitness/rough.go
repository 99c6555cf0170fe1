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
	var r Rough
	var edge, middle int
	p := len(x)
	for j := 0; j+3 < p; j++ {
		d := x[j+3] - 3*x[j+2] + 3*x[j+1] - x[j]
		if j < p/4 || j >= p-p/4 {
			r.Edge += d * d / 20
			edge++
		} else {
			r.Middle += d * d / 20
			middle++
		}
	}
	r.Edge /= float64(max(edge, 1))
	r.Middle /= float64(max(middle, 1))
	return r
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
