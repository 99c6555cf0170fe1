package main

import (
	"cmp"
	"errors"
	"io/fs"
	"time"

	"asusual/cmd/asusual/config"
	"asusual/model"
	"asusual/model/detector"
	"asusual/model/finding"
)

// lookAtDetector says what does not fit between the line's detector and a reference: where that looks, and whether the integration
// time can be met. What the configuration does not say of the time is what the spectra say: exposure, 0 where they do not.
func lookAtDetector(l config.Line, r *model.Reference, exposure time.Duration) []finding.Finding {
	var d detector.Detector // not named
	if l.Instrument.Detector != nil {
		d = *l.Instrument.Detector
	}
	d.Fourier = d.Fourier || l.Instrument.Fourier != nil
	every := l.Instrument.Every
	if every == 0 && l.Items == nil { // from item to item is not from spectrum to spectrum
		every = r.Limits.Every
	}
	return d.Look(detector.Setup{
		Axis: r.Chain.Out(), Weights: detector.Weights(r.PCA.Loadings, r.PCA.Eigenvalues),
		Exposure: cmp.Or(l.Instrument.Exposure, exposure), Every: every,
	})
}

// detector lays the reference beside the detector, where it was learned.
func (a *app) detector(e *examined, o instrumentOptions, l config.Line) error {
	if o.reference == "" && l.Reference == "" {
		return nil
	}
	ref, _, err := a.reference(o.reference, l)
	if err != nil {
		if o.reference == "" && errors.Is(err, fs.ErrNotExist) { // not learned yet
			return nil
		}
		return err
	}
	e.detector = lookAtDetector(l, ref, e.exposure)
	return nil
}
