package detector_test

import (
	"fmt"

	"asusual/model/detector"
	"asusual/model/spectrum"
)

// What a silicon detector is told of an axis that goes on to 1,200 nm, and of a reference that looks there.
func ExampleDetector_Look() {
	at, weights := make([]float64, 300), make([]float64, 300)
	for i := range at {
		at[i] = 900 + float64(i)
		weights[i] = 1. / 300
	}
	axis, _ := spectrum.NewAxis(spectrum.Nanometre, at)
	silicon, _ := detector.Named("silicon")
	for _, f := range silicon.Look(detector.Setup{Axis: axis, Weights: weights}) {
		fmt.Println(f)
	}
	// Output:
	// 99 of 300 channels lie beyond silicon (350–1100 nm): leave them out, or name the detector that is there
	// 33 % of what this reference looks at lies beyond silicon (350–1100 nm), where there is little but noise: leave those channels out
}
