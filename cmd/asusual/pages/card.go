package pages

import (
	"math"
	"slices"
	"strconv"
	"time"

	"asusual/model"
	"asusual/model/finding"
	"asusual/model/holdout"
	"asusual/model/position"
	"asusual/model/reach"
	"asusual/report"
	"asusual/report/chart"
)

// Card returns the card of a reference of a line, in a language (nil: English).
func Card(ref *model.Reference, line string, zone *time.Location, lang *report.Language) report.Card {
	l, fingerprint := ref.Learning, ref.Fingerprint()
	c := report.Card{
		Line: line, Name: ref.Name, Fingerprint: fingerprint, Version: 1, Learned: ref.Learned, Zone: zone, Language: lang,
		Axis: ref.Axis().String(), LeftOut: leftOut(l.LeftOut, lang), Unused: unused(l.Unused, lang), Pretreatment: ref.Chain.String(), Tried: tried(l.Tried),
		K: ref.PCA.K, KWhy: news(l.Components.Findings, ref.Findings), Choice: chart.ChoicePlot{Carried: carried(ref), LeftOver: leftOver(l.Components.Table), K: ref.PCA.K},
		Limits:  cardLimits(ref, lang),
		Promise: ref.Limits.Promise.String(), PromiseWhy: without(ref.Limits.Findings, finding.Extrapolated), Hours: ref.Limits.Hours, Blocks: ref.Limits.Runs,
		Extrapolated: ref.Limits.Extrapolated, Findings: ref.Findings, Approved: approved(ref, fingerprint), Source: report.Source(ref.Source),
	}
	c.Unapproved = len(c.Approved) == 0
	for _, r := range l.Runs {
		c.Runs = append(c.Runs, report.CardRun{Name: r.Name, From: r.From, To: r.To, Spectra: r.Spectra, Files: r.Files})
	}
	for _, k := range ref.Conditions {
		c.Conditions = append(c.Conditions, report.CardCondition{Name: k.Name, Spectra: k.Spectra, Runs: k.Runs, Findings: k.Findings})
	}
	if f := l.Confusion; f != nil {
		c.Confusion = report.Confusion{Rows: f.Names, Columns: append(slices.Clone(f.Names), model.Uncharted), Counts: f.Went}
	}
	if len(ref.Conditions) > 0 {
		m := conditionMap(ref, lang)
		c.Map = &m
	}
	if ref.Reach != nil {
		cardReach(&c, ref, lang)
	}
	return c
}

// approved returns who stands for the version of the reference that has the fingerprint: the reference as it is, or one before it.
func approved(ref *model.Reference, fingerprint string) []report.Approval {
	var all []report.Approval
	for _, a := range ref.Approvals {
		if a.Of == fingerprint {
			all = append(all, report.Approval{By: a.By, Note: a.Note, At: a.At})
		}
	}
	return all
}

// without returns the findings of other kinds than one that the page says in words of its own.
func without(all []finding.Finding, kind finding.Kind) []finding.Finding {
	return slices.DeleteFunc(slices.Clone(all), func(f finding.Finding) bool { return f.Kind == kind })
}

// news returns the findings that the others do not say too.
func news(all, others []finding.Finding) []finding.Finding {
	return slices.DeleteFunc(slices.Clone(all), func(f finding.Finding) bool {
		return slices.ContainsFunc(others, func(o finding.Finding) bool { return o.String() == f.String() })
	})
}

// leftOut gathers what was left out of a run for one kind of reason into one entry, in the order in which they came.
func leftOut(all []model.LeftOut, lang *report.Language) []report.LeftOut {
	type key struct {
		condition, run string
		kind           finding.Kind
	}
	at := map[key]int{}
	var out []report.LeftOut
	for _, l := range all {
		k := key{l.Condition, l.Run, l.Reason.Kind}
		if i, ok := at[k]; ok {
			out[i].Spectra++
			out[i].What = lang.Say("card.run", "run", l.Run)
			if l.Condition != model.Usual {
				out[i].What = l.Condition + ", " + out[i].What
			}
			continue
		}
		at[k] = len(out)
		out = append(out, report.LeftOut{What: lang.Said(l.Spectrum), Spectra: 1, Reasons: []finding.Finding{l.Reason}})
	}
	return out
}

// unused lists what could not be used, an entry a reason.
func unused(all []model.Unused, lang *report.Language) []report.LeftOut {
	var out []report.LeftOut
	for _, u := range all {
		what := lang.Said(u.First)
		if u.Count > 1 {
			what = lang.Say("card.others", "first", what)
		}
		if u.Condition != model.Usual {
			what = u.Condition + ", " + what
		}
		out = append(out, report.LeftOut{What: what, Spectra: u.Count, Reasons: []finding.Finding{u.Reason}})
	}
	return out
}

