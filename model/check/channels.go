package check

import (
	"math"
	"slices"
)

const (
	around = 5 // channels on either side that one is compared with

	// A channel is dead where it has less than a tenth of its neighbours' light, and they have light: a hundredth of the
	// brightest. It is hot where it stands ten times as far above its neighbours in the dark as channels usually do.
	// All common practice, no source.
	deadShare = 0.1
	litShare  = 0.01
	hotTimes  = 10
	stuckRows = 5 // spectra in a row with one value
)

// deadIn returns the channels, from 0, that have next to no light where their neighbours have. light is a reference
// above the dark.
func deadIn(light []float64) []int {
	if len(light) == 0 {
		return nil
	}
	var out []int
	lit := litShare * slices.Max(light)
	for i, v := range light {
		if m := beside(light, i); m > lit && m > 0 && v < deadShare*m {
			out = append(out, i)
		}
	}
	return out
}

// hotIn returns the channels, from 0, that stand far above their neighbours in a dark spectrum.
func hotIn(dark []float64) []int {
	above := make([]float64, len(dark))
	size := make([]float64, len(dark))
	for i, v := range dark {
		above[i] = v - beside(dark, i)
		size[i] = math.Abs(above[i])
	}
	// 1.4826 makes of a median deviation the standard deviation of normal noise. A detector whose dark is all but one value has
	// no spread to go by; a thousandth of its level is then the measure.
	limit := hotTimes * max(1.4826*median(size), 1e-3*math.Abs(median(dark)))
	var out []int
	for i, v := range above {
		if v > limit {
			out = append(out, i)
		}
	}
	return out
}

// stuckIn returns the channels, from 0, that hold one value in all of at least five spectra of raw values, where most others
// do not: with digits as coarse as the noise, or a copied file, all would.
func stuckIn(rows [][]float64) []int {
	if len(rows) < stuckRows {
		return nil
	}
	var out []int
	for i, v := range rows[0] {
		same := true
		for _, r := range rows[1:] {
			same = same && r[i] == v
		}
		if same {
			out = append(out, i)
		}
	}
	if 2*len(out) > len(rows[0]) {
		return nil
	}
	return out
}

// beside is the median of the channels around i, without i.
func beside(y []float64, i int) float64 {
	var near [2 * around]float64
	n := 0
	for j := max(0, i-around); j <= min(len(y)-1, i+around); j++ {
		if j != i {
			near[n] = y[j]
			n++
		}
	}
	return median(near[:n])
}

// median returns the middle value, NaN of nothing.
func median(v []float64) float64 {
	if len(v) == 0 {
		return math.NaN()
	}
	s := slices.Sorted(slices.Values(v))
	if n := len(s); n%2 == 0 {
		return (s[n/2-1] + s[n/2]) / 2
	}
	return s[len(s)/2]
}

// without returns the channels of list that are not in known; both rise.
func without(list, known []int) []int {
	var out []int
	for _, c := range list {
		if _, ok := slices.BinarySearch(known, c); !ok {
			out = append(out, c)
		}
	}
	return out
}

// united returns the channels that are in either list, rising.
func united(a, b []int) []int {
	c := slices.Concat(a, b)
	slices.Sort(c)
	return slices.Compact(c)
}

// between returns the noise of two spectra in a row: the standard deviation of their difference over √2, so that two with
// independent noise σ give σ. A change that is the same in all channels does not count.
func between(a, b []float64) float64 {
	n, mean, sum := float64(len(a)), 0.0, 0.0
	for i := range a {
		mean += (b[i] - a[i]) / n
	}
	for i := range a {
		d := b[i] - a[i] - mean
		sum += d * d
	}
	return math.Sqrt(sum / (2 * max(n-1, 1)))
}
