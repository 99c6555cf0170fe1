package condition

import (
	"fmt"
	"math"
	"slices"
)

// A Look is what pretreatment may take out of a spectrum: how much it absorbs on the whole and how much that differs
// from channel to channel. SNV takes away both, and blows the noise of an empty beam up to the size of a product's
// bands; a class that knew only pretreated spectra would then accept nearly everything.
//
// A factor c on the spectrum multiplies Level by c and adds ln c to Contrast; an offset is added to Level alone.
type Look struct {
	Level    float64 `json:"level"`    // mean absorbance
	Contrast float64 `json:"contrast"` // natural logarithm of the standard deviation of the absorbance over the channels
}

// flattest is the variance below which a spectrum counts as flat: far below the noise of any detector. It keeps the
// logarithm finite.
const flattest = 1e-20

// LookOf returns the look of a spectrum of absorbances, which holds at least one value. The variance has the divisor p:
//
//	level = Σaⱼ/p,   contrast = ½ ln(Σ(aⱼ−level)²/p)
func LookOf(raw []float64) Look {
	mean, p := 0.0, float64(len(raw))
	for _, v := range raw {
		mean += v / p
	}
	ss := 0.0
	for _, v := range raw {
		ss += (v - mean) * (v - mean)
	}
	return Look{mean, 0.5 * math.Log(max(ss/p, flattest))}
}

// A Gate holds the looks of a condition: those between Low and High belong.
type Gate struct {
	Low  Look `json:"low"`
	High Look `json:"high"`
}

// The gate stands wide: it is there to tell an empty beam from a product, not to judge. Its figures are chosen so that
// each condition of the invented line passes its own gate and its empty beam passes that of no product.
const (
	gateShare = 0.01 // of the condition's own looks lies outside before widening, half on each side
	gateWiden = 1    // widths added at each side
	gateLevel = 0.02 // least that is added at each side, in absorbance
	gateRatio = 0.2  // least that is added at each side of the contrast, about 20 %
)

// newGate returns the gate of a condition with these looks, at least one.
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

// widened returns the range of v without the gateShare at its ends, with its own width, or least where that is more,
// added at each side. It sorts v.
func widened(v []float64, least float64) (lo, hi float64) {
	slices.Sort(v)
	cut := int(gateShare / 2 * float64(len(v)))
	lo, hi = v[cut], v[len(v)-1-cut]
	more := max(gateWiden*(hi-lo), least)
	return lo - more, hi + more
}

// distance is how far the look lies from the middle of the gate, in half widths, for whichever of level and contrast is
// further out: 1 on the border.
func (g Gate) distance(l Look) float64 {
	off := func(v, lo, hi float64) float64 { return math.Abs(v-(lo+hi)/2) / ((hi - lo) / 2) }
	return max(off(l.Level, g.Low.Level, g.High.Level), off(l.Contrast, g.Low.Contrast, g.High.Contrast))
}

func (g Gate) validate() error {
	if width := g.High.Level - g.Low.Level; !(width > 0) || math.IsInf(width, 0) {
		return fmt.Errorf("the gate of the level reaches from %g to %g", g.Low.Level, g.High.Level)
	}
	if width := g.High.Contrast - g.Low.Contrast; !(width > 0) || math.IsInf(width, 0) {
		return fmt.Errorf("the gate of the contrast reaches from %g to %g", g.Low.Contrast, g.High.Contrast)
	}
	return nil
}
