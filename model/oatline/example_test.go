package oatline_test

import (
	"fmt"
	"log"
	"time"

	"asusual/model/oatline"
)

// A run in use, without noise, in which rinse water leaks in after a minute.
func ExampleLine_Series() {
	line, err := oatline.New(oatline.Settings{Lots: -1, Wander: -1, Noise: -1})
	if err != nil {
		log.Fatal(err)
	}
	leak := oatline.Usual(oatline.Dilution, time.Minute)
	run, err := line.Series(oatline.Stretch{
		Run: "2026-11-25-a", From: time.Date(2026, 11, 25, 6, 0, 0, 0, time.UTC), N: 6, Upsets: []oatline.Upset{leak},
	})
	if err != nil {
		log.Fatal(err)
	}
	fmt.Println(line.Axis())
	for s := range run.All() {
		fmt.Printf("%s %s: A(1100 nm) = %.2f\n", s.Time.Format(time.TimeOnly), s.Label, s.Values[64])
	}
	// Output:
	// 256 channels, 900–1700 nm
	// 06:00:00 usual: A(1100 nm) = 0.33
	// 06:00:20 usual: A(1100 nm) = 0.33
	// 06:00:40 usual: A(1100 nm) = 0.33
	// 06:01:00 usual: A(1100 nm) = 0.27
	// 06:01:20 usual: A(1100 nm) = 0.27
	// 06:01:40 usual: A(1100 nm) = 0.27
}

// The demo's plan: days to learn from, and a day to watch.
func ExampleDemo() {
	p := oatline.Demo(oatline.PlanOptions{Days: 7})
	fmt.Println("spectra to watch:", oatline.Count(p.Watch))
	for _, s := range p.Watch {
		fmt.Printf("%s–%s %s", s.From.Format("15:04"), s.To().Format("15:04"), s.Condition)
		for _, u := range s.Upsets {
			at := s.From.Add(u.After)
			fmt.Printf(", %v %s–%s", u.Kind, at.Format("15:04"), at.Add(u.For).Format("15:04"))
		}
		fmt.Println()
	}
	// Output:
	// spectra to watch: 1398
	// 05:40–05:50 rinse
	// 05:50–05:55 start-up
	// 05:55–08:05 usual, dilution 06:45–07:05
	// 08:05–08:15 rinse
	// 08:15–08:20 start-up
	// 08:20–11:00 usual, oil pump 09:15–10:30
	// 11:00–11:10 rinse
	// 11:10–11:15 start-up
	// 11:15–13:10 usual, dilution 12:00–12:25
	// 13:10–13:20 rinse
	// 13:20–13:26 air
}
