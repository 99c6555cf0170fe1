package report

// englishCard are the sentences of the card of a reference.
func englishCard() map[string]string {
	return map[string]string{
		"card.title":     "{name}: card of the reference",
		"card.kicker":    "{line} · card of the reference",
		"card.lede":      "Fingerprint {fingerprint}, learned on {day}.",
		"card.version":   "Version {n}.",
		"card.q.learned": "Learned from",
		"card.q.leftout": "Left out",
		"card.q.promise": "Promise",
		"card.q.sees":    "What it sees",

		"card.learned":       "{runs}, {spectra} spectra, {hours} h of known-good production; {axis}.",
		"card.leftout.empty": "All of the known-good spectra belong together; none was left out.",
		"card.leftout.none":  "Nothing: all of the known-good spectra belong together.",
		"card.leftout.one":   "1 run or spectrum that did not belong ({spectra} spectra); the reasons are below.",
		"card.leftout.many":  "{n} runs or spectra that did not belong ({spectra} spectra); the reasons are below.",
		"card.unused.one":    "1 file or row could not be used; the reason is below.",
		"card.unused.many":   "{n} files or rows could not be used; the reasons are below.",
		"card.leftout.title": "Left out, and why",
		"card.promise":       "No more false episodes than {promise}.",
		"card.extrapolated":  "This reaches further than the {hours} h of good production behind it: the limits are extrapolated. More good runs make it firm.",
		"card.sees":          "The smallest changes that would be seen {what} are below.",
		"card.sees.none":     "It was not found out what this reference would see.",
		"card.others":        "{first} and others",
		"card.run":           "run {run}",
		"card.runs":          "Runs it learned from",
		"card.runs.title":    "Known-good runs",
		"card.model":         "How the spectra are looked at",
		"card.pretreatment":  "Pretreatment: {steps}.",
		"card.k":             "Principal components: k = {k}.",
		"card.tried":         "Pretreatments that were tried. Reach: the smallest change seen, the chosen one’s being 1; less is better",

		"card.conditions":      "Known conditions",
		"card.conditions.none": "It knows no condition other than usual.",
		"confusion.title":      "What spectra of runs held out were taken for, in number",
		"confusion.is":         "is",

		"reach.title":   "What this reference would see",
		"reach.what":    "{share} times in 100 within {spectra} spectra",
		"reach.height":  "height of a band {width} {unit} wide, absorbance",
		"small.band":    "a band {width} {unit} wide, at the usual place",
		"small.offset":  "an offset of all channels",
		"small.slope":   "a slope from end to end",
		"small.ends":    "absorbance at the ends",
		"small.scale":   "all absorbances larger or smaller",
		"small.shift":   "the axis off",
		"small.noise":   "more noise, as standard deviation",
		"reach.text":    "Small changes were added to good spectra that the reference had not learned from. These are the smallest that were seen {what}.",
		"reach.table":   "The smallest change of each kind",
		"reach.caption": "Above: the mean of usual. Below: at each place of the axis, the height of the smallest band there that would be seen. Low is good; hatched: none was seen.",
		"alt.reach":     "The height of the smallest band that would be seen, over the axis, with the mean spectrum above it.",

		"limits.title":        "Limits",
		"limits.q":            "Q residual",
		"textbook.f":          "F distribution",
		"textbook.beta":       "beta distribution, for spectra learned from",
		"textbook.jm":         "Jackson and Mudholkar 1979",
		"limits.text":         "Limits are learned from runs held out, each placed against a reference learned from the others. Beside them stand the textbooks’, which take neighbouring spectra for independent and runs for alike.",
		"limits.learned.one":  "learned, from 1 run or block held out",
		"limits.learned.many": "learned, from {n} runs or blocks held out",

		"choice.caption": "How the number of components was chosen.",
		"alt.choice":     "Share of variation by component and what is left over in runs held out; k = {k} was chosen.",
	}
}

// englishCompare are the sentences of a comparison.
func englishCompare() map[string]string {
	return map[string]string{
		"compare.title":   "{line}: {this} against {that}",
		"compare.kicker":  "{line} · comparison",
		"compare.lede":    "{name}: {span}.",
		"compare.usual":   "{this} against {that}: as usual.",
		"compare.changed": "{this} against {that}: the process has changed.",
		"compare.cannot":  "Cannot say whether {this} is as {that}.",

		"compare.far":            "{effect} times the usual spread between runs (99 % interval {low} to {high}).",
		"compare.witnesses.one":  "It rests on 1 run or block of time, whole: neighbouring spectra are no independent witnesses.",
		"compare.witnesses.many": "It rests on {n} runs or blocks of time, whole: neighbouring spectra are no independent witnesses.",
		"compare.falsealarms":    "Of comparisons between usual periods on simulated lines, {share} were called changed.",

		"compare.little":          "One of the two holds too little: less than a tenth of a usual run.",
		"compare.left":            "What is left of one of the two is too little: less than a tenth of a usual run.",
		"compare.band":            "usual runs differ so, 95 %",
		"period.today":            "today",
		"period.yesterday":        "yesterday",
		"period.week":             "the last seven days",
		"period.before":           "the seven days before",
		"period.to":               "{from} to {to}",
		"period.times":            "{day}, {times}",
		"compare.periods":         "The two periods",
		"compare.periods.caption": "Spectra that should have been usual",
		"compare.conditions":      "Time in each condition, {this} and {that}",

		"compare.scores.caption":   "{This}: discs and their centre. {That}: the outline that holds 90 % of it, and an open square at its centre. Grey: usual.",
		"compare.spectrum.caption": "Mean spectrum of {this} against {that}, and the difference; shaded where it is more than whole usual runs differ by (95 %).",
		"compare.spread.caption":   "Distances from usual: {this} as a line, {that} in grey.",
		"alt.compare.scores":       "Score plot of {this} and {that}.",
		"alt.compare.spectrum":     "Mean spectra of {this} and {that}, and their difference.",
		"alt.compare.spread":       "Distances from usual: median {a} for {this}, {b} for {that}.",
	}
}
