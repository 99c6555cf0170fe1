package finding

// Words says each kind in one language: {about} stands for what a finding is about, {0}, {1}, … for its numbers.
type Words map[Kind]string

// English has the words of every kind. Lower case, no full stop: they stand in lists and after colons.
var English = Words{
	AboveT2: "inside the pattern of usual variation, but further out than usual (T² {0}, limit {1})",
	AboveQ:  "has a shape that usual spectra do not have (Q residual {0}, limit {1})",

	NotFinite:     "channel {0} holds no number",
	Flat:          "all channels hold the same value, {0}",
	Saturated:     "{0} channels stand at the same highest value, {1}, as a saturated detector writes them",
	OffAxis:       "{about}",
	NotAbsorbance: "{about}",
	NotPretreated: "{about}",

	ApartInPattern:   "lies {0} times as far from the middle of the known-good spectra as they usually do",
	ApartInShape:     "has a shape that the other known-good spectra do not have (residual {0} times the usual one)",
	RunApart:         "the whole run {about} lies apart from the other known-good runs, {0} times as far out as their spectra usually lie",
	TooFewToSift:     "{0} known-good spectra are too few to tell which of them do not belong; {1} are needed",
	TooFewRunsToSift: "{0} known-good runs are too few to tell whether a whole run does not belong; {1} are needed",
	MuchSifted:       "{0} of {1} known-good spectra were left out; where more than a quarter does not belong, the wrong part may have been kept",

	FewRuns:     "{0} known-good runs are few: {1} blocks of time were held out instead of whole runs, and differences between runs are known less well than with {2} runs or more",
	RunsGrouped: "{0} known-good runs were held out in {1} groups",

	Extrapolated: "{0} hours of good production stand behind the promise, which speaks of one false episode in {1} hours: it reaches beyond what was seen, and rests on how the extremes of the good runs fall off",
	WidenedFew:   "{0} good runs tell little about how much runs differ, so the limits stand wide; with {1} or more they come closer and smaller changes are seen",
	NoTimes:      "the good spectra carry no times: the promise counts one spectrum as {0} seconds, and nothing tells where a run ends",
	RunsNotTold:  "the pauses between good runs are no longer than those within them: while watching, a new run begins after a pause of {0} minutes, and runs that follow each other sooner count as one",

	KeptAll: "all spectra were taken for good, as asked: none was looked at for whether it belongs",
	NoReach: "how small a change this reference can see is not known: {about}",
	Overlap: "{about} lie over each other: {0} % of the first lie within the second",

	MovesAs: "moves as {about} would make it ({0} % of the departure): check the instrument first",

	Noisier:   "the spectra are noisier than when the reference was learned: {0} times in the middle of the axis, {1} times at its edges",
	LikeAxis:  "moves as an axis shift of {0} {about} would: check the instrument before the process",
	LikeLight: "moves as a film on the window or another light would, by {0} absorbance on the whole: check probe and lamp before the process",
	LikePath:  "moves as a longer path would, by {0} %: look at the probe as well as at the process",
	MostUnfit: "more than half of the latest spectra could not be judged",

	Overstays: "lies where {about} lies, but stays: {0} minutes so far, and {about} lasts at most {1}",
}