func tried(all []reach.Tried) []report.Try {
	chosen := math.NaN()
	for _, t := range all {
		if t.Chosen {
			chosen = float64(t.Band)
		}
	}
	var out []report.Try
	for _, t := range all {
		words := t.Words
		if t.Why != "" {
			words += " (" + t.Why + ")"
		}
		out = append(out, report.Try{Steps: words, Reach: float64(t.Band) / chosen, K: t.K, Chosen: t.Chosen})
	}
	return out
}

// leftOver is what k components leave unexplained in runs held out, in per cent.
func leftOver(table []holdout.KRow) []float64 {
	var out []float64
	for _, r := range table {
		if r.K > 0 {
			out = append(out, max(100*(1-r.Within), 0))
		}
	}
	return out
}

// cardLimits lays the learned limits beside those of textbooks. How many good spectra a textbook's limit for T² would have
// called changed is counted on the held-out scores that the reference keeps for its pictures; for Q these hold nothing.
func cardLimits(ref *model.Reference, lang *report.Language) []report.Limit {
	b := ref.Learning.Textbook
	above := func(limit float64) float64 {
		n := 0
		for _, t := range ref.Picture.Scores {
			if position.T2(t, ref.PCA.Eigenvalues) > limit {
				n++
			}
		}
		if len(ref.Picture.Scores) == 0 {
			return math.NaN()
		}
		return float64(n) / float64(len(ref.Picture.Scores))
	}
	return []report.Limit{
		{Name: "T²", Learned: ref.Limits.T2, Textbook: []report.Textbook{
			{Name: lang.Say("textbook.f"), Value: b.T2F, Caught: above(b.T2F)},
			{Name: lang.Say("textbook.beta"), Value: b.T2Beta, Caught: above(b.T2Beta)},
		}},
		{Name: lang.Say("limits.q"), Learned: ref.Limits.Q, Textbook: []report.Textbook{
			{Name: lang.Say("textbook.jm"), Value: b.QJM, Caught: math.NaN()},
			{Name: "Box 1954", Value: b.QBox, Caught: math.NaN()},
		}},
	}
}

// cardReach says what the reference would see. The curve is that of the middle width.
func cardReach(c *report.Card, ref *model.Reference, lang *report.Language) {
	r := ref.Reach
	c.ReachWhat = lang.Say("reach.what", "share", lang.Figure(100*r.Share, 2), "spectra", strconv.Itoa(r.Within))
	if r.Time > 0 {
		c.ReachWhat += " (" + lang.Say("lasts.min", "min", lang.Figure(r.Time.Minutes(), 2)) + ")"
	}
	unit, absorbance := r.Unit.Symbol(), lang.Say("quantity.absorbance")
	if len(r.Bands) > 0 {
		b := r.Bands[len(r.Bands)/2]
		c.Reach = chart.ReachPlot{
			Axis: axis(ref.Axis()), Usual: ref.Picture.Mean, Quantity: absorbance, Places: chart.Axis{At: r.At, Unit: unit}, Smallest: sizes(b.Size),
			Height: lang.Say("reach.height", "width", lang.Figure(b.Width, 4), "unit", unit),
		}
	}
	add := func(kind string, size float64, unit string) {
		c.Smallest = append(c.Smallest, report.Smallest{Kind: kind, Size: size, Unit: unit, After: r.Time})
	}
	for _, b := range r.Bands {
		add(lang.Say("small.band", "width", lang.Figure(b.Width, 4), "unit", unit), float64(Middle(b.Size)), absorbance)
	}
	add(lang.Say("small.offset"), float64(r.Offset), absorbance)
	add(lang.Say("small.slope"), float64(r.Slope), lang.Say("small.ends"))
	add(lang.Say("small.scale"), 100*float64(r.Scale), "%")
	add(lang.Say("small.shift"), float64(r.Shift), unit)
	add(lang.Say("small.noise"), float64(r.Noise), absorbance)
}

func sizes(all []reach.Size) []float64 {
	out := make([]float64, len(all))
	for i, s := range all {
		out[i] = float64(s)
	}
	return out
}

// Middle returns the median, which is not seen where most are not.
func Middle(all []reach.Size) reach.Size {
	if len(all) == 0 {
		return reach.Never
	}
	all = slices.Sorted(slices.Values(all))
	return all[len(all)/2]
}
