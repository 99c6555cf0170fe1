package limits

import (
	"math"
	"time"

	"asusual/model/finding"
)

// Limits is what held-out runs of good production taught: the border for single spectra, and for each question that
// a memory is asked over time the threshold that keeps the promise. It does not change after Learn and marshals to
// JSON completely.
type Limits struct {
	Promise Promise `json:"promise"`
	Alpha   float64 `json:"alpha"` // share of good spectra outside the border
	T2      float64 `json:"t2"`    // limit of T²
	Q       float64 `json:"q"`     // limit of the Q residual

	Center []float64 `json:"center"`          // d = k+1+m: of the k scores, of log Q, and of what m stretches of the axis have left over
	Scale  []float64 `json:"scale"`           // their spread on held-out runs
	Parts  int       `json:"parts,omitempty"` // m
	Clip   float64   `json:"clip"`            // no feature is larger
	FloorQ float64   `json:"floor_q"`

	Questions []Question `json:"questions"`
	Leaps     []Leap     `json:"leaps,omitempty"` // a group each
	Base      float64    `json:"base"`            // weight of the newest spectrum in the run's own mean
	Warm      int        `json:"warm"`            // spectra of a run before it can be judged

	Every time.Duration `json:"every"`          // usual time between spectra; zero where they carry no times
	Often time.Duration `json:"often,omitzero"` // what nine in ten pauses within runs do not pass, where that is more than three usual ones
	Gap   time.Duration `json:"gap"`            // a longer pause starts a new run; zero where spectra carry no times

	Runs         int     `json:"runs"`
	Spectra      int     `json:"spectra"`
	Hours        float64 `json:"hours"` // good production that stands behind the promise
	Extrapolated bool    `json:"extrapolated"`

	Findings []finding.Finding `json:"findings,omitempty"`
}

// What is asked of each group of features: where each of the memories stands, and whether there was a leap.
//
// Note: the scores are one group, log Q another, and what stretches of the axis have left over a third. In one group with
// the scores, log Q has to pass the threshold of all features, and more noise, which shows nowhere else, took two to three
// times as long as alone. A new absorber of 4 times the noise of a channel, spread over some of 256 channels, took 80
// spectra by log Q; on its stretches it takes a tenth of that, at the same promise.
const memories = 3 // fast, middle and slow; see spans

// A Question is asked of a memory after every spectrum; its answer is a length that has a threshold.
type Question struct {
	From      int     `json:"from"`  // the first feature of its group
	To        int     `json:"to"`    // the one after its last
	Moved     bool    `json:"moved"` // how far from the run's own mean so far, as files of versions 1 and 2 ask; else how far from usual
	R         float64 `json:"r"`     // weight of the newest spectrum in the memory
	White     white   `json:"white"`
	Threshold float64 `json:"threshold"`
}

// Len returns d, the number of features of a spectrum.
func (l *Limits) Len() int { return len(l.Center) }

// Placed returns k+1, the number of those that the scores and the Q residual give.
func (l *Limits) Placed() int { return len(l.Center) - l.Parts }

// groups returns where the groups of features begin, and d.
func groups(k, parts int) []int {
	if parts == 0 {
		return []int{0, k, k + 1}
	}
	return []int{0, k, k + 1, k + 1 + parts}
}

// Features fills dst with the features of a spectrum: its scores t, the logarithm of its Q residual, and what its stretches
// have left over, each centred and divided by its spread on held-out runs, which is larger than that of the training
// spectra, and clipped. len(dst) = d = len(t)+1+len(parts), or Placed() where parts is nil. It does not allocate.
func (l *Limits) Features(dst, t []float64, q float64, parts []float64) {
	for i, v := range t {
		dst[i] = l.clip((v - l.Center[i]) / l.Scale[i])
	}
	k := len(t)
	dst[k] = l.clip((math.Log(max(q, l.FloorQ)) - l.Center[k]) / l.Scale[k])
	for i, v := range parts {
		dst[k+1+i] = l.clip((v - l.Center[k+1+i]) / l.Scale[k+1+i])
	}
}

func (l *Limits) clip(v float64) float64 { return max(-l.Clip, min(v, l.Clip)) }
