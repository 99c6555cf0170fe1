package report

import (
	"maps"

	"asusual/model/finding"
	"asusual/report/chart"
)

// English returns the words of the pages in English.
func English() *Language {
	text := map[string]string{}
	for _, part := range []map[string]string{englishBasics(), englishHandover(), englishDetails(), englishCard(), englishCompare(), englishLive(), englishApproval(), englishSite(), englishItems(), englishInstrument()} {
		maps.Copy(text, part)
	}
	return &Language{Tag: "en", Text: text, Findings: finding.English(), Pictures: chart.English}
}

// englishBasics are numbers, times, and what stands on every page.
func englishBasics() map[string]string {
	return map[string]string{
		"decimal":   ".",
		"thousands": ",",
		"and":       "and",
		"weekdays":  "Sunday Monday Tuesday Wednesday Thursday Friday Saturday",
		"months":    "January February March April May June July August September October November December",

		"date.time":    "{date}, {time}",
		"date.day":     "{day} {month}",
		"date.dayyear": "{day} {month} {year}",
		"date.long":    "{weekday} {day} {month} {year}",
		"span.open":    "{from} until now",
		"period.day":   "{day}, {from}–{to}.",
		"period.days":  "{day}, {from}, to {day2}, {to}.",
		"about":        "about {when}",
		"more.one":     "1 more",
		"more.many":    "{n} more",
		"runs.one":     "1 run",
		"runs.many":    "{n} runs",

		"lasts.s":    "{s} s",
		"lasts.min":  "{min} min",
		"lasts.h":    "{h} h",
		"lasts.hmin": "{h} h {min} min",
		"lasts.d":    "{d} days",
		"lasts.dh":   "{d} days {h} h",
		"lasts.on":   "it lasts",

		"group.name":           "group {id}",
		"condition.usual":      "usual",
		"condition.uncharted":  "uncharted",
		"condition.unfit":      "unfit",
		"quantity.absorbance":  "absorbance",
		"promise":              "{n} per {time}",
		"condition.transition": "transition",

		"picture.nothing": "No picture: there were no spectra to show.",
		"picture.trouble": "This picture could not be drawn: {reason}.",

		"findings.title": "What else to know",
		"chosen":         "chosen",
		"figures.beside": "Every figure of this page lies beside it, in a file whose name ends in figures.json; what its pictures draw, in tables (.csv) of their names.",

		"reference.line":    "Judged by the reference {name}, fingerprint {fingerprint}.",
		"reference.after":   "Judged by the reference {name}, fingerprint {fingerprint}, and before it by {before}.",
		"reference.none":    "No reference is named.",
		"reference.learned": "It was learned on {day} from {runs}, {hours} h of known-good production. Promise: no more false episodes than {promise}.",

		"notsaid.title": "What this report does not say",
		"notsaid.1":     "It states no constituent, no concentration and no grade of quality. Where bonds absorb is a hint where to look, not a finding of what is there.",
		"notsaid.2":     "“As usual” means: as in the known-good runs that the reference learned from. It does not mean good, and a change that is smaller than the reach of the reference is not seen.",

		"caution.title": "Caution",
		"caution.1":     "This shows a change in an optical signature. It is no measurement of composition, safety or allergens. No product is released or rejected on it alone.",
		"caution.2":     "Food-safety plans, local codes and licensed practice come first.",
		"caution.3":     "The light source of a probe is hot and bright. Isolate it before working on it.",
		"caution.short": "An optical signature only: no measurement of composition, safety or allergens. No product is released or rejected on this page alone. The light source of a probe is hot and bright: isolate it before working on it. The caution on the last page applies.",
	}
}

