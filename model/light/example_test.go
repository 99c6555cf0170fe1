package light_test

import (
	"fmt"
	"time"

	"asusual/model/light"
	"asusual/model/spectrum"
)

// A sample that was measured five times as long as the reference, each with a dark of its own integration time.
func ExampleStore_Absorbance() {
	axis, _ := spectrum.NewAxis(spectrum.Nanometre, []float64{1000, 1200, 1400})
	six := time.Date(2026, 11, 25, 6, 0, 0, 0, time.UTC)
	at := func(name string, after, exposure time.Duration, counts ...float64) spectrum.Spectrum {
		return spectrum.Spectrum{File: name, Time: six.Add(after), Axis: axis, Values: counts, Quantity: spectrum.Intensity, Exposure: exposure}
	}

	s, _ := light.NewStore(light.Options{Stale: 8 * time.Hour})
	s.AddDark(at("dark-20.csv", 0, 20*time.Millisecond, 140, 140, 140))
	s.AddDark(at("dark-100.csv", 0, 100*time.Millisecond, 300, 300, 300))
	s.AddReference(at("white.csv", time.Minute, 20*time.Millisecond, 10140, 20140, 30140))

	made, err := s.Absorbance(at("oat.csv", 9*time.Hour, 100*time.Millisecond, 5300, 10300, 150))
	fmt.Println(err)
	made, err = s.Absorbance(at("oat.csv", 9*time.Hour, 100*time.Millisecond, 5300, 10300, 1800))
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%.4f with %s\n", made.Spectrum.Values, made.Reference)
	for _, f := range made.Findings {
		fmt.Println(f)
	}
	// Output:
	// 1 of 3 channels have no absorbance, 0 of them saturated and the others without light, more than 5 %; the first lies at 1400 nm
	// [1.0000 1.0000 2.0000] with white.csv
	// the nearest dark spectrum was measured 9 h away, more than 8 h: measure a new one
	// the nearest reference spectrum was measured 9 h away, more than 8 h: measure a new one
}
