package report

// englishLive are the sentences of the live page.
func englishLive() map[string]string {
	return map[string]string{
		"live.title":     "{line}, live",
		"live.title.all": "{site}, live",
		"live.all":       "all lines",
		"live.names":     "{line}: {headline}",

		"live.nothing":     "Cannot say yet.",
		"live.why.silent":  "Nothing is judged; last: {verdict}.",
		"live.why.unknown": "No reason was given.",
		"live.why.nothing": "No spectra have come yet.",
		"live.why.named":   "The line is in {name}: there is no production to judge.",
		"live.lost":        "Connection lost at {time}.",
		"live.stopped":     "The watch was stopped at {time}.",
		"live.quiet":       "No spectra since {time}.",
		"live.then":        "What stands here is how it was then.",
		"live.last":        "Last spectrum {time}",
		"live.ago":         "{lasts} ago",
		"live.changed":     "changed",

		"live.far.inside":   "Well within the limit: now {last} of it.",
		"live.far.near":     "Close to the limit: now {last} of it.",
		"live.far.outside":  "Now {last} times the limit.",
		"live.far.together": "Not far, but lasting: one by one the spectra lie within the limit (now {last} of it); together they have moved.",
		"live.far.cannot":   "As far as it can be judged: {last} of the limit.",
		"live.far.peak":     "Furthest in the last hour, at {when}: {peak} times the limit.",
		"live.far.share":    "{share} of the last hour’s production lay within the limits.",

		"live.q.like":          "What it looks like",
		"live.q.where":         "Where the line is",
		"live.where.usual":     "In production, as usual.",
		"live.where.uncharted": "At home in no known condition.",
		"live.where.unfit":     "The last spectrum could not be judged.",
		"live.where.over":      "In {name}, for longer than it may last.",
		"live.where.named":     "In {name}, where distance from usual is no fault.",

		"live.instrument.fit":    "The instrument is fit, since {when}.",
		"live.instrument.ageing": "The instrument is ageing, since {when}.",
		"live.instrument.unfit":  "The instrument is unfit, since {when}.",

		"live.alarm.open":         "Nobody has acknowledged it yet.",
		"live.alarm.returned":     "A change was over before anybody acknowledged it ({since}).",
		"live.alarm.acknowledged": "Acknowledged at {since} by {who}: {why}",
		"live.alarm.shelved":      "Shelved until {until} by {who}: {why}",

		"live.trouble":         "The line cannot be watched: {reason}.",
		"live.unreadable.one":  "1 file or row could not be read since the watch began.",
		"live.unreadable.many": "{n} files or rows could not be read since the watch began.",
		"live.behind.one":      "1 file waits to be judged: what stands here is a little behind.",
		"live.behind.many":     "{n} files wait to be judged: what stands here is behind.",
		"live.complete":        "Nothing: all that came was judged.",
		"live.now.changed":     "Look for what was altered on the line before {when}.",

		"live.acknowledge": "Acknowledge",
		"live.who":         "Your name",
		"live.why":         "What you know or do",
		"live.name":        "Name of the condition",
		"live.named":       "Name it",
		"live.failed":      "This was not done: {reason}",

		"live.distance":   "Distance from usual in the last hour",
		"live.scores":     "Where the newest spectra lie",
		"live.spectrum":   "The last spectrum against usual",
		"live.conditions": "Time in each condition in the last hour",
		"live.groups":     "Uncharted groups",
		"live.figures":    "All figures of this page:",

		"live.alt.distance": "Distance from usual over the last hour.",
		"live.alt.last":     "It is {last}, the limit is 1.",
		"live.alt.scores":   "Score plot: the newest spectra over the usual ones.",
		"live.alt.spectrum": "The last spectrum and its difference from usual, with the usual band of two standard deviations.",

		"live.script":  "This page needs its script to follow the line. Without it, what stands here is how it was when it was loaded.",
		"live.token":   "This page asks for a token. Open it once with ?token=… at the end of its address, as the one who set up the watch tells you.",
		"live.unknown": "No line has this address. It may have another name now. On to all lines.",
		"live.welcome": "The token is right. Go on to the page.",
		"live.host":    "This address is not one that the watch answers to: {host}. Use the address that it listens on.",
	}
}