// englishHandover are the sentences of the first page of a handover.
func englishHandover() map[string]string {
	return map[string]string{
		"handover.title":  "{line}, {shift} shift, {day}: handover",
		"handover.kicker": "{line} · {shift} shift · handover",
		"handover.late":   "Written late, from the history ({time}).",
		"handover.early":  "Written before the shift ended ({time}).",

		"verdict.changed":        "The process has changed.",
		"verdict.changed.since":  "The process has changed, since about {when}.",
		"verdict.changed.before": "The process has changed, since before this shift: about {when}.",
		"verdict.usual":          "As usual.",
		"verdict.usual.again":    "As usual again, since {when}.",
		"verdict.cannot":         "Cannot say.",

		"q.since":      "Since when",
		"q.far":        "How far",
		"q.seen":       "Seen before?",
		"q.instrument": "Is it the instrument?",
		"q.missing":    "What was missing",
		"q.now":        "What now",
		"q.why":        "Why",

		"why.nothing":       "No spectra came.",
		"why.named":         "All spectra are of named conditions: there was no production to judge.",
		"why.unfit":         "No spectrum was fit to be judged.",
		"why.instrument":    "The instrument is unfit.",
		"why.overtaken":     "The spectra came late, after newer ones had been judged: each was placed by itself, but nobody followed them over time.",
		"why.short":         "There were too few spectra of production to say it.",
		"missing.late.one":  "1 spectrum came late, after newer ones had been judged.",
		"missing.late.many": "{n} spectra came late, after newer ones had been judged.",

		"since.changed":      "Seen at {seen}. It began at about {began}.",
		"since.ended":        "It ended at {when}.",
		"since.earlier.one":  "There was 1 episode before it in this shift.",
		"since.earlier.many": "There were {n} episodes before it in this shift.",
		"since.was":          "The process had changed {span}.",
		"since.all":          "For all {time} of production.",
		"since.cannot":       "Since {when}.",

		"far.nothing":  "There was nothing to measure it by.",
		"far.inside":   "Well within the limit: {last} of it {over}.",
		"far.near":     "Close to the limit: {last} of it {over}.",
		"far.outside":  "{last} times the limit {over}.",
		"far.together": "Not far, but lasting: one by one the spectra lie within the limit ({last} of it {over}); together they have moved.",
		"far.cannot":   "As far as it could be judged: {last} of the limit at the end.",
		"far.typical":  "Typical is {typical}.",
		"far.hour":     "in the last hour of production",
		"far.since":    "since {when}",
		"far.peak":     "Furthest at {when}: {peak} times the limit.",
		"far.share":    "{share} of {n} spectra lay within the limits.",

		"seen.at":       "Yes: the same place as {where}, {when}.",
		"seen.like":     "Yes: the same place as {where}.",
		"seen.never":    "Never: {name} is new.",
		"seen.at.of":    "{of}: yes, the same place as {where}, {when}.",
		"seen.like.of":  "{of}: yes, the same place as {where}.",
		"seen.never.of": "{of}: never, {name} is new.",
		"seen.unplaced": "Not known: the changed spectra do not lie together.",
		"seen.nothing":  "Nothing new was seen.",

		"instrument.perhaps":   "Perhaps: check the instrument first.",
		"instrument.fit":       "No sign of it: the instrument is fit.",
		"instrument.ageing":    "It can be believed, but it is ageing.",
		"instrument.unfit":     "The instrument is unfit: what it shows cannot be believed.",
		"instrument.unchecked": "Not known: the instrument was not checked.",

		"missing.nothing":         "Nothing: all {n} spectra were judged.",
		"missing.all":             "Everything: no spectra came.",
		"missing.gaps":            "No spectra for {time}: {spans}.",
		"missing.unreadable.one":  "1 of {received} spectra could not be read.",
		"missing.unreadable.many": "{n} of {received} spectra could not be read.",
		"missing.unfit.one":       "1 spectrum could not be judged.",
		"missing.unfit.many":      "{n} spectra could not be judged.",

		"now.usual":      "Nothing, on what the spectra show.",
		"now.again":      "Tell the next shift what happened, and what ended it.",
		"now.ageing":     "Nothing on the line. Plan the instrument’s maintenance.",
		"now.unfit":      "Check the instrument before you believe this: window, lamp, wavelength standard. Until then, go by the checks that you have without this tool.",
		"now.changed":    "Tell the next shift. Look for what was altered on the line before {when}.",
		"now.instrument": "Check the instrument before the line: window, lamp, wavelength standard.",
		"now.line":       "Follow your food-safety plan; release or reject nothing on this page alone.",
		"now.cannot":     "Mend what is named under “Why”. Until then, go by the checks that you have without this tool.",
		"now.nospectra":  "See why no spectra came: spectrometer, folder, network. Until then, go by the checks that you have without this tool.",

		"distance.caption": "Each spectrum; where they are many, their median (strong) and least to greatest (faint). Grey: in a named condition, where distance is no fault.",
		"scores.caption":   "Where the spectra lie. Grey: usual, in parts that hold 40, 70, 90 and 99 % of it. Discs lie within the limits, rings outside, crosses in a named condition; newer is stronger.",
		"spectrum.caption": "Mean spectrum against usual, and the difference; shaded where it left the band.",
		"bonds.caption":    "Bars: where bonds absorb, about (Osborne, Fearn, Hindle 1993; Workman, Weyer 2012): a hint, not a finding.",
		"map.caption":      "All conditions, spread so that they can be told apart.",

		"fault.axis":       "a wavelength axis that is off",
		"fault.light":      "a film on the window, a weaker lamp or a bent fibre",
		"fault.path":       "another path length in the probe",
		"difference.after": "difference, {steps}",

		"this.shift":    "this shift",
		"while.changed": "while changed",
		"episode.name":  "changed",
		"episode.short": "since {when}",
		"episode.since": "changed, since about {when}",

		"alt.distance":       "Distance from usual over time, {from} to {to}.",
		"alt.episode":        "Changed {span}.",
		"alt.scores":         "Score plot: {inside} spectra within the limits, {outside} outside.",
		"alt.clusters":       "Conditions shown: {names}.",
		"alt.spectrum.none":  "The usual mean spectrum; there is none of production to set against it.",
		"alt.spectrum.same":  "Mean spectrum and usual: the difference stays within the usual band.",
		"alt.spectrum.moved": "Mean spectrum and usual: the difference leaves the usual band most at {at}.",
		"alt.map":            "Map of all conditions with this period’s spectra.",

		"sign.from": "Handed over by",
		"sign.to":   "Taken over by",
		"sign.time": "Date and time",
	}
}

