package pretreat_test

import (
	"fmt"

	"asusual/model/pretreat"
	"asusual/model/spectrum"
)

func Example() {
	axis, err := spectrum.NewAxis(spectrum.Nanometre, []float64{1400, 1410, 1420, 1430, 1440, 1450, 1460})
	if err != nil {
		fmt.Println(err)
		return
	}
	chain, err := pretreat.Fit(axis, []pretreat.Step{{Name: pretreat.SNV}, {Name: pretreat.Derivative, Window: 50}}, nil)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(chain)

	absorbance := []float64{0.50, 0.52, 0.57, 0.64, 0.72, 0.78, 0.80}
	y := make([]float64, chain.Out().Len())
	if err := chain.Apply(y, absorbance, make([]float64, chain.Work())); err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%.3f per nm\n", y)
	// Output:
	// SNV, then 1st derivative (50 nm, degree 2)
	// [0.013 0.029 0.046 0.055 0.049 0.035 0.021] per nm
}

func ExampleParse() {
	steps, err := pretreat.Parse("snv,derivative")
	fmt.Println(len(steps), err)
	_, err = pretreat.Parse("sniv")
	fmt.Println(err)
	// Output:
	// 2 <nil>
	// pretreatment "sniv" is not one of none, snv, msc, detrend, smooth, derivative, second-derivative, offset
}
