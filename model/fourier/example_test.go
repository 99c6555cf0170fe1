package fourier_test

import (
	"fmt"
	"math"

	"asusual/model/fourier"
	"asusual/model/spectrum"
)

// The interferogram of one line at 6,000 cm⁻¹ over a count of points becomes a spectrum with its maximum in the channel there.
func ExampleTransformer_Transform() {
	const step = 6.32991e-5 // one point a fringe of a helium–neon laser
	at, v := make([]float64, 1200), make([]float64, 1200)
	for i := range v {
		at[i] = float64(i)
		x := float64(i-200) * step
		v[i] = 2048 + 900*math.Exp(-40*math.Abs(x))*math.Cos(2*math.Pi*6000*x)
	}
	axis, _ := spectrum.NewAxis(spectrum.Channel, at)
	s := spectrum.Spectrum{Axis: axis, Values: v, Quantity: spectrum.Interferogram}

	tr, _ := fourier.NewTransformer(fourier.Options{Step: step, From: 4000, To: 7500})
	out, findings, err := tr.Transform(s)
	if err != nil {
		fmt.Println(err)
		return
	}
	top := 0
	for i, y := range out.Values {
		if y > out.Values[top] {
			top = i
		}
	}
	fmt.Printf("%v of %v\n", out.Quantity, out.Axis)
	fmt.Printf("the line lies at %.0f cm⁻¹, %d findings\n", out.Axis.At(top), len(findings))
	// Output:
	// intensity of 907 channels, 4003.5–7497.89 cm⁻¹
	// the line lies at 6001 cm⁻¹, 0 findings
}
