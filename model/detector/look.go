package detector

import (
	"fmt"
	"math"
	"time"

	"asusual/model/finding"
	"asusual/model/spectrum"
)

// A Setup is what is known of an instrument and of what a reference looks at.
type Setup struct {
	Axis    *spectrum.Axis // of the channels that the reference looks at
	Weights []float64      // one a channel of Axis, not below zero, summing to 1: see Weights; nil where there is no reference yet

	Exposure time.Duration // integration time of one spectrum; 0: not known
	Every    time.Duration // from one spectrum to the next; 0: not known
}

// All of these are common practice, no source.
const (
	leanShare   = 0.02 // of a reference's weight, that may lie where the detector sees nothing
	beyondShare = 0.01 // of the channels, that may lie there
	edgePart    = 0.05 // of the channels, at each end
	edgeTimes   = 3    // times their share that these may weigh
	fewest      = 64   // channels
	exposureMin = 20 * time.Millisecond
	exposureMax = time.Second
	uneven      = 0.02 // by which steps of a Fourier transform's axis may differ
)

// Weights returns how much each of p channels counts in a reference of k components: Σ λₐ·pₐⱼ² / Σ λₐ, the share of the usual
// variance that the channel carries. loadings is k×p, one component a row of length 1, and variances are the k eigenvalues. The
// weights sum to 1.
func Weights(loadings, variances []float64) []float64 {
	k := len(variances)
	if k == 0 || len(loadings)%k != 0 {
		return nil
	}
	p := len(loadings) / k
	w := make([]float64, p)
	total := 0.0
	for a, v := range variances {
		for j, l := range loadings[a*p : (a+1)*p] {
			w[j] += v * l * l
			total += v * l * l
		}
	}
	if !(total > 0) {
		return nil
	}
	for j := range w {
		w[j] /= total
	}
	return w
}

// Look says what does not fit between the detector and the setup. It returns nothing where all fits, or where an axis of
// bare channels tells nothing. The zero Detector is one that was not named: then only the number of channels and the pace are
// looked at.
func (d Detector) Look(s Setup) []finding.Finding {
	var out []finding.Finding
	if d.To > 0 {
		out = append(out, d.axis(s.Axis)...)
		if len(s.Weights) == s.Axis.Len() {
			out = append(out, d.weights(s)...)
		}
	}
	if p := s.Axis.Len(); p < fewest {
		out = append(out, finding.Of(finding.FewChannels, "", float64(p), fewest))
	}
	return append(out, d.pace(s)...)
}

// axis compares the axis with where the detector sees.
func (d Detector) axis(a *spectrum.Axis) []finding.Finding {
	lo, hi, err := d.Range(a.Unit())
	if err != nil {
		return nil
	}
	from, to := a.Range()
	if from > hi || to < lo {
		return []finding.Finding{finding.Of(finding.NotItsAxis, fmt.Sprintf("%v, while %s sees nothing there", a, d.In(a.Unit())))}
	}
	var out []finding.Finding
	n := 0
	for j := range a.Len() {
		if at := a.At(j); at < lo || at > hi {
			n++
		}
	}
	if float64(n) > beyondShare*float64(a.Len()) {
		out = append(out, finding.Of(finding.AxisBeyond, d.In(a.Unit()), float64(n), float64(a.Len())))
	}
	if d.Fourier && !evenWavenumbers(a) {
		out = append(out, finding.Of(finding.NotItsAxis, fmt.Sprintf("%v does not go in even steps of wavenumber, as a Fourier transform gives it; was it resampled, or is the instrument another?", a)))
	}
	return out
}

// evenWavenumbers reports whether all steps are the same in wavenumbers. A step over channels that were left out is a
// multiple.
func evenWavenumbers(a *spectrum.Axis) bool {
	w, err := a.In(spectrum.ReciprocalCentimetre)
	if err != nil {
		return true
	}
	step := math.Inf(1)
	for j := 1; j < w.Len(); j++ {
		step = min(step, math.Abs(w.At(j)-w.At(j-1)))
	}
	for j := 1; j < w.Len(); j++ {
		times := math.Abs(w.At(j)-w.At(j-1)) / step
		if math.Abs(times-math.Round(times)) > uneven*math.Round(times) {
			return false
		}
	}
	return true
}

// weights says where a reference leans on channels that see little.
func (d Detector) weights(s Setup) []finding.Finding {
	var out []finding.Finding
	a, p := s.Axis, s.Axis.Len()
	if lo, hi, err := d.Range(a.Unit()); err == nil {
		beyond := 0.0
		for j, w := range s.Weights {
			if at := a.At(j); at < lo || at > hi {
				beyond += w
			}
		}
		if beyond > leanShare {
			out = append(out, finding.Of(finding.LeansBeyond, d.In(a.Unit()), 100*beyond))
		}
	}
	n := max(1, int(edgePart*float64(p)))
	edges := 0.0
	for j := range n {
		edges += s.Weights[j] + s.Weights[p-1-j]
	}
	if share := 2 * float64(n) / float64(p); edges > edgeTimes*share {
		out = append(out, finding.Of(finding.LeansOnEdges, "", 100*edges, 100*share))
	}
	return out
}

// pace says where an integration time is unusual or cannot be met.
func (d Detector) pace(s Setup) []finding.Finding {
	ms := func(t time.Duration) float64 { return float64(t) / float64(time.Millisecond) }
	var out []finding.Finding
	if s.Exposure <= 0 {
		return nil
	}
	if s.Every > 0 && s.Exposure > s.Every {
		out = append(out, finding.Of(finding.ExposureTooLong, "", ms(s.Exposure), ms(s.Every)))
	}
	if !d.Fourier && (s.Exposure < exposureMin || s.Exposure > exposureMax) {
		out = append(out, finding.Of(finding.ExposureUnusual, "", ms(s.Exposure), ms(exposureMin), ms(exposureMax)))
	}
	return out
}
