package pages

import (
	"slices"

	"asusual/model"
	"asusual/model/finding"
	"asusual/report"
)

// A judge is a reference by its fingerprint, and how many spectra it judged.
type judge struct {
	fingerprint string
	spectra     int
}

// judgedBy counts a spectrum to the reference that judged it.
func (d *day) judgedBy(fingerprint string) {
	d.judge = fingerprint
	i := slices.IndexFunc(d.judges, func(j judge) bool { return j.fingerprint == fingerprint })
	if i < 0 {
		i = len(d.judges)
		d.judges = append(d.judges, judge{fingerprint: fingerprint})
	}
	d.judges[i].spectra++
}

// known reports whether places by that reference lie in the plane that is drawn.
func (d *day) known(fingerprint string) bool {
	return d.same == nil || slices.Contains(d.same, fingerprint)
}

// strangers are the findings about references whose places cannot be drawn.
func (d *day) strangers() (all []finding.Finding) {
	for _, j := range d.judges {
		if !d.known(j.fingerprint) {
			all = append(all, finding.Of(finding.OtherPlane, j.fingerprint, float64(j.spectra)))
		}
	}
	return all
}

// name puts the references that judged the day into what the page says of them; of another than that which judges now no more is known
// than its name and fingerprint, and who approved it, where that reference is the version before.
func (d *day) name(now *model.Reference, h *report.Handover) {
	if len(d.judges) == 0 {
		return
	}
	if !d.known(d.judge) {
		h.Reference, h.Typical = report.Reference{Name: h.Reference.Name}, 0
	}
	if d.judge != h.Reference.Fingerprint { // who approved it may not be known, so that nobody did is not said
		h.Reference.Approved, h.Reference.Unapproved, h.Reference.Card = approved(now, d.judge), false, "" // the card is of another version
	}
	h.Reference.Fingerprint = d.judge
	for _, j := range d.judges {
		if j.fingerprint != d.judge {
			h.Reference.Before = append(h.Reference.Before, j.fingerprint)
		}
	}
}
