package condition

import (
	"math"
	"slices"
)

// A Look is what pretreatment may take out of a spectrum: how much it absorbs on the whole and how much that differs
// from channel to channel. SNV takes away both, and blows the noise of an empty beam up to the size of a product's
// bands; a class that knew only pretreated spectra would then accept nearly everything.
type Look struct {
	Level    float64 `json:"level"`    // mean absorbance
	Contrast float64 `json:"contrast"` // natural logarithm of the standard deviation of the absorbance over the channels
}

// LookOf returns the look of a spectrum of absorbances.
func LookOf(raw []float64) Look {
	mean, n := 0.0, float64(len(raw))
	for _, v := range raw {
		mean += v / n
	}
	ss := 0.0
	for _, v := range raw {
		ss += (v - mean) * (v - mean)
	}
	return Look{mean, 0.5 * math.Log(max(ss/n, 1e-20))}
}

// A Gate holds the looks of a condition: those between Low and High belong.
type Gate struct {
	Low  Look `json:"low"`
	High Look `json:"high"`
}

// The gate stands wide: it is there to tell an empty beam from a product, not to judge.
const (
	gateShare = 0.01 // of the condition's own looks lies outside before widening, half on each side
	gateWiden = 1    // widths added at each side
	gateLevel = 0.02 // least half width in absorbance
	gateRatio = 0.2  // least half width of the contrast, about 20 %
)

func newGate(looks []Look) Gate {
	var level, contrast []float64
	for _, l := range looks {
		level, contrast = append(level, l.Level), append(contrast, l.Contrast)
	}
	var g Gate
	g.Low.Level, g.High.Level = widened(level, gateLevel)
	g.Low.Contrast, g.High.Contrast = widened(contrast, gateRatio)
	return g
}

func widened(v []float64, least float64) (lo, hi float64) {
	slices.Sort(v)
	cut := int(gateShare / 2 * float64(len(v)))
	lo, hi = v[cut], v[len(v)-1-cut]
	more := max(gateWiden*(hi-lo), least)
	return lo - more, hi + more
}

// distance is that of a look from the middle of the gate: 1 on its border.
func (g Gate) distance(l Look) float64 {
	off := func(v, lo, hi float64) float64 { return math.Abs(v-(lo+hi)/2) / ((hi - lo) / 2) }
	return max(off(l.Level, g.Low.Level, g.High.Level), off(l.Contrast, g.Low.Contrast, g.High.Contrast))
}
