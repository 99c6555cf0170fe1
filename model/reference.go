package model

import (
	"fmt"
	"math"
	"time"

	"asusual/model/compare"
	"asusual/model/condition"
	"asusual/model/finding"
	"asusual/model/fitness"
	"asusual/model/holdout"
	"asusual/model/limits"
	"asusual/model/pretreat"
	"asusual/model/project"
	"asusual/model/reach"
	"asusual/model/spectrum"
	"asusual/model/stretch"
)

// A Reference is all that was learned from known-good spectra. It does not change after Learn or Decode and is safe
// for concurrent use.
type Reference struct {
	Name       string               `json:"name"`
	Learned    time.Time            `json:"learned"`
	First      time.Time            `json:"first,omitzero"`   // when the first version was learned, where this is a later one
	Origin     string               `json:"origin,omitempty"` // where its spectra came from, in the words of whoever learned it
	Chain      *pretreat.Chain      `json:"pretreatment"`
	PCA        *project.PCA         `json:"pca"`
	Limits     *limits.Limits       `json:"limits"`
	Stretches  *stretch.Bank        `json:"stretches,omitempty"` // from file version 3 on
	Signature  *condition.Signature `json:"signature"`
	Instrument *fitness.Baseline    `json:"instrument"`
	Spread     compare.Spread       `json:"spread"` // see BetweenRuns
	Conditions []*condition.Class   `json:"conditions,omitempty"`
	Map        *condition.Map       `json:"map"`
	Picture    Picture              `json:"picture"`
	Learning   Learning             `json:"learning"`
	Reach      *reach.Reach         `json:"reach,omitempty"`
	Findings   []finding.Finding    `json:"findings,omitempty"`
	Revisions  []Revision           `json:"revisions,omitempty"` // from the first on
	PerItem    float64              `json:"per_item,omitempty"`  // spectra that one of those learned from is the mean of; 0: each stands for itself
	Belt       *Belt                `json:"belt,omitempty"`      // tells the empty belt, where a condition does
	Source     Source               `json:"source,omitzero"`
	Approvals  []Approval           `json:"approvals,omitempty"` // of this version and of those before it, in order of time
}

// Axis returns the axis that the reference judges on, before pretreatment.
func (r *Reference) Axis() *spectrum.Axis { return r.Chain.In() }

// A Picture is what charts draw of usual production.
type Picture struct {
	Mean    []float64   `json:"mean"`    // p mean absorbances
	SD      []float64   `json:"sd"`      // p standard deviations of the absorbance
	Scores  [][]float64 `json:"scores"`  // scores of good spectra in whole runs held out, at most maxCloud, evenly taken
	Typical float64     `json:"typical"` // median distance of good spectra, held out
}

// A Learning records how the reference came to be, for its card.
type Learning struct {
	Runs       []Run                `json:"runs"`
	Spectra    int                  `json:"spectra"` // learned from, all runs
	LeftOut    []LeftOut            `json:"left_out,omitempty"`
	Unused     []Unused             `json:"unused,omitempty"`
	Components holdout.Choice       `json:"components"`
	Tried      []reach.Tried        `json:"tried,omitempty"` // pretreatments that were chosen among
	Textbook   Textbook             `json:"textbook"`
	Confusion  *condition.Confusion `json:"confusion"`
}

// A Run is one stretch of known-good production that was learned from.
type Run struct {
	Name    string    `json:"name"`
	From    time.Time `json:"from"`
	To      time.Time `json:"to"`
	Spectra int       `json:"spectra"`
	Files   int       `json:"files,omitempty"` // that these stood in; 0 where that was not kept
}

// Textbook holds the limits that the usual formulas give for the same share of good spectra outside, to stand beside
// the learned ones. They take spectra for independent and runs for alike.
type Textbook struct {
	T2F    float64 `json:"t2_f"`    // F: for a spectrum that was not learned from
	T2Beta float64 `json:"t2_beta"` // beta: for one that was
	QJM    float64 `json:"q_jm"`    // Jackson and Mudholkar 1979
	QBox   float64 `json:"q_box"`   // Box 1954
}

// BetweenRuns returns how much whole runs of known-good production differ. It is of no run where that is not known: where only one run
// was learned from, or by an older version a few, of which blocks of time stand for runs.
func (r *Reference) BetweenRuns() compare.Spread {
	s := r.Spread
	if s.Runs > len(r.Learning.Runs) {
		s.Runs = 0
	}
	return s
}

// validate checks that the parts of a decoded reference fit together, so that nothing behind it can go wrong.
func (r *Reference) validate() error {
	if r.Chain == nil || r.PCA == nil || r.Limits == nil || r.Signature == nil || r.Instrument == nil || r.Map == nil {
		return fmt.Errorf("a part is missing")
	}
	if err := validatePCA(r.PCA, r.Chain.Out().Len()); err != nil {
		return err
	}
	if err := r.Stretches.Validate(r.PCA.K, r.PCA.P); err != nil {
		return err
	}
	if r.Stretches.Len() != r.Limits.Parts {
		return fmt.Errorf("%d stretches of the axis, limits of %d", r.Stretches.Len(), r.Limits.Parts)
	}
	if err := r.Limits.Validate(r.PCA.K); err != nil {
		return err
	}
	if err := r.Spread.Validate(r.PCA.K + 1); err != nil {
		return err
	}
	if err := r.Signature.Validate(r.PCA); err != nil {
		return err
	}
	if err := r.Map.Validate(r.PCA.P); err != nil {
		return err
	}
	if err := r.Instrument.Validate(r.Axis().Len()); err != nil {
		return err
	}
	for _, c := range r.Conditions {
		if err := c.Validate(r.Chain.Out().Len()); err != nil {
			return err
		}
	}
	if r.Belt != nil {
		if err := r.Belt.validate(); err != nil {
			return err
		}
	}
	if p := r.Axis().Len(); len(r.Picture.Mean) != p || len(r.Picture.SD) != p {
		return fmt.Errorf("%d mean values on an axis of %d channels", len(r.Picture.Mean), p)
	}
	return nil
}

func validatePCA(m *project.PCA, p int) error {
	if m.P != p || m.K < 1 || len(m.Mean) != p || len(m.Loadings) != m.K*p || len(m.Eigenvalues) != m.K {
		return fmt.Errorf("%d components on %d channels, expected %d channels", m.K, m.P, p)
	}
	for _, l := range m.Eigenvalues {
		if !(l > 0) || math.IsInf(l, 0) {
			return fmt.Errorf("an eigenvalue is %g", l)
		}
	}
	return nil
}
