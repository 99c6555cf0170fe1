package report

// englishApproval are the sentences about who stands for a reference, and where it came from.
func englishApproval() map[string]string {
	return map[string]string{
		"card.q.approved": "Approved",
		"approved":        "Approved by {by}, {day}, {time}: {note}.",
		"approved.none":   "Nobody has approved this version of the reference.",

		"card.q.source":     "Where it comes from",
		"source.computer":   "Learned on the computer {computer}, by asusual {program}.",
		"source.files.one":  "From 1 file, {mb} MB, written {day}, {time}, in {folders}.",
		"source.files.many": "From {n} files, {mb} MB, the newest written {day}, {time}, in {folders}.",
		"col.files":         "files",
	}
}

func germanApproval() map[string]string {
	return map[string]string{
		"card.q.approved": "Freigegeben",
		"approved":        "Freigegeben von {by}, {day}, {time} Uhr: {note}.",
		"approved.none":   "Niemand hat diese Version der Referenz freigegeben.",

		"card.q.source":     "Woher sie kommt",
		"source.computer":   "Gelernt auf dem Rechner {computer}, von asusual {program}.",
		"source.files.one":  "Aus 1 Datei, {mb} MB, geschrieben {day}, {time} Uhr, in {folders}.",
		"source.files.many": "Aus {n} Dateien, {mb} MB, die neueste geschrieben {day}, {time} Uhr, in {folders}.",
		"col.files":         "Dateien",
	}
}
