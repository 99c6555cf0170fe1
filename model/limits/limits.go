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

	Center []float64 `json:"center"` // d = k+1: of the k scores and of log Q
	Scale  []float64 `json:"scale"`  // their spread on held-out runs
	Clip   float64   `json:"clip"`   // no feature is larger
	FloorQ float64   `json:"floor_q"`

	Questions [questions]Question `json:"questions"`
	Base      float64             `json:"base"` // weight of the newest spectrum in the run's own mean
	Warm      int                 `json:"warm"` // spectra of a run before it can be judged

	Every time.Duration `json:"every"` // usual time between spectra; zero where they carry no times
	Gap   time.Duration `json:"gap"`   // a longer pause starts a new run; zero where spectra carry no times

	Runs         int     `json:"runs"`
	Spectra      int     `json:"spectra"`
	Hours        float64 `json:"hours"` // good production that stands behind the promise
	Extrapolated bool    `json:"extrapolated"`

	Findings []finding.Finding `json:"findings,omitempty"`
}

// What is asked over time: two questions of each memory, about each group of features.
//
// Note: the scores are one group and log Q the other. In one group with the scores, log Q has to pass the threshold of
// all d features, and a new absorber or more noise, which show nowhere else, took two to three times as long as alone;
// on 64 channels the textbook's Q chart was quicker.
const (
	memories  = 3 // fast, middle and slow; see spans
	perGroup  = 2 * memories
	questions = 2 * perGroup
)

// A Question is asked of a memory after every spectrum; its answer is a length that has a threshold.
type Question struct {
	From      int     `json:"from"`  // the first feature of its group
	To        int     `json:"to"`    // the one after its last
	Moved     bool    `json:"moved"` // how far from the run's own mean so far; else how far from usual
	R         float64 `json:"r"`     // weight of the newest spectrum in the memory
	White     white   `json:"white"`
	Threshold float64 `json:"threshold"`
}

// Len returns d, the number of features of a spectrum.
func (l *Limits) Len() int { return len(l.Center) }

// Features fills dst with the d features of a spectrum: its scores t and the logarithm of its Q residual, each centred
// and divided by its spread on held-out runs, which is larger than the √λ of the training spectra, and clipped.
// len(dst) = d = len(t)+1. It does not allocate.
func (l *Limits) Features(dst, t []float64, q float64) {
	for i, v := range t {
		dst[i] = l.clip((v - l.Center[i]) / l.Scale[i])
	}
	k := len(t)
	dst[k] = l.clip((math.Log(max(q, l.FloorQ)) - l.Center[k]) / l.Scale[k])
}

func (l *Limits) clip(v float64) float64 { return max(-l.Clip, min(v, l.Clip)) }
