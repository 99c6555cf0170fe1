package fitness

import (
	"math"
	"slices"

	"asusual/model/finding"
)

// maxClipped is the share of channels that may stand at the very top of a spectrum before it is taken for
// saturated. A real maximum is one channel, or a few where values are written with few digits.
// Common practice, no source.
const maxClipped = 0.05

// minClipped keeps a short spectrum with few digits from being called saturated by two equal values.
const minClipped = 8

// mostAbsorbance is the largest value either way that is looked at. No absorbance is anywhere near, nor is a count of a 32-bit detector
// that is called one; what instruments write for no value at all often is beyond, and its powers would leave the range of numbers.
const mostAbsorbance = 1e12

// Check returns why the absorbance spectrum x cannot be judged, and nothing where it can: a value that is no
// number or too large to be one, the same value in every channel, or a flat top as a saturated detector writes it.
func Check(x []float64) []finding.Finding { return CheckWithin(x, 0, len(x)) }

// CheckWithin is Check of the channels [from, to) alone: what the others hold decides nothing.
func CheckWithin(x []float64, from, to int) []finding.Finding {
	x = x[from:to]
	lo, hi, sum, top := math.Inf(1), math.Inf(-1), 0.0, 0
	for _, v := range x {
		sum += v
		if v >= hi {
			if v > hi {
				hi, top = v, 0
			}
			top++
		}
		if v < lo {
			lo = v
		}
	}
	if sum-sum != 0 || hi > mostAbsorbance || lo < -mostAbsorbance {
		return unusable(x, from)
	}
	switch {
	case lo == hi:
		return []finding.Finding{finding.Of(finding.Flat, "", lo)}
	case top >= minClipped && float64(top) > maxClipped*float64(len(x)):
		return []finding.Finding{finding.Of(finding.Saturated, "", float64(top), hi)}
	}
	return nil
}

// unusable names the first value that is no number, or the first that is too large; so many channels come before x.
func unusable(x []float64, before int) []finding.Finding {
	if first := slices.IndexFunc(x, func(v float64) bool { return math.IsNaN(v) || math.IsInf(v, 0) }); first >= 0 {
		return []finding.Finding{finding.Of(finding.NotFinite, "", float64(before+first+1))}
	}
	first := slices.IndexFunc(x, func(v float64) bool { return math.Abs(v) > mostAbsorbance })
	return []finding.Finding{finding.Of(finding.TooLarge, "", float64(before+first+1), x[first])}
}
