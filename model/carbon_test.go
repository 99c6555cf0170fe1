package model_test

import (
	"strings"
	"testing"

	"asusual/model"
	"asusual/model/finding"
	"asusual/model/pretreat"
	"asusual/model/spectrum"
)

// midInfrared is the training of the invented line as if its channels lay from 4,000 to 400 cm⁻¹: only the axis matters here.
func midInfrared(t *testing.T) []spectrum.Spectrum {
	t.Helper()
	all := training(t, line(t, 1))
	at := make([]float64, len(all[0].Values))
	for i := range at {
		at[i] = 4000 - 3600*float64(i)/float64(len(at)-1)
	}
	axis, err := spectrum.NewAxis(spectrum.ReciprocalCentimetre, at)
	if err != nil {
		t.Fatal(err)
	}
	for i := range all {
		all[i].Axis = axis
	}
	return all
}

// TestCarbonDioxideIsLeftOut: 2,280 to 2,390 cm⁻¹ hold two of the 64 channels, 2,342.9 and 2,285.7, by hand.
func TestCarbonDioxideIsLeftOut(t *testing.T) {
	mid := midInfrared(t)
	for _, tt := range []struct {
		name     string
		all      []spectrum.Spectrum
		opt      model.Options
		channels int // that are looked at
		said     bool
		first    string
	}{
		{"stated steps", mid, model.Options{Pretreat: snv}, 62, true, "leave-out"},
		{"chosen steps", mid, model.Options{Auto: true}, 62, true, "leave-out"},
		{"kept", mid, model.Options{Pretreat: snv, KeepCarbonDioxide: true}, 64, false, "snv"},
		{"the person leaves out a part", mid, model.Options{Pretreat: []pretreat.Step{{Name: "snv"}, {Name: "leave-out", From: 2290, To: 2350}}}, 63, false, "snv"},
		{"the person leaves out another", mid, model.Options{Pretreat: []pretreat.Step{{Name: "leave-out", From: 600, To: 400}}}, 58, true, "leave-out"},
		{"near infrared", training(t, line(t, 1)), model.Options{Pretreat: snv}, 64, false, "snv"},
	} {
		r := learn(t, tt.all, tt.opt)
		said := ""
		for _, f := range r.Findings {
			if f.Kind == finding.LeaveOutCO2 {
				said = f.String()
			}
		}
		if got := r.Chain.Out().Len(); got != tt.channels || r.Chain.Steps()[0].Name != tt.first || (said != "") != tt.said {
			t.Errorf("%s: %v looks at %d channels and says %q; want %d, %s first, said: %v", tt.name, r.Chain, got, said, tt.channels, tt.first, tt.said)
		}
		if tt.said && !strings.Contains(said, "2280–2390 cm⁻¹ is left out") {
			t.Errorf("%s: says %q", tt.name, said)
		}
	}
}
