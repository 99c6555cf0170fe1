package chart_test

import (
	"bytes"
	"fmt"
	"image/png"

	"asusual/report/chart"
)

// A score plot of a few spectra, one of which lies outside the limit.
func ExampleScorePlot() {
	c := chart.ScorePlot{
		XLabel: "score t₁", YLabel: "score t₂",
		Limit:  &chart.Ellipse{A: 3, B: 2},
		Period: []chart.Mark{{X: 0.5, Y: 0.2}, {X: 1.1, Y: -0.4}, {X: 4.2, Y: 1.9, Kind: chart.Outside}},
		Size:   chart.Full,
	}
	b, err := c.Draw()
	if err != nil {
		fmt.Println(err)
		return
	}
	picture, err := png.DecodeConfig(bytes.NewReader(b))
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%d × %d dots\n", picture.Width, picture.Height)
	// Output: 2048 × 1440 dots
}
