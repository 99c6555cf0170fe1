package spectrum_test

import (
	"fmt"
	"strings"

	"asusual/model/spectrum"
)

// A file of two columns, as many spectrometers export it where the decimal mark is a comma.
func ExampleRead() {
	file := `Wavelength (nm);Absorbance
900,5;0,412
902,5;0,409
904,5;0,404
`
	src := spectrum.Source{Name: "filler3/20261125-063412.csv"}
	for s, err := range spectrum.Read(strings.NewReader(file), src, spectrum.Options{}) {
		if err != nil {
			fmt.Println(err)
			return
		}
		fmt.Println(s.Axis, s.Quantity, s.Values)
		fmt.Println(s.Time)
	}
	// Output:
	// 3 channels, 900.5–904.5 nm absorbance [0.412 0.409 0.404]
	// 2026-11-25 06:34:12 +0000 UTC
}

// A Reader says what it found out, and shares the axis of all files on one grid.
func ExampleReader() {
	rd := spectrum.NewReader(spectrum.Options{})
	file := "350 0.41\n950 0.39\n1550 0.52\n"
	for range rd.Read(strings.NewReader(file), spectrum.Source{Name: "oat.txt"}) {
	}
	info := rd.Info()
	fmt.Printf("%s, unit %v (%v), quantity %v (%v)\n", info.Format, info.Unit, info.UnitFrom, info.Quantity, info.QuantityFrom)
	// Output:
	// two columns, unit nm (guessed), quantity absorbance (guessed)
}

// A spectrum in wavenumbers is brought onto an axis in nanometres.
func ExampleResampler() {
	from, _ := spectrum.NewAxis(spectrum.ReciprocalCentimetre, []float64{10000, 9000, 8000, 7000, 6000})
	to, _ := spectrum.NewAxis(spectrum.Nanometre, []float64{1000, 1250, 1600})
	r, err := spectrum.NewResampler(from, to)
	if err != nil {
		fmt.Println(err)
		return
	}
	dst := make([]float64, to.Len())
	r.Apply(dst, []float64{1, .9, .8, .7, .6}) // a straight line over wavenumber
	fmt.Printf("%.3f\n", dst)

	wider, _ := spectrum.NewAxis(spectrum.Nanometre, []float64{900, 1700})
	_, err = spectrum.NewResampler(from, wider)
	fmt.Println(err)
	// Output:
	// [1.000 0.800 0.625]
	// the spectrum covers 1000–1666.67 nm, the reference needs 900–1700 nm; nothing is extrapolated
}