// englishDetails are the sections after the first page, and the heads of all columns.
func englishDetails() map[string]string {
	return map[string]string{
		"episodes.title":     "Episodes",
		"episodes.none":      "None was seen.",
		"acts.title":         "What became of the alarm",
		"act.raised":         "raised",
		"act.gone":           "the change was over",
		"act.acknowledged":   "acknowledged",
		"act.shelved":        "shelved until {until}",
		"act.unshelved":      "taken from the shelf",
		"act.over":           "the time on the shelf was over",
		"act.refused":        "refused: {why}",
		"conditions.title":   "Conditions",
		"conditions.caption": "Time in each condition",
		"conditions.over":    "{time} of it longer than it may last",
		"conditions.none":    "No spectra were given to a condition.",
		"groups.title":       "Uncharted groups: spectra that lie together, at home in no known condition",
		"groups.none":        "There were no uncharted groups.",
		"groups.caption":     "The mean spectrum of each uncharted group against usual, pretreated; the grey band is usual. It says where a place lies, not what it is.",
		"alt.groups":         "Mean spectra of the uncharted groups against usual.",
		"alt.group":          "{group} leaves the usual band most at {at}.",

		"instrument.title":        "The instrument",
		"instrument.state.fit":    "The instrument is fit.",
		"instrument.state.ageing": "The instrument is ageing.",
		"instrument.state.unfit":  "The instrument is unfit.",
		"checks.title":            "Checks of the instrument",
		"check.fit":               "fit",
		"check.unfit":             "beyond its limit",

		"complete.title":   "What came and what was missing",
		"complete.line":    "{received} spectra received, {judged} judged, {unfit} not fit to be judged, {unreadable} unreadable.",
		"gaps.title":       "Stretches without spectra",
		"unreadable.title": "Could not be read",
		"seen.short.never": "never",

		"col.after":        "seen within",
		"col.alarm":        "alarm",
		"col.at":           "at",
		"col.before":       "seen before",
		"col.caught":       "good spectra it calls changed",
		"col.change":       "change",
		"col.check":        "check",
		"col.condition":    "condition",
		"col.day":          "date",
		"col.distance":     "distance",
		"col.file":         "file",
		"col.first":        "first",
		"col.furthest":     "furthest",
		"col.gap":          "no spectra",
		"col.group":        "group",
		"col.how":          "how",
		"col.inside":       "within limits",
		"col.last":         "last",
		"col.lasted":       "lasted",
		"col.limit":        "limit",
		"col.median":       "median distance",
		"col.most":         "departs most at",
		"col.note":         "note",
		"col.now":          "now",
		"col.period":       "period",
		"col.pretreatment": "pretreatment",
		"col.reach":        "reach",
		"col.reason":       "reason",
		"col.result":       "result",
		"col.run":          "run",
		"col.runs":         "runs",
		"col.seen":         "seen at",
		"col.since":        "began",
		"col.smallest":     "smallest seen",
		"col.spectra":      "spectra",
		"col.time":         "time",
		"col.times":        "times",
		"col.until":        "ended",
		"col.value":        "value",
		"col.what":         "what",
		"col.who":          "by",
		"col.why":          "why",

		"index.title":      "Reports",
		"index.state":      "{verdict} at the end of the {shift} shift, {day}.",
		"index.unread":     "{file} could not be read: its report is not listed here. Write it anew: asusual handover, with its date and shift.",
		"index.empty":      "no reports yet.",
		"index.day":        "{weekday} {day}",
		"index.count.one":  "1 shift, {changed} changed, {cannot} cannot say",
		"index.count.many": "{n} shifts, {changed} changed, {cannot} cannot say",
		"index.usual":      "as usual",
		"index.again.one":  "as usual again, after 1 episode",
		"index.again.many": "as usual again, after {n} episodes",
		"index.changed":    "changed",
		"index.cannot":     "cannot say",
		"index.key":        "○ as usual · ▲ the process has changed · – cannot say. The small pictures show the distance from usual over the shift; the line is the limit.",
	}
}
