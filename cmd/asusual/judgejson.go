package main

import (
	"io"
	"time"

	"asusual/cmd/asusual/gather"
	"asusual/model"
	"asusual/model/finding"
	"asusual/model/fitness"
	"asusual/model/verdict"
)

// The lines that judge --json writes. Their fields are a promise: new ones may come after them, none goes or changes.
type (
	spectrumLine struct {
		Kind      string     `json:"kind"` // spectrum
		File      string     `json:"file"`
		Row       int        `json:"row,omitempty"`
		Time      *time.Time `json:"time"` // null where nothing says it
		T2        *float64   `json:"t2"`   // null, as the figures after it, for one that is unfit
		T2Limit   float64    `json:"t2_limit"`
		Q         *float64   `json:"q"`
		QLimit    float64    `json:"q_limit"`
		Distance  *float64   `json:"distance"`
		Inside    bool       `json:"inside"`
		Condition string     `json:"condition"`
		Reasons   []string   `json:"reasons"`
		Item      string     `json:"item,omitempty"`  // the trigger id of the item that it is of
		Count     int        `json:"count,omitempty"` // spectra of the item, whose mean was judged; absent where each stands for itself
	}
	episodeLine struct {
		Kind         string     `json:"kind"` // episode
		From         *time.Time `json:"from"`
		To           *time.Time `json:"to"` // of the last spectrum in it
		ChangedSince *time.Time `json:"changed_since"`
		Spectra      int        `json:"spectra"`
		Group        string     `json:"group"`
		Open         bool       `json:"open"` // it had not ended with the last spectrum
	}
	verdictLine struct {
		Kind       string          `json:"kind"` // verdict
		Verdict    verdict.Verdict `json:"verdict"`
		Since      *time.Time      `json:"since"`
		Spectra    int             `json:"spectra"`
		Inside     int             `json:"inside"`
		Unreadable int             `json:"unreadable"`
		Instrument fitness.State   `json:"instrument"`
		Reference  string          `json:"reference"` // the fingerprint
	}
)

// writeJSON writes one object a line: the spectra, what could not be read, the episodes, the verdict.
func (d *day) writeJSON(w io.Writer, ref *model.Reference) error {
	for i := range d.spectra {
		if err := writeJSON(w, d.spectrumLine(&d.spectra[i], ref)); err != nil {
			return err
		}
	}
	for _, u := range d.unreadable {
		if err := writeJSON(w, unreadableJSON(u)); err != nil {
			return err
		}
	}
	for i, e := range d.episodes {
		err := writeJSON(w, episodeLine{"episode", d.when(e.From), d.when(e.To), d.when(e.ChangedSince), e.Spectra, e.Group, d.open && i == len(d.episodes)-1})
		if err != nil {
			return err
		}
	}
	return writeJSON(w, verdictLine{
		"verdict", d.verdict, d.when(d.since()), len(d.spectra), d.inside, gather.Count(d.unreadable), d.instrument, ref.Fingerprint(),
	})
}

func (d *day) spectrumLine(s *judged, ref *model.Reference) spectrumLine {
	l := spectrumLine{
		Kind: "spectrum", File: s.file, Row: s.row, Time: d.when(s.time), T2Limit: ref.Limits.T2, QLimit: ref.Limits.Q,
		Inside: s.Inside, Condition: s.Condition, Reasons: sentences(s.Reasons),
		Item: s.item, Count: s.count,
	}
	if s.Condition != model.Unfit {
		l.T2, l.Q, l.Distance = &s.T2, &s.Q, &s.Distance
	}
	return l
}

// when returns the time in the zone of the site, nil where there is none.
func (d *day) when(t time.Time) *time.Time {
	if t.IsZero() {
		return nil
	}
	t = t.In(d.zone)
	return &t
}

// sentences says the findings; never nil, so that JSON has a list.
func sentences(all []finding.Finding) []string {
	texts := []string{}
	for _, f := range all {
		texts = append(texts, f.String())
	}
	return texts
}
