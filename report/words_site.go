package report

// englishSite are the sentences of the page over all lines.
func englishSite() map[string]string {
	return map[string]string{
		"site.title":        "All lines",
		"site.at":           "{day}, {time}",
		"site.none":         "No line is known yet.",
		"site.usual":        "All lines are as usual.",
		"site.changed.one":  "One line of {of} has changed.",
		"site.changed.many": "{n} lines of {of} have changed.",
		"site.cannot.one":   "Nothing can be said of one line of {of}; the others are as usual.",
		"site.cannot.many":  "Nothing can be said of {n} lines of {of}; the others are as usual.",
		"site.cannot.all":   "Nothing can be said of any line.",
		"site.alone.one":    "As usual when last watched: nobody watches one line of {of}.",
		"site.alone.many":   "As usual when last watched: nobody watches {n} lines of {of}.",
		"site.figures":      "Every figure of this page as JSON: site-figures.json beside its file, or under its address.",
		"site.caption":      "How each line stands",
		"site.empty":        "A line stands here once its watch has judged the first spectrum.",
		"site.line":         "line",
		"site.verdict":      "verdict",
		"site.since":        "since",
		"site.about":        "about {when}",
		"site.newest":       "last spectrum",
		"site.instrument":   "instrument",
		"site.fit":          "fit",
		"site.ageing":       "ageing",
		"site.unfit":        "unfit",
		"site.watch":        "watched by",
		"site.nobody":       "nobody",
		"site.key":          "○ as usual · ▲ the process has changed · – cannot say. The verdict of a line that nobody watches is how it last stood.",
	}
}

func germanSite() map[string]string {
	return map[string]string{
		"site.title":        "Alle Linien",
		"site.at":           "{day}, {time} Uhr",
		"site.none":         "Noch ist keine Linie bekannt.",
		"site.usual":        "Alle Linien sind wie gewohnt.",
		"site.changed.one":  "Eine von {of} Linien hat sich verändert.",
		"site.changed.many": "{n} von {of} Linien haben sich verändert.",
		"site.cannot.one":   "Über eine von {of} Linien lässt sich nichts sagen; die anderen sind wie gewohnt.",
		"site.cannot.many":  "Über {n} von {of} Linien lässt sich nichts sagen; die anderen sind wie gewohnt.",
		"site.cannot.all":   "Über keine Linie lässt sich etwas sagen.",
		"site.alone.one":    "Wie gewohnt, als zuletzt jemand überwachte: eine von {of} Linien überwacht niemand.",
		"site.alone.many":   "Wie gewohnt, als zuletzt jemand überwachte: {n} von {of} Linien überwacht niemand.",
		"site.figures":      "Alle Zahlen dieser Seite als JSON: site-figures.json neben ihrer Datei oder unter ihrer Adresse.",
		"site.caption":      "Wie jede Linie steht",
		"site.empty":        "Eine Linie steht hier, sobald ihre Überwachung das erste Spektrum beurteilt hat.",
		"site.line":         "Linie",
		"site.verdict":      "Urteil",
		"site.since":        "seit",
		"site.about":        "etwa {when}",
		"site.newest":       "letztes Spektrum",
		"site.instrument":   "Gerät",
		"site.fit":          "in Ordnung",
		"site.ageing":       "altert",
		"site.unfit":        "nicht in Ordnung",
		"site.watch":        "überwacht von",
		"site.nobody":       "niemandem",
		"site.key":          "○ wie gewohnt · ▲ der Prozess hat sich verändert · – keine Aussage möglich. Das Urteil einer Linie, die niemand überwacht, ist das letzte.",
	}
}
