package report

// englishInstrument are the sentences of the instrument's trends.
func englishInstrument() map[string]string {
	return map[string]string{
		"check.ageing":    "beyond its first limit: ageing",
		"alt.trends":      "The checks of the instrument over time, each against its limits.",
		"trends.caption":  "What the instrument’s own dark, reference and standard spectra told of it, from {from} on. Above the lower line it is ageing, above the upper one unfit.",
		"alt.repeats":     "Repeats of the standard: how far each differs from their mean, over the axis.",
		"repeats.caption": "The latest repeats of the standard: each one’s difference from the mean of all, the newest strong.",
	}
}

func germanInstrument() map[string]string {
	return map[string]string{
		"check.ageing":    "über der ersten Grenze: altert",
		"alt.trends":      "Die Prüfungen des Geräts über die Zeit, jede gegen ihre Grenzen.",
		"trends.caption":  "Was die eigenen Dunkel-, Referenz- und Standardspektren des Geräts darüber aussagten, ab {from}. Über der unteren Linie altert es, über der oberen ist es nicht in Ordnung.",
		"alt.repeats":     "Wiederholungen des Standards: wie weit jede von ihrem Mittel abweicht, über der Achse.",
		"repeats.caption": "Die letzten Wiederholungen des Standards: jeweils die Abweichung vom Mittel aller, die neueste kräftig.",
	}
}
