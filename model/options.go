package model

import (
	"time"

	"asusual/model/limits"
	"asusual/model/pretreat"
	"asusual/model/runner"
)

// Options says how to learn. The zero value chooses everything itself.
type Options struct {
	Name    string    // of the reference
	Origin  string    // where the spectra came from, for its card
	Source  Source    // likewise, with particulars
	Now     time.Time // when it is learned
	Promise limits.Promise

	Pretreat   []pretreat.Step // the steps to take; see Auto
	Auto       bool            // choose the pretreatment by reach on held-out runs; Pretreat is then not looked at
	Components int             // k; 0: chosen on held-out runs
	Gap        time.Duration   // above zero: a longer pause starts a new run, whatever the spectra say of theirs
	KeepAll    bool            // trust that all known-good spectra are good
	// KeepCarbonDioxide keeps the region of the air's carbon dioxide in mid-infrared spectra, which is left out otherwise.
	KeepCarbonDioxide bool
	PerItem           float64 // how many spectra each of the training's is the mean of, where they are of items; 0: they are not
	Belt              *Belt   // what told items from the empty belt; nil: no condition did

	Each runner.Runner // nil: one after another
	// Progress is told what Learn turns to; nil: nobody is.
	Progress func(stage string)
}

func (o *Options) fill() {
	if o.Progress == nil {
		o.Progress = func(string) {}
	}
	if o.Name == "" {
		o.Name = "reference"
	}
}
